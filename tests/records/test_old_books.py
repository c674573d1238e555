"""Books that earlier states of the program wrote still open, verify, list, give their reports and are continued."""

import json
import lzma
import sqlite3
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from commission.cli.background import background_of
from commission.evidence.entry import FORMAT, PLAIN
from commission.evidence.findings.meeting import TakenOver
from commission.evidence.runs import Note, RunResumed
from commission.jobs.check import periodic_check
from commission.jobs.install import install_run
from commission.judge.plan import Plan
from commission.link.identity import PortIdentity
from commission.procedure.check.condition import Subject
from commission.procedure.meeting.identity import Surroundings
from commission.procedure.settings.record import Sheet
from commission.records.book import Book
from commission.records.continuation import broken_off
from commission.records.due import Due, due_list
from commission.records.history import Run, established, runs
from commission.records.open_items import open_items
from commission.records.schema import SCHEMA_VERSION
from commission.report.write import write_reports
from commission.vocabulary import Outcome, Verdict
from tests.support.fake_bench import FakeBench
from tests.support.fake_time import FakeClock
from tests.support.made import ended
from tests.support.sweeps import WHOLE

BOOKS = Path(__file__).with_name("old_books")
COUNTS = {"2026-11": 5, "form-1": 14, "form-2": 1, "format-2": 3}
"""The old books, and how many runs each has."""
NAMES = tuple(COUNTS)
SMALL = tuple(name for name, count in COUNTS.items() if count < 10)
TODAY = date(2026, 11, 26)
LIKE_THE_ONE_ON_RECORD = (
    "FIRMWARE_NAME:ExampleFW 77.4-bench (Mar  9 2024 18:05:12) MACHINE_TYPE:Bench 3 EXTRUDER_COUNT:1 "
    "UUID:6f1a4c1e-58b0-4c7c-9a39-0f3d2a7b9e51"
)


@contextmanager
def unpacked(name: str, folder: Path) -> Iterator[Book]:
    """One of the old books."""
    folder.mkdir(exist_ok=True)
    place = folder / "book.sqlite3"
    place.write_bytes(lzma.decompress((BOOKS / f"{name}.sqlite3.xz").read_bytes()))
    with Book(place, FakeClock()) as book:
        yield book


@pytest.fixture(name="book")
def _book(tmp_path: Path) -> Iterator[Book]:
    """The book of November 2026, unpacked."""
    with unpacked("2026-11", tmp_path) as book:
        yield book


@pytest.fixture(name="form_1")
def _form_1(tmp_path: Path) -> Iterator[Book]:
    """The book with every kind of entry as it was written before entries had types, unpacked."""
    with unpacked("form-1", tmp_path / "form-1") as book:
        yield book


def test_every_old_book_is_described() -> None:
    """Each packed book has its paragraph in the folder's README."""
    described = (BOOKS / "README.md").read_text()

    assert [] == [path.name for path in BOOKS.glob("*.xz") if f"`{path.name}`" not in described]


def test_an_old_book_is_as_it_was_written(book: Book, form_1: Book) -> None:
    """The chain is whole from the first entry to the last, and nothing was left out on the way."""
    assert ([], []) == (book.verify(), form_1.verify())
    assert (743, 2638) == (sum(1 for _ in book.rows()), sum(1 for _ in form_1.rows()))


def test_the_runs_of_an_old_book_are_listed(book: Book) -> None:
    """Each run has the outcome and the verdict it came to."""
    told = {run.number: (run.purpose, run.outcome, run.verdict) for run in runs(book)}

    assert 5 == len(told)
    assert ("install", Outcome.COMPLETE, Verdict.CONDITIONAL) == told["bench-3/2026-11-26/1"]
    assert ("brief check", Outcome.COMPLETE, Verdict.PASS) == told["bench-3/2026-11-26/2"]
    assert ("install", Outcome.COMPLETE, Verdict.FAIL) == told["bench-7/2026-11-26/1"]
    assert ("full check", Outcome.BROKEN_OFF, Verdict.NOT_JUDGED) == told["bench-3/2026-11-26/3"]
    assert ("condition check", Outcome.COMPLETE, Verdict.PASS) == told["bench-3/2026-11-26/4"]  # its first end


def test_a_broken_off_run_of_an_old_book_goes_on(book: Book) -> None:
    """What the killed check had done is known, so that it can be taken up again."""
    broken = broken_off(book, "bench-3", "full check")

    assert broken is not None
    assert ("bench-3/2026-11-26/3", ["proof_test"]) == (broken.number, list(broken.done))


