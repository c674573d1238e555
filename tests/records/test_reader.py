"""What is read of a book's entries: the same by its indexes and without them, in one order over all its chains."""

import sqlite3
from collections.abc import Callable, Collection, Iterator, Sequence
from contextlib import contextmanager, nullcontext
from dataclasses import replace
from functools import partial

import pytest
from sqlalchemy import Connection

from commission.evidence.findings.loop import Polarity
from commission.evidence.findings.meeting import Repair
from commission.evidence.found import Established
from commission.evidence.runs import Note
from commission.evidence.talk import Punched, Told
from commission.records.chain import Row
from commission.records.chains import numbering_of
from commission.records.facts import Line
from commission.records.look import Looks
from commission.records.numbering import lies
from commission.records.reader import Reader
from commission.vocabulary import PunchClass
from tests.records.memory import chain_of, in_memory
from tests.support.made import begun, ended, found, made

R1, R2, R3 = "bench-1/2031-03-01/1", "bench-2/2031-03-05/1", "bench-2/2031-03-05/2"
POLARITY, REPAIR, NOTE = found(Polarity), found(Repair), made(Note, tag_of_printer="bench-2", what="remark")
UNSAFE = made(Punched, grade=PunchClass.UNSAFE)
FIRST = chain_of(
    *[(R1, begun(R1)), (R1, POLARITY), (R1, UNSAFE), (R1, ended())],
    *[(R2, begun(R2)), (R2, REPAIR), ("bench-2/notes", NOTE), (R2, POLARITY)],
)
OTHER = chain_of(
    *[(R1, begun(R1)), (R1, POLARITY), (R3, begun(R3)), (R3, UNSAFE), (R3, ended())],
    number=1,
    from_day=3,
)
IN_ORDER = ["A1", "A2", "A3", "B1", "B2", "A4", "B3", "B4", "A5", "A6", "B5", "A7", "A8"]
"""By the day of the turn, then by the number; A and B are the first and the other chain. An entry that begins or ends
a run, or notes something, is a turn."""
ONE, BOTH = (FIRST,), (FIRST, OTHER)
NAMED = {chain: f"{R1}@{rows[0].digest[:8]}" for chain, rows in zip("AB", BOTH, strict=True)}
FINDING, PUNCH = Established.kind(), Punched.kind()


def reader(connection: Connection, *, indexed: bool, looks: Looks | None = None) -> Reader:
    """A reader that has read nothing yet."""
    return Reader(
        lambda: nullcontext(connection),
        indexed=indexed,
        numbering=numbering_of(connection, indexed=False),
        looks=Looks() if looks is None else looks,
    )


@contextmanager
def tables(chains: Sequence[Sequence[Row]], *, indexed: bool) -> Iterator[Connection]:
    """The tables with these chains; without lines and indexes where questions may not go by them."""
    with in_memory(*chains) as connection:
        if not indexed:
            for drop in ("TABLE facts", "INDEX entries_by_run", "INDEX entries_by_kind"):
                connection.exec_driver_sql(f"DROP {drop}")
        yield connection


def named(rows: Collection[Row]) -> list[str]:
    """The entries by chain and number."""
    return [f"{'AB'[row.chain]}{row.sequence}" for row in rows]


PAGE, MANY = 500, 100
"""Entries that are read in one question, and runs of which each is looked up by itself."""
Asked = tuple[Collection[str] | None, Collection[str]]
ROWS: list[tuple[Sequence[Sequence[Row]], Asked, list[str]]] = [
    (ONE, (None, ()), [each for each in IN_ORDER if each[0] == "A"]),
    (BOTH, (None, ()), IN_ORDER),
    (BOTH, (None, [FINDING, PUNCH]), ["A2", "A3", "B2", "B4", "A6", "A8"]),
    (BOTH, (None, [Note.kind()]), ["A7"]),
    (BOTH, (None, [Note.kind(), PUNCH]), ["A3", "B4", "A7"]),
    (ONE, ({R1}, ()), ["A1", "A2", "A3", "A4"]),
    (ONE, ({R1, R2}, [FINDING]), ["A2", "A6", "A8"]),
    (BOTH, ({R2, R3}, ()), ["B3", "B4", "A5", "A6", "B5", "A8"]),
    (BOTH, ({NAMED["A"]}, ()), ["A1", "A2", "A3", "A4"]),
    (BOTH, ({NAMED["A"], NAMED["B"]}, [FINDING]), ["A2", "B2"]),
    (BOTH, ({R1}, ()), []),
    (BOTH, ((), ()), []),
    (BOTH, ({"a run that nobody began"}, ()), []),
]


@pytest.mark.parametrize("indexed", [True, False])
@pytest.mark.parametrize(("chains", "asked", "expected"), ROWS)
def test_rows_come_in_the_order_of_all_chains(
    chains: Sequence[Sequence[Row]], asked: Asked, expected: list[str], *, indexed: bool
) -> None:
    """Of some runs or all, of some kinds or all; within a look as outside of one."""
    looks = Looks()
    with tables(chains, indexed=indexed) as connection:
        outside = list(reader(connection, indexed=indexed).rows(*asked))
        with looks.one(lambda: nullcontext(connection)):
            inside = list(reader(connection, indexed=indexed, looks=looks).rows(*asked))

    assert expected == named(outside)
    assert outside == inside
    assert [row.place for row in outside] == [row.place for row in inside] == sorted(row.place for row in outside)


