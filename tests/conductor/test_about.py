"""What every entry belongs to: the computer from the first one on, the sensor and its source once it is chosen."""

from pathlib import Path

import pytest

from commission.conductor.scribe import Scribe
from commission.dialect.sources.report import SourceKind
from commission.evidence.about import told_by
from commission.evidence.entry import NOTHING_TOLD, About, Entry
from commission.evidence.findings.loop import SwitchNamed
from commission.evidence.measured import MovesBegan, TrialBegan, WatchBegan
from commission.evidence.talk import Told
from commission.judge.plan import Plan
from commission.records.book import Book
from tests.support.fake_bench import FakeBench
from tests.support.fake_time import FakeClock
from tests.support.installed import installation
from tests.support.made import found, made

SOURCE = SourceKind.SWITCH_LINE.value
CHOSEN = About(sensor="filament", source=SOURCE, bench="north")
SHORT = Plan(seed=20, cycles=6, countdown_s=1.0)


@pytest.mark.parametrize(
    ("entry", "about"),
    [
        (Told(), About(bench="north")),
        (made(TrialBegan, switch="filament"), CHOSEN),
        (made(WatchBegan, switch="filament"), CHOSEN),
        (made(MovesBegan, switch="filament"), CHOSEN),
        (found(SwitchNamed, switch="filament"), CHOSEN),
        (found(SwitchNamed, switch=None), About(bench="north")),
        (made(WatchBegan, switch=""), About(bench="north")),
    ],
)
def test_an_entry_tells_what_those_after_it_belong_to(entry: Entry, about: About) -> None:
    """The first that names the switch under test tells it, itself included; one that names none changes nothing."""
    assert about == told_by(entry, About(bench="north"))
    assert CHOSEN == told_by(Told(), CHOSEN)


async def test_a_scribe_writes_it_with_every_entry(tmp_path: Path) -> None:
    """As far as it is known by then, and in the order in which it became known."""
    with Book(tmp_path / "book.sqlite3", FakeClock()) as book:
        scribe = Scribe(book, "r1", About(bench="north"))
        try:
            for entry in (Told(), made(TrialBegan, switch="filament"), Told()):
                await scribe.write(entry)
        finally:
            scribe.close()

        assert [About(bench="north"), CHOSEN, CHOSEN] == [record.about for record in book.records()]


async def test_a_run_tells_its_sensor_once_it_is_chosen(tmp_path: Path) -> None:
    """Nothing is told of a sensor before its name is settled, nor of a series before the trials; then everything is."""
    bench = FakeBench(tmp_path)
    await bench.run(installation(SHORT))
    told = [record.about for record in bench.book.records()]
    chosen = told.index(About(sensor="filament", source=SOURCE))

    counted = told.index(About(sensor="filament", source=SOURCE, series="bench-3/1"))

    assert {NOTHING_TOLD} == set(told[:chosen])
    assert {About(sensor="filament", source=SOURCE)} == set(told[chosen:counted])
    assert {About(sensor="filament", source=SOURCE, series="bench-3/1")} == set(told[counted:])
