"""A book is a set of chains: who writes which, what a copy does, and what joining two books comes to."""

import json
import random
import shutil
import sqlite3
from collections.abc import Sequence
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.cli import main
from commission.evidence.chains import ChainBegun
from commission.evidence.runs import RunResumed
from commission.evidence.talk import Told
from commission.judge.plan import Plan
from commission.records.bench import bench_file
from commission.records.book import Book, BookError
from commission.records.chain import Row, link_row
from commission.records.continuation import broken_off
from commission.records.due import due_list
from commission.records.heads import compare_heads, keep_head
from commission.records.history import runs
from commission.records.joining import ForkError
from commission.records.notes import add_note, notes_on
from commission.records.open_items import open_items
from commission.records.union import join
from commission.records.verify import verify
from commission.report.write import write_reports
from tests.records.books import Workshop
from tests.records.test_old_books import unpacked
from tests.support.fake_time import FakeClock
from tests.support.made import begun, ended
from tests.support.sweeps import as_many

RUN, NEXT = "bench-3/2031-03-14/1", "bench-3/2031-03-15/1"
TODAY = date(2031, 4, 1)


def opened(place: Path) -> Book:
    """The book at that place, to be read only."""
    return Book(place, FakeClock(), reads_only=True)


def workshop_in(folder: Path, after_days: float = 0.0) -> Workshop:
    """A book in a folder of its own, whose clock begins so many days later."""
    folder.mkdir()
    workshop = Workshop(folder)
    workshop.days_pass(after_days)
    return workshop


def contents(book: Book) -> dict[str, list[Row]]:
    """The chains of a book by their origins."""
    return {rows[0].digest: rows for rows in book.chains()}


def copied(place: Path, folder: Path) -> Path:
    """A copy of a book's file alone, in a folder of its own."""
    folder.mkdir()
    return Path(shutil.copy(place, folder / "book.sqlite3"))


def test_a_copied_book_begins_its_own_chain(tmp_path: Path) -> None:
    """What the copy writes stands behind a first entry that says where the other chain ended then."""
    workshop = workshop_in(tmp_path / "one")
    workshop.begin(RUN)
    workshop.book.close()
    with Book(copied(workshop.book.path, tmp_path / "other"), FakeClock()) as copy:
        written = copy.append(NEXT, begun(NEXT, "install"))
        chains, (head, _) = copy.chains(), copy.heads()
        (beginning,) = (record.entry for record in copy.records(ChainBegun))

    assert [1, 2] == [len(chain) for chain in chains]
    assert (1, 2) == (written.chain, written.sequence)
    assert [(head[0], 1, head[1].digest)] == [(seen.origin, seen.entries, seen.digest) for seen in beginning.behind]
    assert [] == opened(tmp_path / "other" / "book.sqlite3").verify()


def test_a_book_goes_on_where_it_lies(tmp_path: Path) -> None:
    """Opened again, or moved together with the file beside it, it has one chain still."""
    workshop = workshop_in(tmp_path / "one")
    workshop.begin(RUN)
    workshop.book.close()
    with Book(workshop.book.path, FakeClock()) as again:
        again.append(RUN, ended())
    (tmp_path / "one").rename(tmp_path / "moved")
    with Book(tmp_path / "moved" / "book.sqlite3", FakeClock()) as moved:
        moved.append(NEXT, begun(NEXT, "install"))

        assert [3] == [len(chain) for chain in moved.chains()]


def test_an_older_state_that_is_put_back_begins_a_chain(tmp_path: Path) -> None:
    """The file beside the book knows of a later entry: going on behind the older one would be a fork."""
    workshop = workshop_in(tmp_path / "one")
    workshop.begin(RUN)
    workshop.book.close()
    older = workshop.book.path.read_bytes()
    with Book(workshop.book.path, FakeClock()) as later:
        later.append(RUN, Told(heading="later"))
    workshop.book.path.write_bytes(older)
    with Book(workshop.book.path, FakeClock()) as put_back:
        put_back.append(NEXT, begun(NEXT, "install"))

        assert [1, 2] == [len(chain) for chain in put_back.chains()]


def test_a_whole_folder_that_is_copied_begins_a_chain(tmp_path: Path) -> None:
    """The file beside the book says where the book lay: at another place, in another file, it is a copy."""
    workshop = workshop_in(tmp_path / "one")
    workshop.begin(RUN)
    workshop.book.close()
    shutil.copytree(tmp_path / "one", tmp_path / "other")
    with Book(tmp_path / "other" / "book.sqlite3", FakeClock()) as copy:
        copy.append(NEXT, begun(NEXT, "install"))

        assert [1, 2] == [len(chain) for chain in copy.chains()]