@pytest.mark.parametrize("look", [False, True])
def test_findings_are_found_by_their_lines(*, look: bool) -> None:
    """Of some names in some runs; without lines all findings of these runs come, for whoever asks looks again."""
    asked = [(["polarity"], {NAMED["B"], R2}), (["repair"], {R2}), (["polarity"], {R3}), (["polarity"], set())]
    expected = {True: [["B2", "A8"], ["A6"], [], []], False: [["B2", "A6", "A8"], ["A6", "A8"], [], []]}
    for indexed, answers in expected.items():
        with tables(BOTH, indexed=indexed) as connection:
            for (names, runs), answer in zip(asked, answers, strict=True):
                looks = Looks()
                with looks.one(lambda: nullcontext(connection)) if look else nullcontext():
                    rows = list(reader(connection, indexed=indexed, looks=looks).findings(names, runs))
                assert answer == named(rows)
                every = {row.digest: row.place for row in reader(connection, indexed=False).rows(None, ())}
                assert [every[row.digest] for row in rows] == [row.place for row in rows]
    with tables(BOTH, indexed=True) as connection:
        connection.exec_driver_sql("DELETE FROM facts WHERE kind = 'finding'")
        assert [] == list(reader(connection, indexed=True).findings(*asked[0]))


def test_the_newest_finding_of_each_printer_is_found() -> None:
    """Over all chains one for each printer and name; also where a line does not tell the printer."""
    expected = {
        (1, True): [("bench-1", "A2"), ("bench-2", "A8")],
        (2, True): [("bench-1", "B2"), ("bench-2", "A8")],
        (1, False): [("bench-1", "A2"), ("bench-2", "A6"), ("bench-2", "A8")],
        (2, False): [("bench-1", "A2"), ("bench-1", "B2"), ("bench-2", "A6"), ("bench-2", "A8")],
    }
    for (chains, indexed), answer in expected.items():
        with tables(BOTH[:chains], indexed=indexed) as connection:
            assert answer == newest(connection, indexed=indexed)
            if indexed:
                connection.exec_driver_sql("UPDATE facts SET tag = NULL, word = NULL WHERE kind = 'run_started'")
                assert answer == newest(connection, indexed=True)


def newest(connection: Connection, *, indexed: bool) -> list[tuple[str, str]]:
    """The newest findings of the polarity: each with its printer."""
    told = reader(connection, indexed=indexed).newest_findings(["polarity"])
    return [(tag, name) for tag, row in told for name in named([row])]


@pytest.mark.parametrize("indexed", [True, False])
def test_runs_with_an_unsafe_item_are_found(*, indexed: bool) -> None:
    """Each by its name, with the place of the last item; without lines those of other classes come too."""
    more = chain_of((R1, begun(R1)), (R1, UNSAFE), (R1, UNSAFE), (R2, made(Punched, grade=PunchClass.MINOR)))
    expected = {True: {NAMED["A"]: "A3", R3: "B4"}, False: {NAMED["A"]: "A3", R3: "B4"}}
    with tables(BOTH, indexed=indexed) as connection:
        told = reader(connection, indexed=indexed).runs_with(PunchClass.UNSAFE.value)
        places = {row.place: name for row in reader(connection, indexed=False).rows(None, ()) for name in named([row])}
        assert expected[indexed] == {run: places[place] for run, place in told.items()}
    with tables((more,), indexed=indexed) as connection:
        told = reader(connection, indexed=indexed).runs_with(PunchClass.UNSAFE.value)
        assert ({R1: 3} if indexed else {R1: 3, R2: 4}) == told


@pytest.mark.parametrize("tag", [None, "bench-1", "bench-2"])
def test_marks_stand_at_the_places_of_their_entries(tag: str | None) -> None:
    """What begins and ends a run is told with its name and place, by its lines as from its entries."""
    said = []
    for indexed in (True, False):
        with tables(BOTH, indexed=indexed) as connection:
            place = {row.digest: row.place for row in reader(connection, indexed=False).rows(None, ())}
            told = {
                (each.run, each.began, each.last)
                if isinstance(each, Line)
                else (each[0].run, each[0].sequence, each[-1].sequence)
                for each in reader(connection, indexed=indexed).marks(tag)
            }
            said.append(told)
    first, other = ([place[row.digest] for row in rows] for rows in BOTH)
    whole = {(NAMED["A"], first[0], first[3]), (NAMED["B"], other[0], other[0])}
    whole |= {(R2, first[4], first[4]), (R3, other[2], other[4])}

    by_lines, by_entries = said
    assert whole == by_entries
    assert by_lines == {each for each in whole if tag is None or each[0].startswith(tag)}


