"""Carries chains between this bench's book and the shared one, and holds the two clocks against each other."""

from dataclasses import dataclass
from pathlib import Path

from commission.clock import Clock
from commission.records.bench import kept_bench
from commission.records.carrying import Carried, End, carry
from commission.records.held import HeldBook
from commission.records.shared.address import SharedAddress
from commission.records.shared.book import SharedBook
from commission.records.shared.clocks import ClockCheck, compared, in_doubt, kept_history
from commission.records.shared.seen import Seen, cut_off, furthest, keep_seen, seen_before
from commission.records.tables import BookError


@dataclass(frozen=True)
class Synced:
    """What a sync came to.

    Attributes:
        chains: what became of each.
        lost: what the shared book no longer has of what was seen in it, in sentences.
        clocks: clocks that are far off, in sentences.
        kept_back: entries of this book that are not in the shared one, because this login may only read there.
    """

    chains: tuple[Carried, ...]
    lost: tuple[str, ...]
    clocks: tuple[str, ...]
    kept_back: int

    @property
    def refused(self) -> tuple[Carried, ...]:
        """The chains that were not carried, or not to their ends."""
        return tuple(each for each in self.chains if each.refused)

    @property
    def whole(self) -> bool:
        """Whether both have all of each other, and nothing was missing."""
        return not self.lost and not self.kept_back and not self.refused


def sync(path: Path, address: SharedAddress, clock: Clock, computer: str, *, mirror: bool = False) -> Synced:
    """Carry over what either lacks; once more changes no chain.

    Args:
        path: the book's file; begun where there is none.
        address: of the shared book.
        clock: of this bench.
        computer: its name.
        mirror: whether the file is a copy of the shared book for reading, from which nothing goes there.

    Raises:
        NotInstalled: the extra is not installed.
        SharedAway: the shared book cannot be reached, or was lost on the way; what was carried over stands.
        BookError: one of the two cannot be used.
    """
    with SharedBook(address) as shared, HeldBook(path) as held:
        gives = shared.may_write and not mirror
        if gives:
            shared.keep_clock(_clock(path, shared, clock, computer))
        before = seen_before(path)
        lost = cut_off(before, str(address), shared.ends())
        done = carry(held, shared, gives=gives)
        clocks, ends = tuple(shared.clocks()), shared.ends()
        known = furthest(before, str(address), ends)
        history, told = _history(shared, before if before and before.shared == str(address) else None)
        _keep(path, Seen(str(address), clock.now().isoformat(timespec="seconds"), known, clocks, history, told))
        kept_back = 0 if gives or mirror else sum(_lacking(end, ends.get(of)) for of, end in held.ends().items())
    return Synced(tuple(done), tuple(lost), tuple(in_doubt(clocks)), kept_back)


def _lacking(mine: End, theirs: End | None) -> int:
    return max(0, mine.entries - (0 if theirs is None else theirs.entries))


def _clock(path: Path, shared: SharedBook, clock: Clock, computer: str) -> ClockCheck:
    bench = kept_bench(path)
    return compared(clock, "" if bench is None else bench.origin, computer, shared.now)


def _history(shared: SharedBook, before: Seen | None) -> tuple[tuple[ClockCheck, ...], int]:
    """What was found of the clocks up to now, and the number of the last check in it."""
    told, history = (before.told, before.history) if before else (0, ())
    new = shared.clocks_behind(told)
    return kept_history(history, [check for _, check in new]), max((number for number, _ in new), default=told)


def _keep(path: Path, seen: Seen) -> None:
    try:
        keep_seen(path, seen)
    except OSError as error:
        raise BookError(f"What was seen of the shared book cannot be kept beside {path}: {error.strerror}.") from error
