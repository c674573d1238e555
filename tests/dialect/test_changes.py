"""What a command leaves changed at the printer."""

import pytest

from commission.dialect import commands
from commission.dialect.changes import SwitchedOn, change_of


@pytest.mark.parametrize(
    ("command", "change"),
    [
        (commands.permit_cold_extrusion(on=True), SwitchedOn.COLD_EXTRUSION),
        (commands.cold_extrusion_limit(0), SwitchedOn.COLD_EXTRUSION),
        (commands.keepalive_interval(0), SwitchedOn.KEEPALIVE),
        (commands.temperature_reports(5), SwitchedOn.TEMPERATURE_REPORTS),
        (commands.START_JOB, SwitchedOn.JOB_TIMER),
        (commands.RELATIVE_MOVES, SwitchedOn.RELATIVE_MOVES),
        (commands.RELATIVE_EXTRUSION, SwitchedOn.RELATIVE_EXTRUSION),
        (commands.FAN_ON, SwitchedOn.PART_FAN),
    ],
    ids=lambda value: value.text if isinstance(value, commands.Command) else value.name,
)
def test_a_change_is_told_by_the_command(command: commands.Command, change: SwitchedOn) -> None:
    """What is to be put back is told by the text that stands in the record, whatever its values."""
    assert change == change_of(command.text)


@pytest.mark.parametrize("text", [commands.HOME.text, commands.FAN_OFF.text, "M1134", "", "not a command"])
def test_what_leaves_nothing_to_put_back(text: str) -> None:
    """A move, a switching off, a code that only begins alike and what is no command leave nothing."""
    assert change_of(text) is None
