"""What the record says of a printer beside single runs: its sensors, trends, notes, open items and accounts."""

from pathlib import Path

import pytest

from commission.evidence.findings.settings import SettingsAfterReflash, SettingsAsFound
from commission.evidence.findings.several import SensorsToTest
from commission.evidence.measured import Watch
from commission.evidence.runs import Note
from commission.evidence.talk import HoldReleased, Punched
from commission.evidence.wire import Intent, Result
from commission.judge.trial_series import NOTHING_SO_FAR
from commission.records.book import Book, BookError
from commission.records.chain import link_row
from commission.records.history import Run, runs
from commission.records.notes import REMARK, add_note, notes_of, notes_on
from commission.records.open_items import unsafe_in
from commission.records.series import all_series
from commission.records.settings_history import settings_reports
from commission.records.several import looked_at_a_part, sensors_on_record
from commission.records.trend import trends
from commission.records.unfinished import accounts
from commission.vocabulary import Presence, PunchClass
from tests.records.books import Workshop
from tests.support.fake_time import FakeClock
from tests.support.made import made

TRIALS = [(Presence.IN, ["inactive"] * 3 + ["active"] * 7), (Presence.OUT, ["active"] * 3 + ["inactive"] * 7)]
NUMBERS = [f"bench-3/2031-03-14/{count}" for count in range(1, 6)]


@pytest.fixture(name="workshop")
def _workshop(tmp_path: Path) -> Workshop:
    """An empty book."""
    return Workshop(tmp_path)


def tested(workshop: Workshop, *sensors: tuple[str, ...]) -> None:
    """Runs one behind the other, each with the sensors that it tests; with none it says nothing of them."""
    for number, each in zip(NUMBERS, sensors, strict=False):
        workshop.begin(number, "full check")
        if each:
            workshop.find(number, SensorsToTest, sensors=each)
        workshop.end(number)


@pytest.mark.parametrize(
    ("sensors", "parts", "now"),
    [
        ([()], [], ()),
        ([(), ("one",)], [], ("one",)),
        ([("one", "two"), ("one",), ("one", "two")], [2], ("one", "two")),
        ([("one", "two"), ()], [2], ("one", "two")),
        ([(), ("one", "two"), ("two",), ("two",)], [3], ("two",)),
        ([("one",), ("one", "two"), ("two", "one", "three")], [], ("two", "one", "three")),
    ],
)
def test_a_run_that_tested_fewer_sensors_is_a_part(
    workshop: Workshop, sensors: list[tuple[str, ...]], parts: list[int], now: tuple[str, ...]
) -> None:
    """Fewer than the run before it had; what has no number yet is none."""
    tested(workshop, *sensors)
    done = [*runs(workshop.book, "bench-3"), Run("", "bench-3", "full check", "")]

    assert {NUMBERS[part - 1] for part in parts} == looked_at_a_part(workshop.book, {"bench-3": done})
    assert now == sensors_on_record(workshop.book, "bench-3")


def test_only_what_was_measured_makes_a_trend(workshop: Workshop) -> None:
    """Of completed runs those with trials or a watch, however short; a broken-off one says nothing."""
    for number in NUMBERS[:3]:
        workshop.begin(number, "full check")
        for presence, readings in TRIALS:
            workshop.trial(number, presence, readings)
        workshop.end(number)
    whole = trends(workshop.book, "bench-3")
    workshop.begin(NUMBERS[3], "full check")
    workshop.end(NUMBERS[3])
    with_nothing = trends(workshop.book, "bench-3")
    workshop.begin(NUMBERS[4], "full check")
    for presence, readings in TRIALS:
        workshop.trial(NUMBERS[4], presence, readings)
    with_broken_off = trends(workshop.book, "bench-3")

    workshop.end(NUMBERS[4], "not judged", "link lost")
    workshop.begin("bench-3/2031-03-14/6", "soak")
    workshop.watch("bench-3/2031-03-14/6", "wiggle", ["active"] * 3, 0.2)
    workshop.end("bench-3/2031-03-14/6")
    with_a_watch = trends(workshop.book, "bench-3")

    assert whole
    assert whole == with_nothing == with_broken_off
    assert [len(trend.labels) + 1 for trend in whole] == [len(trend.labels) for trend in with_a_watch][: len(whole)]