def test_two_benches_give_no_number_twice(tmp_path: Path) -> None:
    """On the same day, for the same printer, each number carries the mark of its bench."""
    books = [workshop_in(tmp_path / name).book for name in ("one", "other")]
    day = date(2031, 3, 14)
    given = [book.start_run("bench-3", day, lambda number: begun(number, "install")).run for book in books * 3]

    assert 6 == len(set(given))


def test_a_joined_book_holds_all_of_both(tmp_path: Path) -> None:
    """Runs, notes and due dates are those of both; each chain is whole; once more changes nothing."""
    one, other = workshop_in(tmp_path / "one"), workshop_in(tmp_path / "other", after_days=1)
    one.whole_run(RUN)
    other.whole_run(NEXT, "brief check")
    add_note(other.book, "bench-3", "remark", "a word")
    done = join(one.book, other.book)
    before = contents(one.book)
    again = join(one.book, other.book)

    assert ([6], [0]) == ([each.added for each in done], [each.added for each in again])
    assert before == contents(one.book) == contents(one.book) | contents(other.book)
    assert [RUN, NEXT] == [run.number for run in runs(one.book, "bench-3")]
    assert ["a word"] == [note.entry.text for note in notes_on(one.book, "bench-3")]
    assert [] == one.book.verify()


def test_entries_are_read_in_the_order_of_the_clocks(tmp_path: Path) -> None:
    """A later test at another bench clears what an earlier one failed at, whichever book is joined into which."""
    failed, passed = workshop_in(tmp_path / "one"), workshop_in(tmp_path / "other", after_days=2)
    failed.whole_run(RUN, verdict="fail")
    passed.whole_run(NEXT)
    for into, of in ((failed, passed), (passed, failed)):
        join(into.book, of.book)

    (one,), (other,) = (due_list(each.book, TODAY) for each in (failed, passed))
    assert one == other
    assert "failed" not in one.because
    assert one.last is not None
    assert NEXT == one.last.number


def test_an_earlier_pass_clears_no_later_failure(tmp_path: Path) -> None:
    """A bench that passed it the day before does not hide what failed since, in whichever order they were joined."""
    passed, failed = workshop_in(tmp_path / "one"), workshop_in(tmp_path / "other", after_days=2)
    passed.whole_run(RUN)
    failed.whole_run(NEXT, verdict="fail")
    for into, of in ((failed, passed), (passed, failed)):
        join(into.book, of.book)

    assert ["its last install (2031-03-16) failed"] * 2 == [
        due.because for each in (failed, passed) for due in due_list(each.book, TODAY)
    ]


def test_a_clock_set_back_moves_no_entry(tmp_path: Path) -> None:
    """Within a chain the order is that of its entries, whatever its clock said."""
    back, other = workshop_in(tmp_path / "one"), workshop_in(tmp_path / "other", after_days=1)
    back.whole_run(RUN, verdict="fail")
    back.days_pass(-300)
    back.whole_run(NEXT)
    other.whole_run("bench-4/2031-03-15/1", tag="bench-4")
    join(back.book, other.book)

    assert [RUN, NEXT] == [run.number for run in runs(back.book, "bench-3")]
    assert "failed" not in next(due for due in due_list(back.book, TODAY) if due.tag == "bench-3").because


def test_old_numbers_that_are_alike_are_told_apart(tmp_path: Path) -> None:
    """Two old books have a run of one number: each is called by its chain too, and keeps its own entries."""
    one, other = workshop_in(tmp_path / "one"), workshop_in(tmp_path / "other", after_days=1)
    one.whole_run(RUN, verdict="pass")
    other.whole_run(RUN, verdict="fail")
    origins = [each.book.heads()[0][0][:8] for each in (one, other)]
    join(one.book, other.book)
    found = runs(one.book, "bench-3")

    assert [f"{RUN}@{origin}" for origin in origins] == [run.number for run in found]
    assert ["pass", "fail"] == [run.verdict.value for run in found]
    assert [5, 5] == [len(list(one.book.rows(run.number))) for run in found]
    drawn = [path for run in found for path in write_reports(one.book, run.number, tmp_path / "reports", ["json"])]
    assert [5, 5] == [json.loads(path.read_text())["evidence"]["entry"] for path in drawn]


