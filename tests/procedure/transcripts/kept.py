"""The kept files: which runs there are, and each drawn as text."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from tests.procedure.transcripts.recorder import Recorder, Run, recorded
from tests.procedure.transcripts.settings_runs import SETTINGS_RUNS
from tests.procedure.transcripts.wording import mark

FOLDER = Path(__file__).parent / "kept"
RUNS: Mapping[str, Run] = {**SETTINGS_RUNS}


def kept(name: str) -> Path:
    """Where the transcript of a run is kept."""
    return FOLDER / f"{name.replace(' ', '-')}.txt"


class _Once:
    """Writes each block in full where it comes first, and by its first line and a mark where it comes again."""

    def __init__(self) -> None:
        self._seen: set[tuple[str, ...]] = set()

    def lines(self, block: tuple[str, ...]) -> list[str]:
        """The lines of a block."""
        first, *rest = block
        if len(rest) < 2:
            return list(block)
        whole = "\n".join(block)
        head = f"{first} [{mark(whole)}]"
        if block in self._seen:
            return [head]
        self._seen.add(block)
        return [head, *rest]


def drawn(name: str) -> str:
    """The transcript of a run as it is now: the usual way, then with each answer given otherwise."""
    usual = recorded(RUNS[name])
    once = _Once()
    lines = [f"{name}: the usual run", "", *_written(once, usual.blocks)]
    for other in usual.others:
        run = recorded(RUNS[name], other)
        lines += ["", f"--- otherwise: {run.blocks[run.deviated_at][0]} -> {other.name}", ""]
        lines += _written(once, _apart(run, usual))
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _written(once: _Once, blocks: Sequence[tuple[str, ...]]) -> list[str]:
    return [line for block in blocks for line in once.lines(block)]


def _apart(run: Recorder, usual: Recorder) -> list[tuple[str, ...]]:
    """What differs: from the other answer to where both go on alike to the end."""
    here, there = run.blocks[run.deviated_at + 1 :], usual.blocks[run.deviated_at + 1 :]
    alike = 0
    while alike < min(len(here), len(there)) and here[-1 - alike] == there[-1 - alike]:
        alike += 1
    end = [(f"then as usual from: {here[len(here) - alike][0]} ({alike} left)",)] if alike else []
    return [*here[: len(here) - alike], *end]
