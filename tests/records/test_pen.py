"""Who writes into which chain: the pen of one bench, on tables in memory."""

import sqlite3
from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import Connection, select

from commission.evidence.chains import ChainBegun
from commission.evidence.entry import NOTHING_TOLD
from commission.evidence.talk import Told
from commission.records.bench import bench_file, kept_bench
from commission.records.chain import Row, check_chain
from commission.records.pen import BEGIN, Pen
from commission.records.rows import Moment, newest_row, record_of, row_of
from commission.records.schema import OWNED, entries
from commission.records.tables import BookError
from tests.records.memory import chain_of, in_memory
from tests.support.made import begun

RUN, NOW = "bench-3/2031-03-14/1", Moment("2031-03-14T09:00:00.000+00:00", 0)
TOLD = Told(heading="a word")


@pytest.fixture(name="place")
def _place(tmp_path: Path) -> Path:
    """Where the book would lie: what is kept beside it says so."""
    place = tmp_path / "book.sqlite3"
    place.touch()
    return place


def write(pen: Pen, connection: Connection, *, begins: bool = False) -> Row:
    """Append an entry; perhaps as the first one of a transaction."""
    if begins:
        pen.begin()
    return pen.append(connection, RUN, TOLD, NOTHING_TOLD, None, NOW)


def version(connection: Connection) -> int:
    """The format of the book."""
    return int(connection.exec_driver_sql("PRAGMA user_version").scalar_one())


def rows_in(connection: Connection) -> list[Row]:
    """Every entry as it lies there."""
    return [row_of(each) for each in connection.execute(select(entries).order_by(entries.c.sequence))]


def test_the_format_is_asked_until_it_is_found(place: Path) -> None:
    """The first entry makes the book that of a bench; once a transaction finds it so, none asks again."""
    with in_memory() as connection:
        pen, asked = Pen(place), list[str]()
        driver = connection.connection.driver_connection
        assert isinstance(driver, sqlite3.Connection)
        driver.set_trace_callback(asked.append)
        counts = []
        for begins in (True, False, True, False, True):
            asked.clear()
            write(pen, connection, begins=begins)
            counts.append(sum("user_version" in question for question in asked))

        assert [2, 0, 1, 0, 0] == counts
        assert OWNED == version(connection)


def test_what_came_to_nothing_is_done_anew(place: Path) -> None:
    """After a transaction that the database gave up, chain, format and end are found out again."""
    with in_memory() as connection:
        pen = Pen(place)
        connection.exec_driver_sql("SAVEPOINT before")
        for _ in range(3):
            write(pen, connection, begins=True)
        connection.exec_driver_sql("ROLLBACK TO before")
        pen.forget()
        again = write(pen, connection, begins=True)

        assert (0, 1) == (again.chain, again.sequence)
        assert OWNED == version(connection)
        assert [again] == rows_in(connection)


def test_a_transaction_reads_the_end_of_its_chain_anew(place: Path) -> None:
    """Another process may have written since: what is appended stands behind that."""
    with in_memory() as connection:
        pen, other = Pen(place), Pen(place)
        for each in (pen, pen, other, pen):
            write(each, connection, begins=True)
            each.put_down()

        assert [] == check_chain(rows_in(connection))
        assert [1, 2, 3, 4] == [row.sequence for row in rows_in(connection)]


def test_how_far_a_chain_has_come_is_kept_once(place: Path) -> None:
    """The file beside the book names the newest entry; where nothing was written since it is left alone."""
    with in_memory() as connection:
        pen = Pen(place)
        first = write(pen, connection, begins=True)
        begun_as = kept_bench(place)
        last = write(pen, connection, begins=True)
        pen.put_down()
        kept = kept_bench(place)
        bench_file(place).unlink()
        pen.put_down()

    assert begun_as is not None
    assert kept is not None
    assert (first.digest, 0, "") == (begun_as.origin, begun_as.entries, begun_as.digest)
    assert (first.digest, 2, last.digest) == (kept.origin, kept.entries, kept.digest)
    assert not bench_file(place).exists()