def test_a_run_of_another_chain_is_not_taken_up(tmp_path: Path) -> None:
    """It is offered at the bench that began it alone, and the book refuses it elsewhere."""
    workshop = workshop_in(tmp_path / "one")
    workshop.begin(RUN)
    workshop.phase(RUN, "wiring")
    workshop.book.close()
    assert broken_off(opened(workshop.book.path), "bench-3", "install") is not None
    with Book(copied(workshop.book.path, tmp_path / "other"), FakeClock()) as copy:
        assert broken_off(copy, "bench-3", "install") is None
        with pytest.raises(BookError, match="begun by another bench"):
            copy.append(RUN, RunResumed(number=RUN, tag="bench-3", purpose="install", plan=Plan(seed=0)))


def fork(tmp_path: Path) -> tuple[Workshop, Book]:
    """A chain that goes on in two ways from its second entry on."""
    workshop = workshop_in(tmp_path / "one")
    workshop.begin(RUN)
    workshop.book.append(RUN, Told(heading="one way"))
    (first, second) = workshop.book.rows()
    other = Book(tmp_path / "other.sqlite3", FakeClock())
    way = link_row(first, run=RUN, kind="told", at=second.at, elapsed_us=0, payload=second.payload.replace("one", "an"))
    other.receive([first, way])
    return workshop, other


def test_a_fork_is_named_and_not_joined(tmp_path: Path) -> None:
    """Both books stay as they are, and other chains of the book are taken all the same."""
    workshop, other = fork(tmp_path)
    other.append("bench-4/2031-03-14/1", begun("bench-4/2031-03-14/1", "install", tag="bench-4"))
    before = contents(workshop.book)
    refused, taken = join(workshop.book, other)

    assert "goes on in two ways from entry 2 on" in refused.sentence
    assert (0, 0, 2) == (refused.here, refused.added, taken.added)
    assert before.items() <= contents(workshop.book).items()
    with pytest.raises(ForkError):
        workshop.book.receive(next(iter(contents(other).values())))


def test_an_altered_chain_is_not_joined(tmp_path: Path) -> None:
    """The entry is named, and nothing of the chain is taken."""
    one, other = workshop_in(tmp_path / "one"), workshop_in(tmp_path / "other")
    one.begin(NEXT)
    other.whole_run(RUN)
    other.book.close()
    with sqlite3.connect(other.book.path) as file:
        file.execute("DROP TRIGGER entries_no_update")
        file.execute("UPDATE entries SET at = '2031-03-14T00:00:00+00:00' WHERE sequence = 3")
    file.close()
    (found,) = join(one.book, opened(other.book.path))

    assert "entry 3 (trial) was altered" in found.sentence
    assert [1] == [len(chain) for chain in one.book.chains()]


def test_a_cut_off_end_shows_when_joined(tmp_path: Path) -> None:
    """This book has seen more of a chain than the other one has now; what it has seen stays."""
    one, other = workshop_in(tmp_path / "one"), workshop_in(tmp_path / "other", after_days=1)
    one.whole_run(RUN)
    other.whole_run(NEXT)
    join(one.book, other.book)
    rows = list(other.book.chains()[0])
    cut = Book(tmp_path / "cut.sqlite3", FakeClock())
    cut.receive(rows[:3])
    (found,) = join(one.book, cut)

    assert found.sentence.endswith(
        "3 entries, 0 of them new here. This book has it up to entry 5: the other one is an older copy, or its end was "
        "cut off."
    )
    assert rows in one.book.chains()


def test_a_later_head_that_was_seen_shows_a_cut(tmp_path: Path) -> None:
    """A chain that began behind another says where that ended: what is missing of it is named."""
    workshop = workshop_in(tmp_path / "one")
    workshop.whole_run(RUN)
    workshop.book.close()
    with Book(copied(workshop.book.path, tmp_path / "other"), FakeClock()) as copy:
        old, new = copy.chains()
    cut = Book(tmp_path / "cut.sqlite3", FakeClock())
    cut.receive(old[:3], new)
    found = verify(*cut.survey()[:1])

    (fault,) = found.faults
    assert "had 5 entries when chain" in fault.what
    assert not found.sound


def test_the_heads_of_every_chain_are_kept(tmp_path: Path) -> None:
    """Where a joined chain ended is kept like that of the own one, and a cut of either is found."""
    one, other = workshop_in(tmp_path / "one"), workshop_in(tmp_path / "other", after_days=1)
    one.whole_run(RUN)
    other.whole_run(NEXT)
    join(one.book, other.book)
    keep_head(tmp_path / "heads", one.book)
    rows, _ = one.book.survey()

    assert compare_heads(tmp_path / "heads", one.book.path, rows).sound
    for lost in (4, 9):
        assert not compare_heads(tmp_path / "heads", one.book.path, rows[:lost] + rows[lost + 1 :]).sound