def test_the_open_items_of_an_old_book_are_known(book: Book) -> None:
    """The fail-danger unit has its item of class A."""
    (item,) = open_items(book, "bench-7")

    assert item.startswith("2026-11-26, class A: ")


@pytest.mark.swept
@pytest.mark.parametrize(("name", "count"), [(name, count) for name, count in COUNTS.items() if name in SMALL or WHOLE])
def test_an_old_book_gives_its_reports(name: str, count: int, tmp_path: Path) -> None:
    """Every run is drawn in every format, and nothing of it is left out as not understood."""
    with unpacked(name, tmp_path / name) as book:
        drawn = [path for run in runs(book) for path in write_reports(book, run.number, tmp_path / "reports")]

    assert {".html": count, ".md": count, ".json": count} == Counter(path.suffix for path in drawn)
    reports = [json.loads(path.read_text()) for path in drawn if path.suffix == ".json"]
    assert [] == [each["number"] for each in reports if each["evidence"]["unread"] or each["no_trend"]]


@pytest.mark.parametrize("name", NAMES)
def test_an_old_book_is_continued_where_it_lies(name: str, tmp_path: Path) -> None:
    """Every entry stays the same to the byte, new ones follow in one chain, and reports say the same words."""
    with unpacked(name, tmp_path) as book:
        place, before = book.path, list(book.rows())
        told = [path.read_bytes() for path in write_reports(book, runs(book)[0].number, tmp_path / "one")]
        written = book.append("bench-3/notes", Note(tag_of_printer="bench-3", what="remark", text="long " * 100))
    with Book(place, FakeClock(), reads_only=True) as book:
        assert [*before, written] == list(book.rows())
        assert [] == book.verify()
        assert told == [path.read_bytes() for path in write_reports(book, runs(book)[0].number, tmp_path / "other")]
    with sqlite3.connect(place) as file:
        assert [(3,)] == file.execute("PRAGMA user_version").fetchall()
    file.close()


@pytest.mark.parametrize("name", NAMES)
def test_an_old_book_is_read_without_being_touched(name: str, tmp_path: Path) -> None:
    """Opened to be read only it stays of its format, and answers what it answers once it is brought up to date."""
    place = tmp_path / "book.sqlite3"
    place.write_bytes(lzma.decompress((BOOKS / f"{name}.sqlite3.xz").read_bytes()))
    before = place.read_bytes()
    with Book(place, FakeClock(), reads_only=True) as book:
        said = due_list(book, TODAY), runs(book), book.verify()
    assert before == place.read_bytes()
    with Book(place, FakeClock()) as book:
        assert said == (due_list(book, TODAY), runs(book), book.verify())


def test_the_old_books_are_of_every_earlier_format(tmp_path: Path) -> None:
    """Each book format before today's and each earlier form of entries has a book that was written in it."""
    formats, forms = set(), set()
    for name in NAMES:
        (tmp_path / name).mkdir()
        place = tmp_path / name / "book.sqlite3"
        place.write_bytes(lzma.decompress((BOOKS / f"{name}.sqlite3.xz").read_bytes()))
        formats.add(int.from_bytes(place.read_bytes()[60:64], "big"))  # SQLite documentation, "Database File Format"
        with Book(place, FakeClock(), reads_only=True) as book:
            written = [json.loads(row.payload) for row in book.rows()]
        forms |= {values.get("format", 1) if "entry" in values else 1 for values in written}

    assert set(range(1, SCHEMA_VERSION)) == formats
    assert set(range(1, FORMAT + 1)) == forms


@pytest.mark.swept
@pytest.mark.parametrize("name", NAMES if WHOLE else SMALL)
def test_an_old_book_is_joined_to_another(name: str, tmp_path: Path) -> None:
    """Nothing is lost or doubled, both chains verify, a second time changes nothing, and its reports say the same."""
    with unpacked(name, tmp_path / "old") as old, Book(tmp_path / "book.sqlite3", FakeClock()) as book:
        before = list(old.rows())
        told = texts(old, tmp_path / "alone")
        book.append("bench-9/notes", Note(tag_of_printer="bench-9", what="remark", text="A bench of its own."))
        assert (len(before), 0) == (book.receive(before), book.receive(before))
        assert [] == book.verify()
        assert [before] == [chain for chain in book.chains() if len(chain) > 1]
        assert [(run.number, run.outcome, run.verdict) for run in runs(old)] == [
            (run.number, run.outcome, run.verdict) for run in runs(book)
        ]
        assert told == texts(book, tmp_path / "joined")


