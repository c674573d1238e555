"""Checks the printers of the roster, several at once, each in its own process: what befalls one befalls no other."""

import asyncio
import sys
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from commission.cli.exit_codes import MEANINGS, NOT_FINISHED, WRONG_USAGE
from commission.dialect.sanitise import clean_text
from commission.fleet.roster import Listed

COMMAND = (sys.executable, "-m", "commission")
LIMIT_S = 180.0
"""Beside twice the steady watch: the speeds tried, the questions asked, and a printer that says that it is busy."""
LET_GO_S = 30.0
"""So long a check that is told to end may take to end by itself: it only asks, and has its entry to write."""
LONGEST_REASON = 200


@dataclass(frozen=True)
class Ended:
    """What became of one printer's check.

    Attributes:
        code: of the table of exit codes.
        why: what it said last, where it went wrong.
        took_s: seconds.
    """

    tag: str
    code: int
    why: str
    took_s: float

    @property
    def sentence(self) -> str:
        """It in one line."""
        said = f" {self.why}" if self.why else ""
        return f"{self.tag}: exit code {self.code}, {MEANINGS.get(self.code, 'unknown')} ({self.took_s:.0f} s).{said}"


@dataclass(frozen=True)
class Wanted:
    """What is the same for every printer.

    Attributes:
        jobs: checks at the same time.
        steady_s: seconds of the steady watch.
        limit_s: seconds that one check may take.
        book, reports: where the record and the reports lie; None for the usual record book.
        bench: this computer's name in the record.
        command: what is begun for each printer.
    """

    jobs: int
    steady_s: float
    limit_s: float
    book: Path | None
    reports: Path
    bench: str = ""
    command: Sequence[str] = COMMAND

    def words(self, listed: Listed) -> list[str]:
        """The command for one printer; its tag comes last, whatever it is called."""
        book = ["--book", str(self.book)] if self.book is not None else []
        speed = ["--speed", str(listed.speed)] if listed.speed else []
        bench = ["--bench", self.bench] if self.bench else []
        site = ["--site", listed.place] if listed.place else []
        told = ["--port", listed.port, "--steady", str(self.steady_s), "--reports", str(self.reports)]
        return [
            *self.command,
            "check",
            "--unattended",
            "--gentle",
            *told,
            *book,
            *speed,
            *bench,
            *site,
            "--",
            listed.tag,
        ]


async def check_all(roster: Sequence[Listed], wanted: Wanted, tell: Callable[[Ended], None]) -> list[Ended]:
    """Check them, and tell of each as soon as it has come to its end; the results stand in the order of the roster."""
    free = asyncio.Semaphore(wanted.jobs)

    async def one(listed: Listed) -> Ended:
        async with free:
            ended = await _checked(listed, wanted)
        tell(ended)
        return ended

    async with asyncio.TaskGroup() as group:
        tasks = [group.create_task(one(listed)) for listed in roster]
    return [task.result() for task in tasks]


async def _checked(listed: Listed, wanted: Wanted) -> Ended:
    if not listed.port:
        return Ended(listed.tag, WRONG_USAGE, "The roster names no port for it.", 0.0)
    began_s = time.monotonic()
    try:
        process = await asyncio.create_subprocess_exec(
            *wanted.words(listed),
            stdin=asyncio.subprocess.DEVNULL,
            stdout=asyncio.subprocess.PIPE,
            stderr=asyncio.subprocess.PIPE,
        )
    except OSError as error:
        return Ended(listed.tag, NOT_FINISHED, f"It could not be begun: {error.strerror}.", 0.0)
    code, why = await _waited_for(process, wanted.limit_s)
    return Ended(listed.tag, code, why, time.monotonic() - began_s)


async def _waited_for(process: asyncio.subprocess.Process, limit_s: float) -> tuple[int, str]:
    talking = asyncio.ensure_future(process.communicate())
    try:
        _, error = await asyncio.wait_for(asyncio.shield(talking), limit_s)
    except TimeoutError:
        await _let_go(process, talking)
        return NOT_FINISHED, f"It was not done after {limit_s:.0f} s and was ended."
    except asyncio.CancelledError:
        await _let_go(process, talking)
        raise
    code = process.returncode if process.returncode is not None and process.returncode >= 0 else NOT_FINISHED
    return code, _reason(error)


async def _let_go(process: asyncio.subprocess.Process, talking: "asyncio.Future[tuple[bytes, bytes]]") -> None:
    """Have it end by itself, which leaves its printer and its record in order; else it is ended."""
    with suppress(ProcessLookupError):
        process.terminate()
    try:
        await asyncio.wait_for(asyncio.shield(talking), LET_GO_S)
    except TimeoutError:
        with suppress(ProcessLookupError):
            process.kill()
        await talking


def _reason(error: bytes) -> str:
    """What it said last on the error stream, in one line."""
    lines = [line.strip() for line in error.decode("utf-8", "replace").splitlines() if line.strip()]
    said = clean_text(lines[-1]) if lines else ""
    said = said.removeprefix("commission: ").removeprefix("Error: ")
    return said if len(said) <= LONGEST_REASON else f"{said[:LONGEST_REASON]}…"