@pytest.mark.parametrize("name", ["2026-11", "form-2"])
def test_old_books_are_joined_with_their_reports(name: str, tmp_path: Path) -> None:
    """Into a book with runs of its own: the same entries, and reports of the same words."""
    here = workshop_in(tmp_path / "here")
    here.whole_run("bench-99/2031-03-14/1", tag="bench-99")
    with unpacked(name, tmp_path / name) as old:
        told = {run.number: report_of(old, run.number, tmp_path / "one") for run in runs(old)}
        join(here.book, old)
        rows, items = list(old.rows()), {tag: open_items(old, tag) for tag in {run.tag for run in runs(old)}}

    assert rows == here.book.chains()[1]
    assert (
        told.items()
        <= {run.number: report_of(here.book, run.number, tmp_path / "other") for run in runs(here.book)}.items()
    )
    assert items == {tag: open_items(here.book, tag) for tag in items}
    assert [] == here.book.verify()


def report_of(book: Book, number: str, folder: Path) -> str:
    """The JSON report of a run."""
    (path,) = write_reports(book, number, folder, ["json"])
    return path.read_text()


def chain_of(seed: int, length: int) -> list[Row]:
    """A chain of random entries, the same for the same seed; its times go to and fro."""
    chance = random.Random(seed)  # noqa: S311 - repeatable, not secret
    rows: list[Row] = []
    for _ in range(length):
        day, kind = chance.randrange(1, 28), chance.choice(("told", "run_started", "note"))
        at = datetime(2031, 3, day, chance.randrange(24), tzinfo=UTC).isoformat()
        run = f"bench-{chance.randrange(2)}/2031-03-14/{chance.randrange(3)}"
        before = rows[-1] if rows else None
        rows.append(link_row(before, run=run, kind=kind, at=at, elapsed_us=seed, payload="{}"))
    return rows


LENGTHS = (5, 3, 7, 2, 4)
PARTS = st.dictionaries(st.integers(0, 4), st.integers(1, 7), min_size=1)


def book_of(folder: Path, *parts: Sequence[Sequence[Row]]) -> Book:
    """A book into which these sets of chains were joined one after the other."""
    folder.mkdir(exist_ok=True)
    count = len(list(folder.iterdir()))
    book = Book(folder / f"book-{count}.sqlite3", FakeClock())
    for chains in parts:
        book.receive(*chains)
    return book


def read(book: Book) -> list[tuple[str, str, int]]:
    """What a reader sees of a book: run, digest and place, in order."""
    return [(row.run, row.digest, row.place if len(book.chains()) > 1 else row.sequence) for row in book.rows()]


@pytest.mark.swept
@given(sets=st.tuples(PARTS, PARTS, PARTS))
@settings(deadline=None, max_examples=as_many(8, 25))
def test_joining_is_a_union(tmp_path_factory: pytest.TempPathFactory, sets: tuple[dict[int, int], ...]) -> None:
    """In any order, in any grouping, and twice: the same chains, read in the same order; nothing lost or doubled."""
    folder = tmp_path_factory.mktemp("union")
    a, b, c = ([chain_of(seed, LENGTHS[seed])[:length] for seed, length in each.items()] for each in sets)
    books = [
        book_of(folder, a, b, c),
        book_of(folder, c, b, a),
        book_of(folder, b, c, a, b, a, c),
        book_of(folder, a, list(contents(book_of(folder, b, c)).values())),
    ]
    expected: dict[str, list[Row]] = {}
    for rows in (*a, *b, *c):
        expected[rows[0].digest] = max(rows, expected.get(rows[0].digest, []), key=len)

    assert [expected] * 4 == [contents(book) for book in books]
    assert [[]] * 4 == [book.verify() for book in books]
    if len(expected) > 1:
        assert 1 == len({tuple(read(book)) for book in books})
    for rows in expected.values():
        numbers = [row.sequence for row in books[0].rows() if row in rows]
        assert sorted(numbers) == numbers
    for book in books:
        book.close()


