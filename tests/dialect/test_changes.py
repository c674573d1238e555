"""What a command leaves changed at the printer."""

import pytest

from commission.dialect import commands
from commission.dialect.changes import Change, change_of


@pytest.mark.parametrize(
    ("command", "change"),
    [
        (commands.permit_cold_extrusion(on=True), Change.COLD_EXTRUSION),
        (commands.cold_extrusion_limit(0), Change.COLD_EXTRUSION),
        (commands.keepalive_interval(0), Change.KEEPALIVE),
        (commands.temperature_reports(5), Change.TEMPERATURE_REPORTS),
        (commands.START_JOB, Change.JOB_TIMER),
        (commands.RELATIVE_MOVES, Change.RELATIVE_MOVES),
        (commands.RELATIVE_EXTRUSION, Change.RELATIVE_EXTRUSION),
        (commands.FAN_ON, Change.PART_FAN),
    ],
    ids=lambda value: value.text if isinstance(value, commands.Command) else value.name,
)
def test_a_change_is_told_by_the_command(command: commands.Command, change: Change) -> None:
    """What is to be put back is told by the text that stands in the record, whatever its values."""
    assert change == change_of(command.text)


@pytest.mark.parametrize("text", [commands.HOME.text, commands.FAN_OFF.text, "M1134", "", "not a command"])
def test_what_leaves_nothing_to_put_back(text: str) -> None:
    """A move, a switching off, a code that only begins alike and what is no command leave nothing."""
    assert change_of(text) is None
