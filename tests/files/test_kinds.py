"""What the tool writes bears the mark of its kind, and of no other."""

from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from commission.drawing.wiring import wiring_svg
from commission.files import kinds
from commission.files.kinds import HEAD_BYTES, Kind
from commission.procedure.wiring.pictures import picture_of
from commission.records.due import Due, Standing
from commission.records.due_calendar import calendar_text
from commission.records.export import export_lines
from commission.report.record import read_run
from commission.report.write import draw
from commission.wiring.assessment import assess
from commission.wiring.declaration import declared_installation
from tests.report.scripted_run import RUNS

KINDS = (kinds.CALENDAR, kinds.PICTURE, kinds.PAGE, kinds.TEXT, kinds.DATA, kinds.EXPORT)
NOW = datetime(2031, 3, 14, 9, 26, tzinfo=UTC)


def calendar(_folder: Path) -> bytes:
    """A calendar with one printer."""
    return calendar_text(
        [Due("bench-3", Standing.IN_DATE, "brief check", date(2031, 4, 13), "x", None, None, None)], NOW
    )


def empty_calendar(_folder: Path) -> bytes:
    """A calendar of a book without printers."""
    return calendar_text([], NOW)


def picture(_folder: Path) -> bytes:
    """The picture of a wiring."""
    answers = {"sensor": "switch", "wires": "2", "contact": "NO", "to": "ground", "pull": "up", "absent": "high"}
    installation = declared_installation(answers)
    return kinds.picture(wiring_svg(picture_of(installation, assess(installation))))


def report(form: str) -> Callable[[Path], bytes]:
    """The report of a run in one format."""

    def drawn(folder: Path) -> bytes:
        run = RUNS["hostile"](folder)
        try:
            return draw(read_run(run.book, run.number), form).encode()
        finally:
            run.book.close()

    return drawn


def export(folder: Path) -> bytes:
    """A book as an export."""
    run = RUNS["complete"](folder)
    try:
        return "".join(f"{line}\n" for line in export_lines(run.book.chains())).encode()
    finally:
        run.book.close()


@pytest.mark.parametrize(
    ("made", "kind"),
    [
        (calendar, kinds.CALENDAR),
        (empty_calendar, kinds.CALENDAR),
        (picture, kinds.PICTURE),
        (report("html"), kinds.PAGE),
        (report("markdown"), kinds.TEXT),
        (report("json"), kinds.DATA),
        (export, kinds.EXPORT),
    ],
)
def test_a_file_bears_the_mark_of_its_kind(tmp_path: Path, made: Callable[[Path], bytes], kind: Kind) -> None:
    """It is known by its first bytes, and taken for nothing else."""
    data = made(tmp_path)

    assert [kind] == [each for each in KINDS if each.is_ours(data[:HEAD_BYTES])]


@pytest.mark.parametrize(
    "theirs",
    [
        b"",
        b"\x00",
        b"# Readme\n",
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"<!doctype html>\n<title>commission</title>\n",
        b"BEGIN:VCALENDAR\r\nPRODID:-//somebody//else//EN\r\n",
        b"BEGIN:VCALENDAR\r\nPRODID:-//x//EN\r\nBEGIN:VEVENT\r\nPRODID:-//commission//filament sensor checks//EN\r\n",
        b'{"format": "another"}',
        b'{"format":"commission-record-bookkeeping"}',
    ],
)
def test_somebody_elses_file_bears_none(theirs: bytes) -> None:
    """A file of another program is none of ours, however near it comes."""
    assert [] == [each.name for each in KINDS if each.is_ours(theirs)]