def test_tampering_with_any_chain_is_named(tmp_path: Path) -> None:
    """Of every column of every entry of three chains each change is found, and no other chain is blamed."""
    book = book_of(tmp_path / "one", [chain_of(seed, 4) for seed in range(3)])
    book.close()
    whole = book.path.read_bytes()
    for chain in range(3):
        for column, value in (("at", "'x'"), ("run", "'x'"), ("payload", "'{\"a\":1}'"), ("elapsed_us", "77")):
            with sqlite3.connect(book.path) as file:
                file.execute("DROP TRIGGER entries_no_update")
                number = (chain << 40) + 2
                file.execute(f"UPDATE entries SET {column} = {value} WHERE sequence = {number}")  # noqa: S608 - ours
            file.close()
            with opened(book.path) as altered:
                faults = [fault.what for fault in altered.verify() if "altered after" in fault.what]
                origin = altered.chains()[chain][0].digest[:8]
            assert [f"chain {origin}: entry 2"] == [what[:23] for what in faults]
            book.path.write_bytes(whole)


def test_the_command_joins_and_says_what_it_did(tmp_path: Path) -> None:
    """Each chain in a sentence, and how many entries are new; verify then tells of both chains."""
    one, other = workshop_in(tmp_path / "one"), workshop_in(tmp_path / "other", after_days=1)
    one.whole_run(RUN)
    other.whole_run(NEXT)
    for each in (one, other):
        each.book.close()
    name = opened(other.book.path).heads()[0][0][:8]
    variables = {"COMMISSION_HEADS": str(tmp_path / "heads"), "COMMISSION_BOOK": str(one.book.path)}
    joined, again, verified = (
        CliRunner().invoke(main, ["book", *words], env=variables)
        for words in (["join", str(other.book.path)], ["join", str(other.book.path)], ["verify"])
    )

    assert (0, f"Chain {name}: 5 entries, 5 of them new here.\n5 entries added.\n") == (joined.exit_code, joined.output)
    assert f"Chain {name}: 5 entries, 0 of them new here.\n0 entries added.\n" == again.output
    assert (0, "10 entries in 2 chains.") == (verified.exit_code, verified.output.splitlines()[0])


def test_a_fork_ends_the_command_with_a_finding(tmp_path: Path) -> None:
    """Exit code 1, and the chain is named."""
    workshop, other = fork(tmp_path)
    for book in (workshop.book, other):
        book.close()
    variables = {"COMMISSION_HEADS": str(tmp_path / "heads"), "COMMISSION_BOOK": str(workshop.book.path)}
    done = CliRunner().invoke(main, ["book", "join", str(other.path)], env=variables)

    assert 1 == done.exit_code
    assert "was not joined" in done.output


def test_the_file_beside_the_book_is_for_its_owner_alone(tmp_path: Path) -> None:
    """It holds no secret, but who can change it can make a bench go on in the wrong chain."""
    workshop = workshop_in(tmp_path / "one")
    workshop.begin(RUN)

    assert 0o600 == bench_file(workshop.book.path).stat().st_mode & 0o777


def test_damage_of_another_printer_spares_this_report(tmp_path: Path) -> None:
    """A packed entry, or a note, of another printer that cannot be unpacked is no error and changes no word of it.

    What is damaged in its chain is named in it, for its digests go over all of the chain.
    """
    workshop = workshop_in(tmp_path / "one")
    workshop.whole_run("bench-4/2031-03-14/1", tag="bench-4")
    noted = add_note(workshop.book, "bench-4", "remark", "long " * 200)
    workshop.whole_run(RUN)
    before = json.loads(report_of(workshop.book, RUN, tmp_path / "before"))
    workshop.book.close()
    with sqlite3.connect(workshop.book.path) as file:
        file.execute("DROP TRIGGER entries_no_update")
        file.execute("UPDATE entries SET payload = x'00' WHERE sequence IN (3, ?)", (noted.sequence,))
    file.close()
    with opened(workshop.book.path) as book:
        after = json.loads(report_of(book, RUN, tmp_path / "after"))
        with pytest.raises(BookError, match=r"Entry 3 \(trial\) of"):
            book.chains()

    faults = after["evidence"].pop("faults")
    assert [3, noted.sequence] == [int(fault.split()[1]) for fault in faults]
    assert [] == before["evidence"].pop("faults")
    assert (before["trends"], before["notes"], before["evidence"]) == (
        after["trends"],
        after["notes"],
        after["evidence"],
    )


def test_a_chain_of_one_entry_is_a_chain(tmp_path: Path) -> None:
    """The first entry of a book is its head at once."""
    with Book(tmp_path / "book.sqlite3", FakeClock()) as book:
        assert [] == book.heads()
        row = book.append("bench-3/notes", Told(heading="first"))

        assert [(row.digest, row)] == book.heads()