def test_all_old_books_are_joined_in_any_order(tmp_path: Path) -> None:
    """Runs of the same number in two of them keep a name each; what is told does not depend on the order."""
    chains = []
    for name in NAMES:
        with unpacked(name, tmp_path / name) as old:
            chains += old.chains()
    told: list[tuple[int, list[Run], list[Due]]] = []
    for order in (chains, chains[::-1]):
        place = tmp_path / f"joined-{len(told)}"
        place.mkdir()
        with Book(place / "book.sqlite3", FakeClock()) as book:
            for chain in order:
                book.receive(chain)
            assert [] == book.verify()
            told.append((sum(1 for _ in book.rows()), runs(book), due_list(book, TODAY)))
    (count, every, _), other = told

    assert told[0] == other
    assert sum(map(len, chains)) == count
    assert 5 + 14 + 1 + 3 == len({run.number for run in every}) == len(every)


def texts(book: Book, folder: Path) -> dict[str, str]:
    """The report of each run, in words."""
    drawn = {run.number: write_reports(book, run.number, folder, ["markdown"]) for run in runs(book)}
    return {number: path.read_text() for number, (path,) in drawn.items()}


async def test_a_killed_check_of_an_old_book_is_taken_up(book: Book, tmp_path: Path) -> None:
    """What its hands had shown stands, read back from the old entries; the rest is done and written in today's form."""
    bench = bench_with(book, tmp_path)
    bench.identity = LIKE_THE_ONE_ON_RECORD
    broken = broken_off(book, "bench-3", "full check")
    assert broken is not None
    plan = broken.started.plan or Plan(seed=0)
    book.append(broken.number, RunResumed(number=broken.number, tag="bench-3", purpose="full check", plan=plan))
    known = background_of(book, "bench-3", "fake", TODAY, broken=broken)
    here = Surroundings("bench-3", PortIdentity("", "", "", "fake"))
    subject = Subject(here, "R. Okafor", TODAY, plan, switch="filament", steady_s=2.0, full=True)
    steps = periodic_check(replace(subject, continuation=known.continuation))
    came_to = await bench.run(steps, number=broken.number)
    book.append(broken.number, ended("conditional pass"))

    assert Outcome.COMPLETE is came_to.outcome
    assert ["proof_test"] == taken_over(book, broken.number)
    assert {"loop_check.ready", "wiggle.ready"}.isdisjoint(bench.desk.asked)
    assert {1, PLAIN} <= {json.loads(row.payload).get("format", 1) for row in book.rows(broken.number)}
    assert_whole(book, broken.number, tmp_path)


async def test_a_stopped_installation_of_an_old_book_is_taken_up(form_1: Book, tmp_path: Path) -> None:
    """It was stopped inside its loop check: what came before stands, and the loop check is done again whole."""
    bench = bench_with(form_1, tmp_path)
    broken = broken_off(form_1, "bench-6", "install")
    assert broken is not None
    plan = broken.started.plan or Plan(seed=0)
    form_1.append(broken.number, RunResumed(number=broken.number, tag="bench-6", purpose="install", plan=plan))
    known = background_of(form_1, "bench-6", "fake", TODAY, broken=broken)
    steps = install_run(plan, "R. Okafor", known, Sheet("bench-6", TODAY.isoformat()))
    came_to = await bench.run(steps, number=broken.number)
    form_1.append(broken.number, ended("conditional pass"))

    assert Outcome.COMPLETE is came_to.outcome
    assert "loop_check.ready" in bench.desk.asked
    assert ["as_found"] == taken_over(form_1, broken.number)
    assert_whole(form_1, broken.number, tmp_path)


def bench_with(book: Book, folder: Path) -> FakeBench:
    """A bench in memory that writes into this book."""
    bench = FakeBench(folder)
    bench.book.close()
    bench.book = book
    return bench


def taken_over(book: Book, number: str) -> list[str]:
    """The phases of the run that still stood when it was taken up."""
    return [finding.phase for _, finding in established(book, TakenOver, [number])]


def assert_whole(book: Book, number: str, folder: Path) -> None:
    """The chain goes on, and the report of the run leaves nothing out."""
    (told,) = write_reports(book, number, folder / "reports", ["json"])

    assert [] == book.verify()
    assert [] == json.loads(told.read_text())["evidence"]["unread"]