def test_what_lies_at_a_place_is_read() -> None:
    """In order, and nothing where nothing lies."""
    with tables(BOTH, indexed=True) as connection:
        whole = list(reader(connection, indexed=True).rows(None, ()))
        asked = [whole[9].place, whole[0].place, whole[3].place, whole[0].place + (50 << 16)]
        read = reader(connection, indexed=True)
        list(read.rows(None, ()))

        assert ["A1", "B1", "A6"] == named(list(read.at(asked)))
        assert [] == list(read.at([]))


@contextmanager
def counted(rows: Sequence[Row]) -> Iterator[tuple[Connection, Callable[[Callable[[Reader], object]], int]]]:
    """Tables with these rows, and what counts the questions to them that something takes."""
    with in_memory(rows) as connection:
        asked: list[str] = []
        driver = connection.connection.driver_connection
        assert isinstance(driver, sqlite3.Connection)
        driver.set_trace_callback(asked.append)

        def count(work: Callable[[Reader], object]) -> int:
            read = reader(connection, indexed=True)
            asked.clear()
            work(read)
            return len(asked)

        yield connection, count


def test_a_book_is_read_page_by_page() -> None:
    """As many entries as a page holds and one more are all read, each page in one question."""
    for entries, questions in ((PAGE - 1, 1), (PAGE, 2), (PAGE + 1, 2)):
        rows = chain_of(*[(R1, Told(heading="a word"))] * entries, from_day=0)
        with counted(rows) as (connection, count):
            assert questions == count(lambda read: list(read.rows(None, ())))
            assert rows == list(reader(connection, indexed=True).rows(None, ()))
            assert rows == list(reader(connection, indexed=True).rows(None, [Told.kind()]))


def test_many_runs_are_read_by_their_places() -> None:
    """A list over a workshop asks a few questions; a printer's history asks where each of its runs lies."""
    runs = [f"bench-3/2031-03-14/{number}" for number in range(PAGE + 5)]
    rows = chain_of(*[(run, begun(run)) for run in runs], (runs[0], ended()))
    some = [rows[0], *rows[7 : 7 + MANY], rows[-1]]
    with counted(rows) as (connection, count):
        read = reader(connection, indexed=True)
        assert MANY + 1 == count(lambda read: list(read.rows(runs[7 : 7 + MANY], ())))
        assert 2 == count(lambda read: list(read.rows(runs[7 : 8 + MANY], ())))
        assert some == list(read.rows({runs[0], *runs[7 : 7 + MANY]}, ()))
        assert rows == list(read.rows(runs, ()))
        assert rows[:-1] == list(read.rows(runs, ["run_started"]))


def rows_of(runs: Sequence[str], read: Reader) -> list[Row]:
    """The rows of these runs."""
    return list(read.rows(runs, ()))


def test_runs_beside_each_other_are_read_in_one_go() -> None:
    """Stretches that touch or overlap are one; an entry between them is not read."""
    told = Told(heading="a word")
    rows = chain_of(*[(run, told) for run in ("r1", "r1", "r2", "r3", "r4", "r3", "r5", "r4")])
    with counted(rows) as (connection, count):
        for runs, stretches, numbers in (
            (["r1", "r2"], 1, [1, 2, 3]),
            (["r1", "r3"], 2, [1, 2, 4, 6]),
            (["r3", "r4"], 1, [4, 5, 6, 8]),
            (["r2", "r5"], 2, [3, 7]),
        ):
            assert len(runs) + stretches == count(partial(rows_of, runs))
            assert numbers == [row.sequence for row in reader(connection, indexed=True).rows(runs, ())]


def test_a_run_that_the_index_lost_is_sought_everywhere() -> None:
    """An index that knows nothing of a run is not believed: the whole table is read for it."""
    with in_memory(FIRST) as connection:
        hidden = "CREATE INDEX entries_by_run ON entries (run, sequence) WHERE run <> '{}'"
        connection.exec_driver_sql("DROP INDEX entries_by_run")
        connection.exec_driver_sql(hidden.format(R2))
        read = reader(connection, indexed=True)

        assert ["A1", "A2", "A3", "A4", "A5", "A6", "A8"] == named(list(read.rows({R1, R2}, ())))


def test_a_look_asks_once_for_the_marks_of_a_printer() -> None:
    """Asked again within the look they are not read again; a list over all printers is."""
    looks = Looks()
    with counted(FIRST) as (connection, count), looks.one(lambda: nullcontext(connection)):
        read = reader(connection, indexed=True, looks=looks)
        first, again = (count(lambda _: list(read.marks("bench-1"))) for _ in range(2))

        assert first > again == 0
        assert list(read.marks(None)) == list(reader(connection, indexed=True).marks(None))
    assert lies(FIRST[0]) == 1


def test_a_row_is_the_same_wherever_it_is_read() -> None:
    """Its chain in the file and its place are no part of it; what its entry says is."""
    with tables(BOTH, indexed=True) as connection:
        rows = list(reader(connection, indexed=True).rows({R2, R3}, ()))

    assert [*FIRST[4:6], FIRST[7]] == [row for row in rows if row.run == R2]
    assert OTHER[2:] == [replace(row, chain=0, order=0) for row in rows if row.run == R3]
    assert all(row.order for row in rows)
    assert FIRST[4] != replace(FIRST[4], at="")
