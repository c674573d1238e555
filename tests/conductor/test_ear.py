"""What is known of a printer from lines that belong to no answer."""

import pytest

from commission.conductor.ear import Ear
from commission.dialect.framing import RawLine
from commission.dialect.replies import classify
from tests.support.fake_time import FakeClock

BUSY, WAITING, OK = "echo:busy: processing", "echo:busy: paused for user", "ok"


@pytest.mark.parametrize(
    ("lines", "busy", "waits"),
    [
        ([], False, False),
        ([BUSY], True, False),
        ([WAITING], True, True),
        ([BUSY, OK], False, False),
        (["filament: open"], False, False),
    ],
)
def test_a_printer_is_busy_until_it_acknowledges(lines: list[str], busy: bool, waits: bool) -> None:
    """One that is at work is busy; one that waits for a person is busy too; other lines say neither."""
    ear = Ear(FakeClock())
    for line in lines:
        ear.hear(classify(RawLine.of(line)))

    assert (busy, waits) == (ear.busy, ear.waits)


def test_an_answer_ends_waiting() -> None:
    """A command that was acknowledged as it should be: the printer waits for nobody any more."""
    ear = Ear(FakeClock())
    ear.hear(classify(RawLine.of(WAITING)))
    ear.answered()

    assert (False, False) == (ear.busy, ear.waits)