def test_a_note_of_another_printer_needs_not_be_read(workshop: Workshop, tmp_path: Path) -> None:
    """A damaged one of the printer itself is an error that names it; one written within a run is a note too."""
    with Book(tmp_path / "other.sqlite3", FakeClock()) as book:
        last = add_note(book, "bench-3", REMARK, "dusty")
        last = book.append(NUMBERS[0], Note(tag_of_printer="bench-3", what=REMARK, text="within a run"))
        damaged = link_row(last, run=notes_of("bench-4"), kind="note", at=last.at, elapsed_us=0, payload="{}")
        book.receive([last, damaged])

        assert ["dusty", "within a run"] == [note.entry.text for note in notes_on(book, "bench-3")]
        assert [0, 0] == [note.entry.about for note in notes_on(book, "bench-3")]
        assert [] == list(notes_on(book, "bench-5"))
        with pytest.raises(BookError, match=r"Entry 3 \(note\)"):
            list(notes_on(book, "bench-4"))


def test_the_unsafe_items_of_a_run_are_counted(workshop: Workshop) -> None:
    """Over all its parts, without those that a hold point settled; of that run alone."""
    for number, grade, settled_by in (
        (NUMBERS[0], PunchClass.UNSAFE, ""),
        (NUMBERS[0], PunchClass.UNSAFE, "key"),
        (NUMBERS[0], PunchClass.MINOR, ""),
        (NUMBERS[1], PunchClass.UNSAFE, ""),
    ):
        workshop.book.append(number, made(Punched, grade=grade, settled_by=settled_by))
    before = unsafe_in(workshop.book, NUMBERS[0])
    workshop.book.append(NUMBERS[0], made(HoldReleased, key="key"))

    assert (2, 1) == (before, unsafe_in(workshop.book, NUMBERS[0]))


def test_accounts_are_over_all_runs_of_a_printer(workshop: Workshop) -> None:
    """What was sent and answered, in order; not what was only watched, nor another printer's."""
    for number, tag in ((NUMBERS[0], "bench-3"), ("bench-4/2031-03-14/1", "bench-4"), (NUMBERS[1], "bench-3")):
        workshop.begin(number, tag=tag)
        for kind in (Intent, Watch, Result):
            workshop.book.append(number, made(kind))

    told = [(record.run, type(record.entry)) for record in accounts(workshop.book, "bench-3")]
    assert [(number, kind) for number in NUMBERS[:2] for kind in (Intent, Result)] == told


def test_settings_reports_are_those_of_the_kinds(workshop: Workshop) -> None:
    """In all runs of the printer, with their records, oldest first."""
    for number in NUMBERS[:2]:
        workshop.begin(number)
        for kind in (SettingsAsFound, SettingsAfterReflash):
            workshop.find(number, kind)
    told = settings_reports(workshop.book, "bench-3", (SettingsAsFound,))
    both = settings_reports(workshop.book, "bench-3", (SettingsAsFound, SettingsAfterReflash))

    assert [(number, SettingsAsFound) for number in NUMBERS[:2]] == [(record.run, type(each)) for record, each in told]
    assert 4 == len(both)
    assert [] == settings_reports(workshop.book, "bench-4", (SettingsAsFound,))


def test_a_series_takes_the_trials_of_all_runs(workshop: Workshop) -> None:
    """Of that printer, in the phases that test the switch; without any there is none so far."""
    before = all_series(workshop.book, "bench-3").of("bench-3")
    workshop.begin(NUMBERS[0])
    workshop.phase(NUMBERS[0], "loop_check", ended=False)
    for presence, readings in TRIALS:
        workshop.trial(NUMBERS[0], presence, readings)
    after = all_series(workshop.book, "bench-3").of("bench-3")

    assert NOTHING_SO_FAR == before == all_series(workshop.book, "bench-4").of("bench-4")
    assert ((NUMBERS[0],), 2) == (after.runs, len(after.trials))
