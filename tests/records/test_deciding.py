"""The few runs that decide say the same of every printer as all of its runs do, and are far fewer."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from random import Random

import pytest

from commission.evidence.findings.several import SensorsToTest
from commission.evidence.runs import RunResumed
from commission.evidence.talk import Punched
from commission.fleet.overview import overview
from commission.records.book import Book
from commission.records.due import due_list, dues_of
from commission.records.history import Run, deciding_runs, runs_by_printer
from commission.records.union import join
from commission.records.unsettled import unsettled_of_printers
from commission.vocabulary import PunchClass
from scripts.made_up_books import Workshop as MadeUp
from scripts.made_up_books import write_book
from tests.records.books import Workshop
from tests.support.fake_time import FakeClock
from tests.support.made import begun, ended, found, made
from tests.support.sweeps import as_many

TODAY = date(2031, 9, 1)
PURPOSES = ("install", "brief check", "full check", "condition check", "function", "soak", "motion")


def chance_entries(workshop: Workshop, chance: Random, name: str) -> None:
    """Runs of four printers: failed, broken off, taken up again, within one another, of two sensors."""
    going: list[str] = []
    for count in range(60):
        workshop.days_pass(chance.random())
        number = f"bench-{chance.randint(1, 4)}/2031-03-14/{name}{count}"
        workshop.book.append(number, begun(number, chance.choice(PURPOSES)))
        if chance.random() < 0.04:
            sensors = chance.choice((("one", "two"), ("one",)))
            workshop.book.append(number, found(SensorsToTest, "Found.", sensors=sensors))
        going.append(number)
        while going and chance.random() < 0.7:
            end(workshop, chance, going.pop(chance.randrange(len(going))))


def end(workshop: Workshop, chance: Random, number: str) -> None:
    """The last entries of a run, if it comes to its end."""
    workshop.days_pass(chance.random())
    if chance.random() < 0.2:
        workshop.book.append(number, made(RunResumed, tag=number.partition("/")[0], purpose=chance.choice(PURPOSES)))
    if chance.random() < 0.2:
        workshop.book.append(number, Punched(grade=chance.choice(list(PunchClass)), text=f"Item of {number}."))
    if chance.random() < 0.9:
        outcome = chance.choice(("complete", "complete", "complete", "stopped by the operator"))
        workshop.book.append(number, ended(chance.choice(("pass", "conditional pass", "fail", "not judged")), outcome))


def books(folder: Path, seed: int) -> Iterator[Book]:
    """A bench's book, and the one of two benches joined."""
    chance = Random(f"deciding/{seed}")  # noqa: S311 - repeatable on purpose
    for name in ("one", "other"):
        (folder / name).mkdir()
    both = [Workshop(folder / name) for name in ("one", "other")]
    for name, workshop in zip("ab", both, strict=True):
        with workshop.book.together():
            chance_entries(workshop, chance, name)
    yield both[0].book
    join(both[1].book, both[0].book)
    yield both[1].book


@pytest.mark.swept
@pytest.mark.parametrize("seed", range(as_many(4, 12)))
def test_deciding_runs_say_what_all_runs_say(tmp_path: Path, seed: int) -> None:
    """What is due and why, what stands against each printer: whatever happened, with one bench and with two."""
    for book in books(tmp_path, seed):
        every, few = runs_by_printer(book), deciding_runs(book)
        against = unsettled_of_printers(book, every)

        assert dues_of(book, every, TODAY) == due_list(book, TODAY)
        assert against == unsettled_of_printers(book, few)
        assert [(one.tag, one.unsafe) for one in overview(book, TODAY)] == [
            (due.tag, tuple(each.sentence for each in against[due.tag])) for due in due_list(book, TODAY)
        ]
        assert all(set(few[tag]) <= set(done) and few[tag][-1] == done[-1] for tag, done in every.items())


def test_what_decides_does_not_grow_with_the_years(tmp_path: Path) -> None:
    """Of a printer of few failures a handful of runs is looked at, however many there are."""
    counts: list[list[int]] = []
    for checks in (20, 200):
        place = tmp_path / f"{checks}"
        write_book(place, MadeUp(printers=2, checks=checks, entries=6))
        with Book(place, FakeClock(), reads_only=True) as book:
            counts.append([len(done) for done in deciding_runs(book).values()])
            assert [checks, checks] == [len(done) for done in runs_by_printer(book).values()]

    assert all(after <= 3 * before for before, after in zip(*counts, strict=True))


def test_the_newest_run_of_each_kind_is_there(tmp_path: Path) -> None:
    """Completed or not."""
    for book in books(tmp_path, 99):
        for tag, done in runs_by_printer(book).items():
            few = deciding_runs(book)[tag]
            for purpose in PURPOSES:
                assert newest(done, purpose) == newest(few, purpose)


def newest(done: list[Run], purpose: str) -> list[Run]:
    """The newest run of that purpose, and the newest that was completed."""
    of_it = [run for run in done if run.purpose == purpose]
    return of_it[-1:] + [run for run in of_it if run.outcome.value == "complete"][-1:]


def test_runs_within_one_another_are_all_looked_at(tmp_path: Path) -> None:
    """Three that failed, each begun within the one before; a pass that began in between clears the innermost alone."""
    workshop = Workshop(tmp_path)
    outer, middle, inner = (f"bench-3/2031-03-{day}/1" for day in (14, 15, 16))
    for number in (outer, middle, inner):
        workshop.begin(number, "brief check")
        workshop.days_pass(1)
    workshop.end(inner, "fail")
    workshop.whole_run("bench-3/2031-03-17/1", "brief check")
    workshop.end(middle, "fail")
    workshop.end(outer, "fail")

    assert [middle] == [
        each.run.number for each in unsettled_of_printers(workshop.book, deciding_runs(workshop.book))["bench-3"]
    ]
