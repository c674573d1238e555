"""Whether the index of the runs has every entry that the table has, found out once a process and no oftener.

An entry that the index lost would be missing from what a check is held against, and nobody would see it. So a run's
entries are read from the table, from the first to the last place that the index knows. Where the runs of many printers
lie beside each other, as those of one night do, that reads the entries of all printers for each of them. Before it has
read more than the whole table so, the table is compared with the index: entry by entry, once, and later what was added.
What was compared stays so, for entries are only ever appended; then the index alone says where a run's entries lie.
"""

from collections.abc import Callable, Iterable
from contextlib import closing
from threading import Lock

from sqlalchemy import Connection

from commission.records.facts import by_driver
from commission.records.numbering import extent, lies_at

_NEWEST = "SELECT max(sequence) FROM entries NOT INDEXED WHERE sequence BETWEEN ? AND ?"
_NOT_IN_THE_INDEX = (
    "SELECT 1 FROM entries AS there NOT INDEXED WHERE there.sequence BETWEEN ? AND ? AND NOT EXISTS "
    "(SELECT 1 FROM entries AS known INDEXED BY entries_by_run "
    "WHERE known.run = there.run AND known.sequence = there.sequence) LIMIT 1"
)


class IndexInStep:
    """What is known of one book's index. Several threads may ask."""

    def __init__(self) -> None:
        self._compared: dict[int, int] = {}
        self._read = 0
        self._lost = False
        self._one_at_a_time = Lock()

    def has_all(
        self, connection: Connection, chains: Iterable[int], spans: Callable[[], Iterable[tuple[int, int]]]
    ) -> bool:
        """Whether every entry of these chains that this connection sees is known to be in the index.

        Args:
            connection: to the book.
            chains: as they lie in the file.
            spans: tells what who asks has to read of the table where it is not known: each from the first to the last
                place; a last one of 0 is the whole table.
        """
        with self._one_at_a_time, closing(by_driver(connection)) as cursor:
            if self._lost:
                return False
            ends = {chain: cursor.execute(_NEWEST, extent(chain)).fetchone()[0] or 0 for chain in chains}
            left = [(chain, self._compared.get(chain, lies_at(chain, 0)) + 1, end) for chain, end in ends.items()]
            left = [(chain, first, end) for chain, first, end in left if first <= end]
            to_compare = sum(end - first + 1 for _, first, end in left)
            if self._read < to_compare:
                self._read += sum(last - first + 1 if last else to_compare for first, last in spans())
            if self._read < to_compare:
                return False
            for chain, first, end in left:
                if cursor.execute(_NOT_IN_THE_INDEX, (first, end)).fetchone():
                    self._lost = True
                    return False
                self._compared[chain] = end
            return True
