"""What is read of a file beside its damage, to the single entry; on tables in memory that can be damaged at will."""

import sqlite3
from bisect import bisect_left
from collections.abc import Collection, Sequence
from typing import Any, cast

import pytest
from sqlalchemy import Connection, insert
from sqlalchemy.exc import DatabaseError

from commission.evidence.talk import Told
from commission.files.book_file import APPLICATION_ID
from commission.records.chain import ChainFault, Row
from commission.records.chains import WAYS
from commission.records.numbering import extent, lies_at
from commission.records.schema import create_tables, entries
from commission.records.survey import AT_ONCE, Damage, faults_of, survey, survey_chain
from tests.records.memory import chain_of, in_memory

TOLD = Told(heading="a word")
BROKEN = "database disk image is malformed"
ROWS = chain_of(*[("r1", TOLD)] * (2 * AT_ONCE + 8), from_day=0)
WHOLE = extent(0)
MOST_UNREAD = 10_000
"""So many lost entries in a row are passed over."""


class FakeDamagedFile:
    """A connection to a file of which some entries cannot be read, or some questions not be answered.

    A disk loses whole pages, and with them some neighbours at once; here each entry is lost by itself.
    """

    def __init__(self, connection: Connection, lost: Collection[int] = (), refused: Sequence[str] = ()) -> None:
        self._connection = connection
        self._lost = sorted(lost)
        self._refused = refused

    def __getattr__(self, name: str) -> Any:
        return getattr(self._connection, name)

    def exec_driver_sql(self, question: str, values: tuple[Any, ...] = ()) -> Any:
        """The answer of the tables, unless it would need what is lost."""
        if any(word in question for word in self._refused) or ("typeof" in question and self._needs_lost(values)):
            raise DatabaseError(question, values, sqlite3.DatabaseError(BROKEN))
        return self._connection.exec_driver_sql(question, values)

    def _needs_lost(self, values: tuple[int, ...]) -> bool:
        first, last, size = values
        next_lost = self._lost[index] if (index := bisect_left(self._lost, first)) < len(self._lost) else last + 1
        if not first < next_lost <= last:
            return next_lost == first
        counted = "SELECT count(*) FROM entries WHERE sequence BETWEEN ? AND ?"
        return int(self._connection.exec_driver_sql(counted, (first, next_lost - 1)).scalar_one()) < size


def damaged(connection: Connection, lost: Collection[int] = (), refused: Sequence[str] = ()) -> Connection:
    """The connection with this damage."""
    return cast("Connection", FakeDamagedFile(connection, lost, refused))


def told(faults: Sequence[ChainFault]) -> list[tuple[int, str]]:
    """The faults in words, each with its entry; without the triggers, which these tables lack."""
    return [(fault.sequence, fault.what) for fault in faults if not fault.what.startswith("the trigger ")]


def unread(first: int, last: int) -> tuple[int, str]:
    """The fault of entries that cannot be read."""
    which = f"entry {first}" if first == last else f"entries {first} to {last}"
    return first, f"{which} cannot be read: {BROKEN}"


@pytest.mark.parametrize(
    "stretches",
    [
        [],
        [(1, 1)],
        [(2, 2)],
        [(1, 3), (5, 5)],
        [(AT_ONCE, AT_ONCE + 1)],
        [(4, 6), (8, 9), (300, 300), (len(ROWS), len(ROWS))],
        [(1, len(ROWS))],
    ],
)
def test_every_entry_beside_the_damage_is_read(stretches: list[tuple[int, int]]) -> None:
    """What cannot be read is named in stretches; all before, between and behind them is there."""
    lost = {number for first, last in stretches for number in range(first, last + 1)}
    with in_memory(ROWS) as connection:
        rows, damage = survey_chain(damaged(connection, lost), WHOLE)

    assert [row for row in ROWS if row.sequence not in lost] == rows
    assert [unread(*stretch) for stretch in stretches] == told(damage.faults)
    assert frozenset(lost) == damage.unread
    assert [] == faults_of(rows, damage)


