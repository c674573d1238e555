"""One look at a book: every question within it is answered from the same state, and as outside of one."""

import itertools
from collections.abc import Callable
from pathlib import Path

import pytest
from sqlalchemy import select

from commission.evidence.found import Established
from commission.evidence.runs import Note, RunEnded, RunStarted
from commission.judge.plan import Plan
from commission.records.book import Book
from commission.records.checks import check_records, wiring_now
from commission.records.consent import consent_on_record
from commission.records.facts import Fact
from commission.records.history import runs, same_printer_before
from commission.records.look import Look, Lying
from commission.records.numbering import Numbering
from commission.records.schema import entries
from commission.records.soaks import exposed_on_record
from scripts.made_up_books import Workshop as MadeUp
from scripts.made_up_books import write_book
from tests.records.books import Workshop
from tests.records.memory import chain_of, in_memory
from tests.support.fake_time import FakeClock
from tests.support.made import begun, ended

FIRST, SECOND, OTHER = "bench-3/2031-03-14/1", "bench-3/2031-03-15/1", "bench-4/2031-03-14/1"


@pytest.fixture(name="workshop")
def _workshop(tmp_path: Path) -> Workshop:
    """Two runs of one printer, and one of another that was written between them."""
    workshop = Workshop(tmp_path)
    workshop.begin(FIRST)
    workshop.whole_run(OTHER, tag="bench-4")
    workshop.whole_run(SECOND, tag="bench-3")
    workshop.phase(FIRST, "loop_check")
    return workshop


def test_a_look_stays_at_one_state(workshop: Workshop) -> None:
    """What another process writes meanwhile is not seen before the look has ended, in no question."""
    book = workshop.book
    with book.one_look(), Book(book.path, FakeClock()) as other:
        before = list(book.rows(FIRST)), runs(book, "bench-3"), runs(book), list(book.records(Note))
        other.append(FIRST, Note(tag_of_printer="bench-3", what="remark", text="Written meanwhile."))
        other.start_run("bench-3", FakeClock().now().date(), _begun)
        assert before == (list(book.rows(FIRST)), runs(book, "bench-3"), runs(book), list(book.records(Note)))

    assert 1 == len(list(book.records(Note)))
    assert 3 == len(runs(book, "bench-3"))


def test_a_look_begins_with_its_first_question(workshop: Workshop) -> None:
    """Also where that goes by the driver's own way."""
    with workshop.book.one_look(), Book(workshop.book.path, FakeClock()) as other:
        before = runs(workshop.book)
        other.start_run("bench-3", FakeClock().now().date(), _begun)
        assert before == runs(workshop.book)

    assert len(before) + 1 == len(runs(workshop.book))


def _begun(number: str) -> RunStarted:
    return RunStarted(number=number, tag="bench-3", purpose="brief check", plan=Plan(seed=1))


def test_a_look_reads_an_entry_once(workshop: Workshop) -> None:
    """The same entry is the same object, however it is asked for; the next look reads it anew."""
    book = workshop.book
    with book.one_look(), book.one_look():
        (once,) = book.records(RunStarted, run=SECOND)
        first = next(book.records(RunStarted, runs=[FIRST, SECOND, OTHER]))
        (same,) = book.records(RunStarted, runs=[SECOND])
    with book.one_look():
        (anew,) = book.records(RunStarted, run=SECOND)

    assert once is same
    assert FIRST == first.run
    assert once == anew
    assert once is not anew


def test_a_look_works_a_thing_out_once(workshop: Workshop) -> None:
    """Each thing by its key, until the look ends; outside of one it is worked out each time."""
    book, numbers = workshop.book, itertools.count()

    def work() -> int:
        return next(numbers)

    with book.one_look():
        inside = [book.once("this", work), book.once("that", work), book.once("this", work)]
    assert [0, 1, 0] == inside
    with book.one_look():
        assert 2 == book.once("this", work)
    assert [3, 4] == [book.once("this", work), book.once("this", work)]


