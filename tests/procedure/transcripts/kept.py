"""The kept files: which runs there are, and each drawn as text."""

import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import chain, groupby
from pathlib import Path

from tests.procedure.transcripts.device_runs import DEVICE_RUNS
from tests.procedure.transcripts.hands_runs import HANDS_RUNS
from tests.procedure.transcripts.meeting_runs import MEETING_RUNS
from tests.procedure.transcripts.print_runs import PRINT_RUNS
from tests.procedure.transcripts.recorder import Recorder, Scene
from tests.procedure.transcripts.settings_runs import SETTINGS_RUNS
from tests.procedure.transcripts.spoilt_runs import SPOILT_RUNS
from tests.procedure.transcripts.wording import mark

FOLDER = Path(__file__).parent / "kept"
RUNS: Mapping[str, Scene] = {
    **MEETING_RUNS,
    **SPOILT_RUNS,
    **PRINT_RUNS,
    **DEVICE_RUNS,
    **HANDS_RUNS,
    **SETTINGS_RUNS,
}
"""The quick ones first: a difference shows soon."""


def kept(name: str) -> Path:
    """Where the transcript of a run is kept."""
    return FOLDER / f"{name.replace(',', '').replace(' ', '-')}.txt"


OTHERWISE = "--- otherwise: "
MARKED = re.compile(r" \[[0-9a-f]{6}\]$")
IN_FULL = 6
"""After another answer so many requests stand in full; of the rest only what is put into the record, and marks."""
ON_RECORD = ("Establish", "Punch", "Returns", "Ends", "->", "then")


class _Once:
    """Writes each block in full where it comes first, and by its first line and a mark where it comes again."""

    def __init__(self) -> None:
        self._seen: set[tuple[str, ...]] = set()

    def lines(self, block: tuple[str, ...]) -> list[str]:
        """The lines of a block."""
        rest = block[1:]
        if len(rest) < 2:
            return list(block)
        head = _headed(block)
        if block in self._seen:
            return [head]
        self._seen.add(block)
        return [head, *rest]


def drawn(name: str) -> str:
    """The transcript of a run as it is now: the usual way, then with each answer given otherwise."""
    lines = [line for section in _sections(name, RUNS[name].recorded(), one_in=1) for line in section]
    return "\n".join(lines) + "\n"


def compared(name: str, one_in: int) -> tuple[list[str], list[str]]:
    """The kept transcript and what the run is now: the usual run, and one in so many of those with another answer.

    Of fewer than all, the blocks stand by their first lines, with the mark of what each says, and so do those that are
    kept: which of them comes first, and in full, depends on all that are before it.
    """
    before = kept(name).read_text(encoding="utf-8").splitlines()
    if one_in == 1:
        return before, drawn(name).splitlines()
    usual = RUNS[name].recorded()
    now = [_outline(section) for section in _sections(name, usual, one_in)]
    there = [_outline(section) for section in _split(before)]
    of_these = [there[0], *there[1::one_in]]
    return (
        [f"{len(there)} runs", *chain(*of_these)],
        [f"{1 + len(usual.others)} runs", *chain(*now)],
    )


def _sections(name: str, usual: Recorder, one_in: int) -> Iterator[list[str]]:
    """The usual run, then one in so many of those in which one answer is given otherwise."""
    once = _Once()
    yield _stripped([f"{name}: the usual run", "", *_in_full(once, usual.blocks)])
    for other in usual.others[::one_in]:
        run = RUNS[name].recorded(other)
        apart = _apart(run, usual)
        head = ["", f"{OTHERWISE}{run.blocks[run.deviated_at][0]} -> {other.name}", ""]
        yield _stripped([*head, *_in_full(once, apart[:IN_FULL]), *_in_short(apart[IN_FULL:])])


def _split(lines: Sequence[str]) -> list[list[str]]:
    """A kept transcript in its sections."""
    parts: list[list[str]] = [[]]
    for line in lines:
        if line.startswith(OTHERWISE):
            parts.append([])
        parts[-1].append(line)
    return parts


def _stripped(lines: Sequence[str]) -> list[str]:
    return [line.rstrip() for line in lines]


def _outline(section: Sequence[str]) -> list[str]:
    """The lines of a section without those that a mark stands for, and without empty ones."""
    told: list[str] = []
    marked = False
    for line in filter(None, section):
        if not line.startswith(" "):
            marked = MARKED.search(line) is not None
        elif marked:
            continue
        told.append(line)
    return told


def _headed(block: tuple[str, ...]) -> str:
    whole = "\n".join(block)
    return f"{block[0]} [{mark(whole)}]"


def _in_full(once: _Once, blocks: Sequence[tuple[str, ...]]) -> list[str]:
    return [line for block in blocks for line in once.lines(block)]


def _in_short(blocks: Sequence[tuple[str, ...]]) -> Iterator[str]:
    """What is put into the record, by first lines; what lies between, by number and mark."""
    for recorded, group in groupby(blocks, lambda block: block[0].startswith(ON_RECORD)):
        some = list(group)
        if recorded:
            yield from (_headed(block) if len(block) > 1 else block[0] for block in some)
        else:
            yield f"... {len(some)} more [{mark(repr(some))}]"


def _apart(run: Recorder, usual: Recorder) -> list[tuple[str, ...]]:
    """What differs: from the other answer to where both go on alike to the end."""
    here, there = run.blocks[run.deviated_at + 1 :], usual.blocks[run.deviated_at + 1 :]
    alike = 0
    while alike < min(len(here), len(there)) and here[-1 - alike] == there[-1 - alike]:
        alike += 1
    end = [(f"then as usual from: {here[len(here) - alike][0]} ({alike} left)",)] if alike else []
    return [*here[: len(here) - alike], *end]
