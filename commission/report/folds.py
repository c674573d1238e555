"""The lines of the wire as they are printed: each distinct exchange once, the rest counted; nothing is dropped unsaid.

Every byte stays in the book. What is folded is told with the time of its like on the paper, how often it came, and how
many bytes it is. What came for the first time in a step is never folded away.
"""

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby

from commission.judge.wording import counted
from commission.report.document import ConsoleLine
from commission.report.wire import WireLine

MOST_LINES = 1200
"""Lines printed; beyond it the middle is folded."""
SHORT_LINES = 3
"""An exchange of so many lines is printed again rather than referred to."""
FEWEST_TOGETHER = 3
"""So many changes between exchanges that stand in the step already are one note."""
MOST_NAMED = 6
"""Exchanges named in such a note."""

_Block = list[WireLine]
_Same = tuple[tuple[bool, str], ...]
_FRAME = re.compile(r"^N\d+ ?(.*)\*\d+$")
_Told = tuple[ConsoleLine, int]
"""A line of the paper, and the bytes it stands for."""


@dataclass(frozen=True)
class _Exchange:
    """Equal exchanges in a row.

    Attributes:
        same: their lines, whatever number and checksum a frame carries.
        blocks: each of them.
        before: when one like them was printed; None for the first of its kind.
    """

    same: _Same
    blocks: tuple[_Block, ...]
    before: datetime | None

    @property
    def command(self) -> str:
        """What was sent; empty for what the printer said unasked."""
        return self.same[0][1] if self.same[0][0] else ""

    @property
    def size(self) -> int:
        """Bytes of all of them."""
        return sum(line.size for block in self.blocks for line in block)


def console_lines(lines: Sequence[WireLine]) -> tuple[ConsoleLine, ...]:
    """The lines as they are printed; the middle of a very long run is folded."""
    told: list[_Told] = []
    printed: dict[_Same, datetime] = {}
    for (_, about), together in groupby(lines, key=lambda line: line.about):
        told.append((ConsoleLine("", "step", about), 0))
        for run in _runs(_equal(list(together), printed)):
            told += _together(run) if len(run) >= FEWEST_TOGETHER else [t for each in run for t in _one(each)]
    return _bounded(told)


def _equal(lines: Sequence[WireLine], printed: dict[_Same, datetime]) -> Iterator[_Exchange]:
    for same, alike in groupby(_blocks(lines), key=_sameness):
        blocks = tuple(alike)
        yield _Exchange(same, blocks, printed.get(same))
        printed.setdefault(same, blocks[0][0].at)


def _blocks(lines: Sequence[WireLine]) -> Iterator[_Block]:
    """A command with all lines up to the next one."""
    block: _Block = []
    for line in lines:
        if line.sent and block:
            yield block
            block = []
        block.append(line)
    if block:
        yield block


def _sameness(block: _Block) -> _Same:
    return tuple((line.sent, _FRAME.sub(r"\1", line.text) if line.sent else line.text) for line in block)


def _runs(exchanges: Iterable[_Exchange]) -> Iterator[list[_Exchange]]:
    """Exchanges in a row that all stand in this step already; every other one by itself."""
    run: list[_Exchange] = []
    told: set[_Same] = set()
    for each in exchanges:
        if each.same in told:
            run.append(each)
            continue
        if run:
            yield run
            run = []
        yield [each]
        told.add(each.same)
    if run:
        yield run


def _together(run: Sequence[_Exchange]) -> list[_Told]:
    """One note for many exchanges: which, answered how, and how often each."""
    counts: Counter[tuple[str, datetime | None]] = Counter()
    for each in run:
        counts[each.command or "said unasked", each.before] += len(each.blocks)
    named = [
        f"{command} as at {_clock(before)} {counted(count, 'time')}" if before else command
        for (command, before), count in counts.most_common(MOST_NAMED)
    ]
    more = len(counts) - len(named)
    named += [f"{more} others"] if more else []
    until = _clock(run[-1].blocks[-1][0].at)
    said = f"{counts.total()} exchanges more, until {until} ({', '.join(named)})"
    return [_note(run[0].blocks[0][0].at, said, sum(each.size for each in run))]


def _one(exchange: _Exchange) -> Iterator[_Told]:
    """The lines that are shown, and a note for those folded."""
    first, *again = exchange.blocks
    whole = exchange.before is None or len(first) <= SHORT_LINES
    shown = first if whole else first[: int(first[0].sent)]
    yield from ((_shown(line), line.size) for line in shown)
    folded = [line for block in (first[len(shown) :], *again) for line in block]
    if not folded:
        return
    said = []
    if exchange.before is not None and not whole:
        said.append(f"the same {len(first) - len(shown)} lines as at {_clock(exchange.before)}")
    if again:
        times = "once more" if len(again) == 1 else f"{len(again)} times more"
        said.append(f"{'all of it' if said else 'the same'} {times}, until {_clock(again[-1][0].at)}")
    yield _note(folded[0].at, "; ".join(said), sum(line.size for line in folded))


def _note(at: datetime, said: str, size: int) -> _Told:
    return ConsoleLine(_clock(at), "note", f"{said}: {size} bytes folded, kept in the book"), size


def _shown(line: WireLine) -> ConsoleLine:
    return ConsoleLine(_clock(line.at), "sent" if line.sent else "received", line.text)


def _bounded(told: Sequence[_Told]) -> tuple[ConsoleLine, ...]:
    if len(told) <= MOST_LINES:
        return tuple(line for line, _ in told)
    head, tail = MOST_LINES * 3 // 4, MOST_LINES // 4
    folded = told[head:-tail]
    size = sum(each for _, each in folded)
    note = f"{len(folded)} lines of this appendix folded here, {size} bytes, kept in the book"
    shown = [line for line, _ in told]
    return (*shown[:head], ConsoleLine(folded[0][0].at, "note", note), *shown[-tail:])


def _clock(at: datetime) -> str:
    return at.strftime("%H:%M:%S.") + f"{at.microsecond // 1000:03d}"
