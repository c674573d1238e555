"""How a check meets the sensor that is on record."""

from dataclasses import replace

from commission.asking.steps import Steps
from commission.command_lines import INSTALL, line
from commission.dialect.identity import Identity
from commission.procedure.meeting.sensor_met import SensorMet, meet_sensor


def meet_again(
    identity: Identity | None, wanted: str, on_record: str, *, unattended: bool, only: bool
) -> Steps[SensorMet]:
    """The sensor by the name on record, or as it was named.

    Args:
        identity: as announced.
        wanted: what the operator named beforehand; empty for nothing.
        on_record: what was tested last; empty for nothing.
        unattended: nobody is there: nothing is asked.
        only: it is one of several: where it is not told of, no other one is read in its place.
    """
    if not only:
        return (yield from meet_sensor(identity, wanted, on_record, unattended=unattended))
    met = yield from meet_sensor(identity, "", on_record, unattended=True)  # nothing is to be asked of it any more
    return met if met.switch == on_record else replace(met, chosen=None)


def nothing_on_record(tag: str) -> tuple[str, ...]:
    """That there is no check to compare with."""
    return (
        f"No completed test of {tag} is on record: there is nothing to compare with.",
        f"`{line(INSTALL, tag, '')}` tests more: the wiring, an unplugged wire, whether it pauses.",
    )
