"""Rows of the database as rows of the chain: what is asked of the end of one, and of what lies there strangely."""

import pytest

from commission.evidence.runs import Note
from commission.evidence.talk import Told
from commission.records.chain import End, Row
from commission.records.numbering import lies_at
from commission.records.rows import digest_at, end_of, newest_mark, noted_in
from commission.records.tables import BookError
from tests.records.memory import DAY, chain_of, in_memory
from tests.support.made import begun, ended, made

RUN, NOTES = "bench-3/2031-03-14/1", "bench-3/notes"
NOTE = made(Note, tag_of_printer="bench-3", what="remark")
ROWS = chain_of((RUN, begun(RUN)), (NOTES, NOTE), (RUN, ended()), (RUN, Told(heading="long " * 200)))
OTHER = chain_of((RUN, begun(RUN)), (NOTES, NOTE), number=1)


def test_an_end_is_known_without_unpacking() -> None:
    """Number and digest are all that the next entry needs: damage of the last payload holds no bench up."""
    with in_memory(ROWS, OTHER) as connection:
        connection.exec_driver_sql("UPDATE entries SET payload = x'00' WHERE sequence = 4")
        ends = [end_of(connection, chain) for chain in (0, 1, 2)]

    assert [End(4, ROWS[3].digest), End(2, OTHER[1].digest), None] == ends
    assert [End, End, type(None)] == [type(end) for end in ends]


@pytest.mark.parametrize(
    "change",
    ["run = x'31'", "kind = x'31'", "at = x'31'", "elapsed_us = 1.5", "raw = 'text'"],
)
def test_an_end_of_another_type_is_refused(change: str) -> None:
    """What this tool would never have written there is named before anything is written behind it."""
    with in_memory(ROWS) as connection:
        connection.exec_driver_sql(f"UPDATE entries SET {change} WHERE sequence = 4")  # noqa: S608 - our own words
        with pytest.raises(BookError, match=f"Entry 4 of .*: its {change.split(maxsplit=1)[0]} is of another type"):
            end_of(connection, 0)


@pytest.mark.parametrize(
    ("change", "digest"),
    [
        ("previous = hex(previous)", ROWS[3].digest),
        ("digest = lower(hex(digest))", ROWS[3].digest),
        ("digest = substr(digest, 2)", ""),
        ("digest = 'short'", "short"),
    ],
)
def test_an_end_that_lies_otherwise_is_read_whole(change: str, digest: str) -> None:
    """Digests lay there as text in the first format; what is none is the chain's to name."""
    with in_memory(ROWS) as connection:
        connection.exec_driver_sql(f"UPDATE entries SET {change} WHERE sequence = 4")  # noqa: S608 - our own words
        end = end_of(connection, 0)

    assert isinstance(end, Row)
    assert (4, digest) == (end.sequence, end.digest)


def test_digests_and_marks_are_told_where_they_lie() -> None:
    """Of each chain its own; the newest mark of a run is the last that begins or ends it there."""
    with in_memory(ROWS, OTHER) as connection:
        digests = [digest_at(connection, lies_at(chain, number)) for chain, number in ((0, 2), (1, 2), (1, 3))]
        marks = [newest_mark(connection, *asked) for asked in ((RUN, 0), (RUN, 1), (RUN, 2), (NOTES, 0))]

    assert [ROWS[1].digest, OTHER[1].digest, None] == digests
    assert ["run_ended", "run_started", None, None] == marks


@pytest.mark.parametrize("indexed", [True, False])
def test_notes_are_told_from_where_they_are_known(*, indexed: bool) -> None:
    """Those of one chain behind an entry; without an index what begins and ends runs comes too."""
    with in_memory(ROWS, OTHER) as connection:
        asked = [list(noted_in(connection, 0, behind, indexed=indexed)) for behind in (0, 1, 2, 3)]
        (last,) = noted_in(connection, 1, 1, indexed=indexed)

    notes = [[2], [2], [], []] if indexed else [[1, 2, 3], [2, 3], [3], []]
    assert notes == [[where for where, _ in found] for found in asked]
    assert (lies_at(1, 2), DAY.format(2)) == last