QUESTIONS: dict[str, Callable[[Book], object]] = {
    "runs": lambda book: runs(book, "bench-2"),
    "rows of several runs": lambda book: list(book.rows(runs=[run.number for run in runs(book, "bench-2")])),
    "findings": lambda book: list(
        book.records(Established, RunEnded, runs={run.number for run in runs(book, "bench-2")})
    ),
    "checks": lambda book: check_records(book, "bench-2"),
    "exposure": lambda book: exposed_on_record(book, "bench-2"),
    "wiring": lambda book: wiring_now(book, "bench-2"),
    "consent": lambda book: consent_on_record(book, "bench-2"),
    "other runs": lambda book: same_printer_before(book, runs(book, "bench-2")[-1].number),
    "a run that is not there": lambda book: list(book.rows("bench-2/2001-01-01/1")),
}


@pytest.mark.parametrize("chains", [1, 2])
def test_a_look_answers_as_outside_of_one(tmp_path: Path, chains: int) -> None:
    """Every question, in any order of them, in books of one chain and of two whose runs lie beside each other."""
    place = tmp_path / "book.sqlite3"
    write_book(place, MadeUp(printers=3, checks=6))
    if chains == 2:
        (tmp_path / "other").mkdir()
        write_book(tmp_path / "other" / "book.sqlite3", MadeUp(printers=3, checks=5, seed=2))
        with Book(place, FakeClock()) as book, Book(tmp_path / "other" / "book.sqlite3", FakeClock()) as other:
            book.receive(*other.chains())
    with Book(place, FakeClock(), reads_only=True) as book:
        outside = {name: ask(book) for name, ask in QUESTIONS.items()}
        with book.one_look():
            inside = {name: ask(book) for name, ask in QUESTIONS.items()}
        with book.one_look():
            backwards = {name: ask(book) for name, ask in reversed(QUESTIONS.items())}

    assert outside == inside == backwards
    assert outside["checks"]


def marked(where: int) -> Fact:
    """What begins a run and lies there."""
    return Fact(where, "r1", "run_started", "")


def test_what_a_look_keeps_goes_with_the_numbering() -> None:
    """Runs it has read are not read again; where the chains are numbered anew all of it is read anew."""
    rows = chain_of(("r1", begun("r1")), ("r2", begun("r2")), ("r1", ended()))
    read: list[str] = []
    counted = itertools.count()
    with in_memory(rows) as connection:
        look = Look(connection)

        def lying(runs: set[str]) -> list[Lying]:
            read.extend(sorted(runs))
            return [each for each in connection.execute(select(entries)) if each.run in runs]

        def asked(numbering: Numbering, runs: set[str]) -> list[object]:
            here = look.within(numbering)
            (first, *_) = here.rows(runs, {"run_started"}, lying)
            worked_out = (
                here.once("key", lambda: next(counted)),
                list(here.marks("tag", lambda: [[marked(next(counted))]])),
            )
            return [first, here.record(first), *worked_out]

        first = Numbering()
        one, again = asked(first, {"r1"}), asked(first, {"r1"})
        assert [True, False, True] == [look.has_read(runs) for runs in ([], ["r1", "r2"], ["r1"])]
        assert ["r1"] == read
        assert [1, 3] == [row.sequence for row in look.rows({"r1"}, set(), lying)]
        both = asked(first, {"r1", "r2"})
        anew = asked(Numbering(), {"r1"})

    assert ["r1", "r2", "r1"] == read
    assert all(one[index] is again[index] is both[index] for index in (0, 1))
    assert one[:2] == anew[:2]
    assert not any(one[index] is anew[index] for index in (0, 1))
    assert [[0, [[marked(1)]]]] * 3 + [[2, [[marked(3)]]]] == [each[2:] for each in (one, again, both, anew)]
