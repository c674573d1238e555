"""The kept files: which runs there are, and each drawn as text."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
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
    usual = RUNS[name].recorded()
    once = _Once()
    lines = [f"{name}: the usual run", "", *_in_full(once, usual.blocks)]
    for other in usual.others:
        run = RUNS[name].recorded(other)
        lines += ["", f"--- otherwise: {run.blocks[run.deviated_at][0]} -> {other.name}", ""]
        apart = _apart(run, usual)
        lines += [*_in_full(once, apart[:IN_FULL]), *_in_short(apart[IN_FULL:])]
    return "\n".join(line.rstrip() for line in lines) + "\n"


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
