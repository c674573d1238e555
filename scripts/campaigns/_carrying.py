"""Carries campaigns out: each in a process of its own with a time limit, one more at once than there are cores.

Most of them wait in real time a lot.
"""

from __future__ import annotations

import contextlib
import json
import os
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from tests.support.in_memory import memory

ROOT = Path(__file__).resolve().parent.parent.parent
WHOLE, NOT_FINISHED, CRASHED = "whole", "not finished", "crashed"
_ONE = """\
import dataclasses, importlib, json, pathlib, sys
module, quick, seed, place = sys.argv[1:]
result = importlib.import_module(module).run(quick=quick == "quick", seed=int(seed))
pathlib.Path(place).write_text(json.dumps(dataclasses.asdict(result)))
"""
_LAST_WORDS = 15


@dataclass(frozen=True)
class Campaign:
    """One campaign that can be carried out.

    Attributes:
        name: what it is called by.
        module: has `run(*, quick, seed)`, which returns a Result.
        quick_s, long_s: the time limit of each of the two sizes, in seconds.
        alone: whether it keeps all cores busy by itself for long, and so its long size is carried out alone.
    """

    name: str
    module: str
    quick_s: float
    long_s: float
    alone: bool = False

    def limit_s(self, *, quick: bool) -> float:
        """Seconds after which it is not finished."""
        return self.quick_s if quick else self.long_s


@dataclass(frozen=True)
class Outcome:
    """What became of a campaign.

    Attributes:
        name: of the campaign.
        tried, held, broken: as in its Result; all 0 where it came to none.
        seed: where chance began.
        seconds: of real time.
        ended: whole; not finished, where its time was up; crashed, where it ended without a Result.
        lines: what it found, or its last words.
    """

    name: str
    tried: int
    held: int
    broken: int
    seed: int
    seconds: float
    ended: str
    lines: tuple[str, ...]

    @property
    def off(self) -> bool:
        """Whether anything of it did not hold; a campaign that tried nothing, or did not end, held nothing."""
        return self.ended != WHOLE or self.broken > 0 or self.tried == 0 or self.held + self.broken != self.tried


def carry_out(
    campaigns: Sequence[Campaign], *, quick: bool, seed: int, say: Callable[[Outcome], None]
) -> list[Outcome]:
    """Carry all of them out, side by side but for those that fill the machine for long.

    Args:
        campaigns: in any order.
        quick: the small size of each.
        seed: of every one of them.
        say: is called with each outcome as it comes.

    Returns:
        The outcomes, in the order of the campaigns.
    """
    under_way: set[subprocess.Popen[bytes]] = set()

    def one(campaign: Campaign) -> Outcome:
        outcome = _carried_out(campaign, under_way, quick=quick, seed=seed)
        say(outcome)
        return outcome

    found: dict[str, Outcome] = {}
    pool = ThreadPoolExecutor((os.cpu_count() or 1) + 1)
    try:
        together = [each for each in campaigns if quick or not each.alone]
        together.sort(key=lambda each: -each.limit_s(quick=quick))  # the longest first, so that nobody waits at the end
        found |= {outcome.name: outcome for outcome in pool.map(one, together)}
        found |= {each.name: one(each) for each in campaigns if each not in together}
    except BaseException:
        pool.shutdown(wait=False, cancel_futures=True)
        for process in list(under_way):
            _end(process)
        raise
    pool.shutdown()
    return [found[each.name] for each in campaigns]


def _carried_out(campaign: Campaign, under_way: set[subprocess.Popen[bytes]], *, quick: bool, seed: int) -> Outcome:
    with tempfile.TemporaryDirectory(prefix="campaign-", dir=memory()) as folder:
        place, said = Path(folder) / "result.json", Path(folder) / "said.txt"
        words = [sys.executable, "-c", _ONE, campaign.module, "quick" if quick else "long", str(seed), str(place)]
        began_s = time.monotonic()
        with said.open("wb") as stream, _process(words, stream, folder) as process:
            under_way.add(process)
            try:
                process.wait(campaign.limit_s(quick=quick))
                ended = WHOLE if process.returncode == 0 and place.exists() else CRASHED
            except subprocess.TimeoutExpired:
                ended = NOT_FINISHED
            finally:
                under_way.discard(process)
        seconds = time.monotonic() - began_s
        if ended == WHOLE:
            result = json.loads(place.read_text())
            counts = (result["tried"], result["held"], result["broken"])
            return Outcome(campaign.name, *counts, seed, seconds, ended, tuple(result["lines"]))
        lines = tuple(said.read_text(errors="replace").splitlines()[-_LAST_WORDS:])
    told = f"after {campaign.limit_s(quick=quick):g} s it was {ended}" if ended == NOT_FINISHED else "it crashed"
    return Outcome(campaign.name, 0, 0, 0, seed, seconds, ended, (f"BROKEN: {told}; its last words:", *lines))


@contextlib.contextmanager
def _process(words: Sequence[str], stream: object, folder: str) -> Iterator[subprocess.Popen[bytes]]:
    """A process with a group of its own, which ends with the block; its temporary files lie in the folder."""
    process = subprocess.Popen(
        words,
        cwd=ROOT,
        env=os.environ | {"PYTHONPATH": str(ROOT), "TMPDIR": folder},
        stdin=subprocess.DEVNULL,
        stdout=stream,  # type: ignore[call-overload]
        stderr=subprocess.STDOUT,
        start_new_session=True,
    )
    try:
        yield process
    finally:
        _end(process)


def _end(process: subprocess.Popen[bytes]) -> None:
    """End it and all it started; what left its group ends with its own input."""
    with contextlib.suppress(ProcessLookupError, PermissionError):
        os.killpg(process.pid, signal.SIGKILL)
    process.wait()