def test_damage_is_named_by_the_number_in_its_chain() -> None:
    """Wherever the chain lies in the file; neighbours that are lost for another reason are another stretch."""
    rows = chain_of(*[("r1", TOLD)] * 4, number=2)
    with in_memory(rows) as connection:
        connection.exec_driver_sql("UPDATE entries SET at = x'00' WHERE sequence = ?", (lies_at(2, 3),))
        lost = [lies_at(2, number) for number in (1, 2)]
        found, damage = survey_chain(damaged(connection, lost), extent(2))

    assert rows[3:] == found
    assert [(3, "entry 3 cannot be read: its at is of type blob, not text"), unread(1, 2)] == told(damage.faults)
    assert {lies_at(2, number) for number in (1, 2, 3)} == damage.unread


@pytest.mark.parametrize(("lost", "goes_on"), [(MOST_UNREAD, True), (MOST_UNREAD + 1, False)])
def test_so_many_lost_entries_are_the_rest_of_the_book(lost: int, *, goes_on: bool) -> None:
    """Ten thousand in a row are passed over; with one more nothing is looked for behind them."""
    rows = chain_of(*[("r1", TOLD)] * 4)
    behind = 4 + lost
    with in_memory(rows) as connection:
        connection.exec_driver_sql(f"UPDATE entries SET sequence = {behind} WHERE sequence = 4")  # noqa: S608 - ours
        found, damage = survey_chain(damaged(connection, {2, *range(4, behind)}), WHOLE)

    end = f"from entry {behind - 1} on nothing can be read, and where the book ends is not known"
    assert ([1, 3, behind] if goes_on else [1, 3]) == [row.sequence for row in found]
    expected = [] if goes_on else [(behind - 1, end)]
    assert [*expected, unread(2, 2), unread(4, 3 + MOST_UNREAD)] == told(damage.faults)


def test_a_book_whose_beginning_is_lost_is_read() -> None:
    """Ten thousand entries are passed over at its beginning too."""
    with in_memory(ROWS[:1]) as connection:
        connection.exec_driver_sql(f"UPDATE entries SET sequence = {MOST_UNREAD + 1}")  # noqa: S608 - ours
        found, damage = survey_chain(damaged(connection, range(1, MOST_UNREAD + 1)), WHOLE)

    assert [MOST_UNREAD + 1] == [row.sequence for row in found]
    assert [unread(1, MOST_UNREAD)] == told(damage.faults)


def test_an_end_that_no_way_leads_to_is_a_fault() -> None:
    """Where neither table nor index tells the last entry, what lies behind the first damage is not known."""
    for present, lost in ((3, 2), (3, 1), (0, 1)):
        with in_memory(ROWS[:present]) as connection:
            rows, damage = survey_chain(damaged(connection, {lost}, ["max(sequence)"]), WHOLE)

        end = f"from entry {lost} on nothing can be read, and where the book ends is not known"
        assert ROWS[: lost - 1] == rows
        assert [(lost, end)] == told(damage.faults)
        assert frozenset() == damage.unread
    with in_memory() as connection:
        _, damage = survey_chain(damaged(connection, {1}), WHOLE)
    assert [(1, "from entry 1 on nothing can be read, and where the book ends is not known")] == told(damage.faults)


@pytest.mark.parametrize("way", WAYS)
def test_any_way_into_the_table_tells_its_end(way: str) -> None:
    """One that is whole is enough: lost entries are counted up to the last one that it knows."""
    refused = [f"max(sequence) FROM entries {other}" for other in WAYS if other != way]
    with in_memory() as connection:
        in_first_format(connection, ROWS[:5])  # since the second the index of kinds has the notes alone
        _, damage = survey_chain(damaged(connection, {4, 5}, refused), WHOLE)

    assert [unread(4, 5)] == told(damage.faults)


def test_a_survey_begins_where_it_is_told_to() -> None:
    """From a later entry on, or before the first where somebody put one there; also where that cannot be asked."""
    with in_memory(ROWS[:4]) as connection:
        for first in (1, 2, 3):
            assert ROWS[first - 1 : 4] == survey_chain(connection, (first, 4))[0]
        assert ROWS[:4] == survey_chain(damaged(connection, (), ["min(sequence)"]), WHOLE)[0]
        connection.exec_driver_sql("UPDATE entries SET sequence = -7 WHERE sequence = 3")
        assert [-7, 1, 2, 4] == [row.sequence for row in survey_chain(connection, WHOLE)[0]]
        assert [1, 2, 4] == [row.sequence for row in survey_chain(damaged(connection, (), ["min("]), WHOLE)[0]]
        connection.exec_driver_sql("DROP TABLE entries")
        rows, damage = survey_chain(connection, WHOLE)

    assert [] == rows
    assert [(0, "no entry can be read: no such table: entries")] == told(damage.faults)


