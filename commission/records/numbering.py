"""The chains of a book: where their entries lie, in which order they are read, and what their runs are called.

In the file every entry has one number, made of the number of its chain (in this file alone) and of its own number in
that chain. So the first chain lies as it always did, and every further one far behind it.

They are read in one order over all chains, which depends on what the chains hold and on nothing else: not on which
was joined first. Within a chain the order is that of its entries. Between chains it goes by the clock of each bench, at
the beginning and the end of each run and at each note: the turns. A clock that was set back brings no entry before an
earlier one of its chain; one that ran ahead keeps its chain's next turns as late, until the time is reached. Lists of
how printers stand go by corrected times, where it is known how far a clock was off; reports never do, for their order
must not depend on who has synced.

Two old books may both have a run of the same number. In a book that holds both, each such run is called by its number
and the first digits of its chain's origin: `bench-3/2031-03-14/1@1f2e3d4c`.
"""

from collections.abc import Collection, Mapping, Sequence
from threading import Lock

from commission.evidence.place import ordered, parts
from commission.records.bench_clock import BenchClock, may_be_later
from commission.records.chain import Row
from commission.records.turns import Turns

CHAIN_BITS = 40
_NUMBER = (1 << CHAIN_BITS) - 1
SHORT = 8
"""So many digits of its origin are a chain's name: the digest of its first entry."""


def lies_at(chain: int, sequence: int) -> int:
    """The number under which an entry lies in the file."""
    return chain << CHAIN_BITS | sequence


def split(lies: int) -> tuple[int, int]:
    """Chain and number in the chain, from the number under which an entry lies; one below 1 was never ours."""
    chain = max(lies, 0) >> CHAIN_BITS
    return chain, lies - (chain << CHAIN_BITS)


def extent(chain: int) -> tuple[int, int]:
    """The first and the last number under which an entry of that chain can lie."""
    return lies_at(chain, 1), lies_at(chain, _NUMBER)


def lies(row: Row) -> int:
    """The same of a row."""
    return lies_at(row.chain, row.sequence)


def short(origin: str) -> str:
    """The name of a chain, as it is printed."""
    return origin[:SHORT]


class Numbering:
    """The order of the entries of a book.

    Args:
        origins: the digest of the first entry of each chain, by the number of the chain in the file.
        twice: numbers of runs that more than one chain has.
        clocks: those of the benches by the origins of their chains, where the order shall go by corrected times.
    """

    def __init__(
        self,
        origins: Mapping[int, str] | None = None,
        twice: Collection[str] = (),
        clocks: Mapping[str, BenchClock] | None = None,
    ) -> None:
        self.origins = dict(origins or {})
        self._by_rank = sorted(self.origins, key=lambda chain: self.origins[chain])
        self._rank = {chain: rank for rank, chain in enumerate(self._by_rank)}
        self._corrected = clocks is not None
        self._turns = {chain: Turns((clocks or {}).get(origin)) for chain, origin in self.origins.items()}
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

    def last_turn(self, chain: int) -> int:
        """Number of the entry of the chain's last known turn; 0 for none."""
        numbers = self._turns[chain].numbers
        return numbers[-1] if numbers else 0

    def take(self, chain: int, turns: Sequence[tuple[int, str]]) -> None:
        """Take turns of a chain that came since: the number of each entry, and its time; in order."""
        with self._taking:
            self._turns[chain].take(turns)

    def may_be_later(self, one: int, other: int) -> bool:
        """Whether the entry of the one place may be later than that of the other.

        Of the same chain, or where no time is corrected, it is the order of the places. Of two chains it is in doubt
        where a clock is not known, or was set at a time that is not known.
        """
        (one_chain, one_number), (other_chain, other_number) = split(self.lies(one)), split(self.lies(other))
        if one_chain == other_chain or not self._corrected:
            return one > other
        return may_be_later(
            self._turns[one_chain].possible(one_number), self._turns[other_chain].possible(other_number)
        )

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
