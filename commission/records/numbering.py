"""The chains of a book: where their entries lie, in which order they are read, and what their runs are called.

In the file every entry has one number, made of the number of its chain (in this file alone) and of its own number in
that chain. So the first chain lies as it always did, and every further one far behind it.

They are read in one order over all chains, which depends on what the chains hold and on nothing else: not on which
was joined first. Within a chain the order is that of its entries. Between chains it goes by the clock of each bench, at
the beginning and the end of each run and at each note: the turns. A clock that was set back brings no entry before an
earlier one of its chain; one that ran ahead keeps its chain's next turns as late, until the time is reached.

Two old books may both have a run of the same number. In a book that holds both, each such run is called by its number
and the first digits of its chain's origin: `bench-3/2031-03-14/1@1f2e3d4c`.
"""

from bisect import bisect_right
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from threading import Lock

from commission.evidence.entry import moment
from commission.evidence.place import ordered, parts
from commission.records.chain import Row

CHAIN_BITS = 40
_NUMBER = (1 << CHAIN_BITS) - 1
SHORT = 8
"""So many digits of its origin are a chain's name: the digest of its first entry."""


def lies_at(chain: int, sequence: int) -> int:
    """The number under which an entry lies in the file."""
    return chain << CHAIN_BITS | sequence


def split(lies: int) -> tuple[int, int]:
    """Chain and number in the chain, from the number under which an entry lies; one below 1 was never ours."""
    return (lies >> CHAIN_BITS, lies & _NUMBER) if lies > 0 else (0, lies)


def extent(chain: int) -> tuple[int, int]:
    """The first and the last number under which an entry of that chain can lie."""
    return lies_at(chain, 1), lies_at(chain, _NUMBER)


def lies(row: Row) -> int:
    """The same of a row."""
    return lies_at(row.chain, row.sequence)


def short(origin: str) -> str:
    """The name of a chain, as it is printed."""
    return origin[:SHORT]


@dataclass
class _Turns:
    """The turns of one chain: numbers of its entries, in order, each with its time in microseconds."""

    numbers: list[int] = field(default_factory=list)
    times_us: list[int] = field(default_factory=list)

    def take(self, number: int, at: str) -> None:
        if self.numbers and number <= self.numbers[-1]:
            return
        before = self.times_us[-1] if self.times_us else 1
        # the time first: another thread may look a number up meanwhile
        self.times_us.append(max(before + 1, round(moment(at).timestamp() * 1e6)))
        self.numbers.append(number)

    def at(self, number: int) -> int:
        index = bisect_right(self.numbers, number) - 1
        return self.times_us[index] if index >= 0 else 1


class Numbering:
    """The order of the entries of a book.

    Args:
        origins: the digest of the first entry of each chain, by the number of the chain in the file.
        twice: numbers of runs that more than one chain has.
    """

    def __init__(self, origins: Mapping[int, str] | None = None, twice: Collection[str] = ()) -> None:
        self.origins = dict(origins or {})
        self._by_rank = sorted(self.origins, key=lambda chain: self.origins[chain])
        self._rank = {chain: rank for rank, chain in enumerate(self._by_rank)}
        self._turns = {chain: _Turns() for chain in self.origins}
        self._taking = Lock()
        self._names = {
            (chain, run): f"{run}@{short(origin)}" for chain, origin in self.origins.items() for run in twice
        }
        self._plain = {name: run for (_, run), name in self._names.items()}

    @property
    def single(self) -> bool:
        """Whether there is one chain at most, so that its own numbers are the order."""
        return set(self.origins) <= {0}

    @property
    def chains(self) -> list[int]:
        """The chains, as they lie in the file."""
        return sorted(self.origins) or [0]

    def seen(self) -> int:
        """How many turns are known."""
        return sum(len(turns.numbers) for turns in self._turns.values())

    def last_turn(self, chain: int) -> int:
        """Number of the entry of the chain's last known turn; 0 for none."""
        numbers = self._turns[chain].numbers
        return numbers[-1] if numbers else 0

    def take(self, turns: Iterable[tuple[int, str]]) -> None:
        """Take turns that came since: where each lies, and its time; in order."""
        with self._taking:
            for where, at in turns:
                chain, number = split(where)
                if chain in self._turns:
                    self._turns[chain].take(number, at)

    def place(self, where: int) -> int:
        """The place of the entry that lies there."""
        if self.single:
            return where
        chain, number = split(where)
        turns = self._turns.get(chain)
        return ordered(1 if turns is None else turns.at(number), number, self._rank.get(chain, 0))

    def lies(self, place: int) -> int:
        """Where the entry of that place lies."""
        if self.single:
            return place
        number, rank = parts(place)
        return lies_at(self._by_rank[rank], number)

    def name(self, where: int, run: str) -> str:
        """What the run is called to which the entry belongs that lies there."""
        return self._names.get((split(where)[0], run), run) if self._names else run

    def plain(self, name: str) -> str:
        """The number of a run as its entries have it."""
        return self._plain.get(name, name)
