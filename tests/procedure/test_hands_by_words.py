"""On the simulated units, hands that do at a hold point what its words say come to the finding the unit deserves."""

from collections.abc import Mapping

import pytest

from commission.evidence.findings.cause import Diagnosis
from commission.judge.plan import Plan
from commission.procedure.diagnose import diagnose
from commission.procedure.loop_check import loop_check
from commission.procedure.meter import meter
from commission.procedure.request import Hold
from commission.procedure.response import HoldReleased
from commission.procedure.wiring import assessed
from commission.vocabulary import FailSafe, Verdict
from tests.procedure.unit_hands import ScriptedHands
from tests.support.power_world import PowerWorld, sentences

SWITCH = "filament"
PLAN = Plan(seed=20, cycles=6, wiggle_s=20, wiggle_readings=200)
TWO_WIRES = {"sensor": "switch", "contact": "NO", "to": "ground", "pull": "up", "absent": "high"}
METERED = {"meter.supply_ground_in": "open", "meter.supply_ground_out": "open", "meter.signal_ground_in": "joined"}


class WordHands(ScriptedHands):
    """Hands that know no hold point by its name: each sentence is read, and done to the simulated printer.

    `world` is how the words leave the bench; what differs from one sentence to the next is what the hands do.
    """

    def __init__(self, unit: str, answers: Mapping[str, object]) -> None:
        super().__init__(unit, answers.get)
        self.world = PowerWorld()

    def _hold(self, request: Hold) -> HoldReleased:
        for step in request.steps:
            for sentence in sentences(step):
                before = dict(vars(self.world))
                self.world.follow(sentence)
                self._do(before)
        self.host.printer.advance(5)
        self.host.lines()
        return HoldReleased()

    def _do(self, before: dict[str, object]) -> None:
        world = self.world
        deeds = {
            "mains": ("mains", "on" if world.mains and world.switched_on else "off"),
            "switched_on": ("mains", "on" if world.mains and world.switched_on else "off"),
            "usb": ("usb", "in" if world.usb else "out"),
            "at_board": ("plug" if world.at_board else "unplug", "board"),
            "at_sensor": ("plug" if world.at_sensor else "unplug", "sensor"),
            "bridged": ("short", "signal-ground") if world.bridged else ("release-short",),
        }
        for name, deed in deeds.items():
            if before[name] != getattr(world, name):
                self.host.do(*deed)


@pytest.mark.parametrize(
    ("unit", "safe"),
    [("sound", FailSafe.SAFE), ("two-errors-cancel", FailSafe.DANGER), ("inverted-right-contact", FailSafe.DANGER)],
)
def test_the_unplug_test_by_its_words_alone(unit: str, safe: FailSafe) -> None:
    """Unplugged at the board and at the sensor, and plugged in again: what a broken wire reads is found out."""
    hands = WordHands(unit, {"far_end.now": True, "moving.how": "no"})
    found = hands.carry_out(loop_check(PLAN, SWITCH))

    assert safe is found.fail_safe
    assert hands.world.in_use
    assert hands.world.sensor_in_place


@pytest.mark.parametrize(
    ("unit", "members"),
    [
        ("sound", {"as-declared"}),
        ("cable-chafed", {"signal-to-ground"}),
        ("stuck-active", {"lever-stuck", "output-always"}),
        ("pull-missing", {"pull-missing"}),
    ],
)
def test_the_diagnosis_by_its_words_alone(unit: str, members: set[str]) -> None:
    """Each plug pulled and each resistor fitted as the steps say, the diagnosis names the unit's own fault."""
    hands = WordHands(unit, {})
    hands.carry_out(diagnose(assessed(TWO_WIRES), [], PLAN, SWITCH))

    assert members == set(hands.findings[Diagnosis].classes[0].members)
    assert hands.world.in_use
    assert hands.world.sensor_in_place


def test_the_meter_check_by_its_words_alone() -> None:
    """The cable is freed, measured and plugged in, and the printer is in use again."""
    hands = WordHands("sound", METERED | {"meter.signal_ground_out": "open", "meter.header_v": "3.3"})
    installation = assessed(TWO_WIRES).installation
    assert installation is not None
    found = hands.carry_out(meter(installation))

    assert Verdict.PASS is found.verdict
    assert hands.world.in_use
    assert hands.host.printer.plant.cable.plugged_at_board
