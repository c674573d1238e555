"""What a sync has seen of the shared book, kept in a file beside the book that was synced.

By it a chain that was cut off there is found, clocks that are far off are told where runs are listed, and a mirror says
how old it is. It is no part of the record: without it the next sync keeps it anew.
"""

import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from commission.command_lines import SYNC
from commission.dialect.sanitise import clean_text
from commission.files.kept import keep_whole
from commission.records.carrying import End
from commission.records.chain import Row, canonical
from commission.records.numbering import short
from commission.records.shared.clocks import ClockCheck

FORMAT = 1


@dataclass(frozen=True)
class Seen:
    """The shared book as it was seen last.

    Attributes:
        shared: its address, without a password.
        at: when, by this computer's clock, ISO 8601.
        ends: how far it had each chain.
        clocks: the newest that it had of each bench.
        history: what the clock of each bench was found to be over the times, see `kept_history`.
        told: the number of the last clock check there that is in it.
    """

    shared: str
    at: str
    ends: Mapping[str, End] = field(default_factory=dict)
    clocks: tuple[ClockCheck, ...] = ()
    history: tuple[ClockCheck, ...] = ()
    told: int = 0


def seen_file(book: Path) -> Path:
    """Where it is kept."""
    place = book.resolve()
    return place.with_name(f"{place.name}.shared")


def keep_seen(book: Path, seen: Seen) -> None:
    """Keep it, whole or not at all.

    Raises:
        OSError: it cannot be written.
    """
    told = {"format": FORMAT, "shared": seen.shared, "at": seen.at}
    ends = {origin: [end.entries, end.digest] for origin, end in seen.ends.items()}
    clocks, history = ([asdict(each) for each in checks] for checks in (seen.clocks, seen.history))
    checks = {"clocks": clocks, "history": history, "told": seen.told}
    keep_whole(seen_file(book), f"{canonical({**told, 'ends': ends, **checks})}\n")


def seen_before(book: Path) -> Seen | None:
    """What is kept; None where there is nothing, or nothing that can be read."""
    try:
        told = json.loads(seen_file(book).read_bytes())
        if told["format"] != FORMAT:
            return None
        ends = {str(origin): End(int(number), str(digest)) for origin, (number, digest) in told["ends"].items()}
        # a file of an earlier release has no history yet: the next sync fetches it
        clocks, history = (tuple(map(_check, told.get(name, ()))) for name in ("clocks", "history"))
        return Seen(str(told["shared"]), str(told["at"]), ends, clocks, history, int(told.get("told", 0)))
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None


def _check(one: Mapping[str, Any]) -> ClockCheck:
    return ClockCheck(str(one["origin"]), str(one["computer"]), int(one["ahead_ms"]), int(one["within_ms"]), one["at"])


def furthest(seen: Seen | None, shared: str, ends: Mapping[str, End]) -> dict[str, End]:
    """How far the shared book was ever seen to have each chain: what it lost is told until it has it again.

    Args:
        seen: as it was seen last.
        shared: its address, as it is shown.
        ends: how far it has each chain now.
    """
    before = {} if seen is None or seen.shared != shared else seen.ends
    lost = {origin: end for origin, end in before.items() if origin not in ends or end.entries > ends[origin].entries}
    return {**ends, **lost}


def cut_off(seen: Seen | None, shared: str, ends: Mapping[str, End]) -> list[str]:
    """The chains of which the shared book has less than it was seen to have, in sentences.

    Args:
        seen: as it was seen last.
        shared: its address, as it is shown.
        ends: how far it has each chain now.
    """
    if seen is None or seen.shared != shared:
        return []
    when = clean_text(seen.at[:16].replace("T", " "))
    return [
        f"The shared book had chain {short(origin)} up to entry {end.entries} on {when}, and has it up to entry "
        f"{ends[origin].entries if origin in ends else 0} now: its end was cut off, or an older copy was put back."
        for origin, end in seen.ends.items()
        if end.entries > (ends[origin].entries if origin in ends else 0)
    ]


def cut_off_here(seen: Seen | None, rows: Iterable[Row]) -> list[str]:
    """The chains of which a book has less than the shared one was seen to have, in sentences.

    Args:
        seen: the shared book as it was seen last.
        rows: all that can be read of the book, chain by chain and in order.
    """
    if seen is None:
        return []
    origins: dict[int, str] = {}
    ends: dict[str, int] = {}
    for row in rows:
        origin = origins.setdefault(row.chain, row.digest)
        ends[origin] = max(row.sequence, ends.get(origin, row.sequence))
    when = clean_text(seen.at[:16].replace("T", " "))
    return [
        f"The shared book had chain {short(origin)} up to entry {end.entries} on {when}, and this book has it up to "
        f"entry {ends.get(origin, 0)}: its end was cut off here, or an older copy was put back. `{SYNC}` "
        "brings it back, or says why not."
        for origin, end in seen.ends.items()
        if end.entries > ends.get(origin, 0)
    ]