def test_an_entry_before_the_first_is_no_hidden_one() -> None:
    """Also where the only chain lies behind that of this file."""
    with in_memory(chain_of(("r1", TOLD), ("r1", TOLD), number=1)) as connection:
        connection.exec_driver_sql("UPDATE entries SET sequence = -7 WHERE sequence = ?", (lies_at(1, 2),))
        rows, _ = survey(connection)

    assert [(0, -7), (1, 1)] == [(row.chain, row.sequence) for row in rows]


def whole(connection: Connection) -> list[tuple[int, str]]:
    """Every fault of the file."""
    return told(survey(connection)[1].faults)


@pytest.mark.parametrize("version", range(5))
def test_a_format_that_there_is_not_is_a_fault(version: int) -> None:
    """There are three; the tables of the second and the third are the same."""
    with in_memory(ROWS[:2]) as connection:
        connection.exec_driver_sql(f"PRAGMA user_version = {version}")
        faults = whole(connection)

    said = (0, f"the book says that its format is {version}, which there is not")
    assert ([said] if version in (0, 4) else []) == [fault for fault in faults if "format" in fault[1]]
    assert ((0, "the table facts is none that this tool makes") in faults) == (version == 1)


def test_what_cannot_be_asked_of_a_file_is_a_fault() -> None:
    """Its format, its tables, its own check, its lines: each is named, and the entries are read."""
    with in_memory(ROWS[:2]) as connection:
        for refused, said in (
            ("user_version", "the book says that its format is 0, which there is not"),
            ("sqlite_master", f"the tables cannot be listed: {BROKEN}"),
            ("integrity_check", f"the file is damaged: {BROKEN}"),
            ("FROM facts", f"the list of what entries say cannot be read: {BROKEN}"),
        ):
            rows, damage = survey(damaged(connection, (), [refused]))
            assert [(0, said)] == told(damage.faults)
            assert ROWS[:2] == rows
        assert [] == whole(connection)


def in_first_format(connection: Connection, rows: Sequence[Row]) -> None:
    """Make the tables of the first format, with these rows as they are."""
    for table in ("entries", "facts"):
        connection.exec_driver_sql(f"DROP TABLE {table}")
    create_tables(connection, APPLICATION_ID, 1)
    connection.execute(insert(entries), [row.fields for row in rows])
    connection.exec_driver_sql("DROP TRIGGER entries_no_update")


def test_the_first_format_packs_nothing() -> None:
    """Such a book is sound without lines; in it a payload or a digest as bytes is of another type."""
    with in_memory() as connection:
        in_first_format(connection, ROWS[:3])
        assert [] == whole(connection)
        connection.exec_driver_sql("UPDATE entries SET payload = x'7b7d' WHERE sequence = 2")
        rows, damage = survey_chain(connection, WHOLE)
        connection.exec_driver_sql("PRAGMA user_version = 2")
        _, packed = survey_chain(connection, WHOLE)

    assert [1, 3] == [row.sequence for row in rows]
    assert [(2, "entry 2 cannot be read: its payload is of type blob, not text")] == told(damage.faults)
    assert packed.faults[0].what.startswith("entry 2 cannot be read: its payload is damaged")


def test_faults_of_several_chains_name_their_chain() -> None:
    """Each chain is checked by itself, with what is lost of it alone; of one chain only the entry is named."""
    one, other = chain_of(*[("r1", TOLD)] * 3), chain_of(("r2", TOLD), ("r2", TOLD), number=1)
    lost = Damage(unread=frozenset({2}))
    other_lost = Damage(unread=frozenset({lies_at(1, 1), lies_at(1, 2)}))
    gap = "entry 2 is missing or moved; entry 3 stands in its place"
    name = one[0].digest[:8]

    assert [(2, gap)] == told(faults_of([one[0], one[2]], Damage()))
    assert [] == told(faults_of([one[0], one[2]], lost)) == told(faults_of([one[0], one[2], *other], lost))
    assert [(2, f"chain {name}: {gap}")] == told(faults_of([one[0], one[2], *other], other_lost))
    assert [] == faults_of(one[1:], Damage(), (1, one[0].digest))
    assert [(2, "entry 2 does not follow the entry before it")] == told(faults_of(one[1:], Damage(), (1, "x")))