def test_an_older_books_chain_is_gone_on_with(place: Path) -> None:
    """It belongs to no bench yet: who opens it first keeps beside it how far it has come."""
    rows = chain_of((RUN, begun(RUN)), (RUN, TOLD))
    with in_memory(rows) as connection:
        connection.exec_driver_sql("PRAGMA user_version = 2")
        pen = Pen(place)
        assert 0 == pen.own(connection, NOW) == pen.own(connection, NOW)
        kept = kept_bench(place)
        appended = write(pen, connection, begins=True)

        assert kept is not None
        assert (rows[0].digest, 2, rows[1].digest) == (kept.origin, kept.entries, kept.digest)
        assert (0, 3, rows[1].digest) == (appended.chain, appended.sequence, appended.previous)
        assert OWNED == version(connection)


def test_a_copys_chain_begins_behind_the_others(place: Path) -> None:
    """Its first entry says how far each of the others had come."""
    rows = chain_of((RUN, begun(RUN)), (RUN, TOLD))
    with in_memory(rows) as connection:
        pen = Pen(place)
        pen.begin()
        chain = pen.own(connection, NOW)
        appended = write(pen, connection)
        first, newest = rows_in(connection)[-2:]

        assert (1, 1) == (chain, pen.own(connection, NOW))
        assert (1, 1, BEGIN, 1, 2) == (first.chain, first.sequence, first.run, appended.chain, appended.sequence)
        assert newest == appended == newest_row(connection, 1)
        (head,) = (entry.behind for entry in [record_of(first).entry] if isinstance(entry, ChainBegun))
        assert [(rows[0].digest, 2, rows[1].digest)] == [(seen.origin, seen.entries, seen.digest) for seen in head]


def test_a_number_is_given_to_one_run_alone(place: Path) -> None:
    """The count goes on behind the numbers of that printer and day; signs in a tag stand for themselves."""
    day = date(2031, 3, 14)
    with in_memory() as connection:
        pen = Pen(place)
        pen.own(connection, NOW)
        for tag, count in (("b_3", 1), ("b_3", 2), ("bx3", 1), ("b%", 1), ("b_3", 3)):
            number = pen.number(connection, tag, day)
            assert number.startswith(f"{tag}/2031-03-14/{count}-")
            pen.append(connection, number, begun(number, tag=tag), NOTHING_TOLD, None, NOW)


def test_a_run_is_gone_on_with_in_its_own_chain(place: Path) -> None:
    """One that another bench began is refused; one that nobody began, or this bench, is not."""
    other = chain_of((RUN, begun(RUN)), (RUN, TOLD))
    with in_memory(other) as connection:
        pen = Pen(place)
        pen.begin()
        pen.append(connection, "bench-3/2031-03-15/1", TOLD, NOTHING_TOLD, None, NOW)
        for run in ("bench-3/2031-03-15/1", "bench-3/2031-03-16/1"):
            pen.require_own(connection, run, NOW)
        with pytest.raises(BookError, match=f"The run {RUN} was begun by another bench"):
            pen.require_own(connection, RUN, NOW)


def fail_after_writing(pen: Pen, connection: Connection) -> None:
    """A part that writes an entry, and comes to nothing."""
    with pen.in_part():
        write(pen, connection)
        raise ZeroDivisionError


def test_what_a_failed_part_decided_is_forgotten(place: Path) -> None:
    """What was decided before it stands."""
    with in_memory() as connection:
        pen = Pen(place)
        first = write(pen, connection, begins=True)
        connection.exec_driver_sql("SAVEPOINT part")
        with pytest.raises(ZeroDivisionError):
            fail_after_writing(pen, connection)
        connection.exec_driver_sql("ROLLBACK TO part")
        second = write(pen, connection)

        assert [first, second] == rows_in(connection)
        assert [] == check_chain([first, second])
