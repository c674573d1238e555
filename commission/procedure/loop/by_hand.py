"""A restart, a lost link or silence while the sensor is being worked: suspected is a supply shorted by the switch."""

from typing import TypeVar

from commission.asking.cautions import SUPPLY_SHORT
from commission.asking.message import Punch, Tell, Weight
from commission.asking.response import Interrupted
from commission.asking.steps import Steps
from commission.vocabulary import PunchClass

_T = TypeVar("_T")


def worked_by_hand(steps: Steps[_T]) -> Steps[_T]:
    """Carry out steps in which the sensor is worked; a restart, a lost link or silence then means a short."""
    try:
        return (yield from steps)
    except Interrupted as broken:
        if broken.interruption.kind.suspects_wiring:
            yield Tell(SUPPLY_SHORT, heading="Stop", weight=Weight.DANGER)
            yield Punch(PunchClass.UNSAFE, SUPPLY_SHORT[0], SUPPLY_SHORT[1])
        raise
