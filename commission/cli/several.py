"""Works on several printers at once in this process: what befalls one neither delays nor ends another.

Each has its own limit of time. Whatever goes wrong with one becomes its exit code; nothing of it is raised.
"""

import asyncio
import json
import sys
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Protocol

from commission.cli.endings import code_of, sentence_of
from commission.cli.exit_codes import MEANINGS, NOT_FINISHED, STOPPED, WRONG_USAGE
from commission.dialect.sanitise import clean_text
from commission.fleet.roster import Listed

LIMIT_S = 180.0
"""Beside twice the watch: the speeds tried, the questions asked, and a printer that says that it is busy."""
LET_GO_S = 30.0
"""So long a run that is told to end may take to end by itself: it only asks, and has its entry to write."""
CANCEL_S = 5.0
LONGEST_REASON = 200


@dataclass(frozen=True)
class Came:
    """What came of the work on one printer: a code of the table, and why, where it is no pass."""

    code: int
    why: str = ""


class Work(Protocol):
    """The work on one printer."""

    async def run(self) -> Came:
        """Do it."""
        ...

    def stop(self, reason: str) -> None:
        """Have it end by itself soon, with its printer and its record in order."""
        ...


@dataclass(frozen=True)
class Ended:
    """What became of one printer's work; `took_s` in seconds."""

    tag: str
    code: int
    why: str
    took_s: float

    @property
    def sentence(self) -> str:
        """It in one line, without the tag."""
        said = f" {self.why}" if self.why else ""
        return f"exit code {self.code}: {MEANINGS.get(self.code, 'unknown')} ({self.took_s:.0f} s).{said}"


class Teller:
    """Says what happens, one event a line, on the error stream: the output is the overview's.

    Args:
        as_json: each line is an object with `event` (`begun`, `said`, `ended`), `printer` and what belongs to it.
    """

    def __init__(self, *, as_json: bool = False) -> None:
        self._as_json = as_json

    def begun(self, tag: str, port: str) -> None:
        """The work on a printer begins."""
        self._event("begun", tag, f"begun at {port}", port=port)

    def said(self, tag: str, text: str) -> None:
        """Something that happened on the way."""
        self._event("said", tag, text, text=text)

    def ended(self, one: Ended) -> None:
        """It has come to its end."""
        meaning, took_s = MEANINGS.get(one.code, "unknown"), round(one.took_s, 1)
        self._event("ended", one.tag, one.sentence, code=one.code, meaning=meaning, why=one.why, took_s=took_s)

    def _event(self, event: str, tag: str, sentence: str, **values: object) -> None:
        line = f"{tag}: {sentence}"
        if self._as_json:
            line = json.dumps({"event": event, "printer": tag, **values})
        with suppress(OSError):  # nobody reads it any more; the record has what counts
            sys.stderr.write(clean_text(line) + "\n")
            sys.stderr.flush()


class Several:
    """The work on the printers of a roster.

    Args:
        work: begins the work on one printer; it may refuse by what it came to.
        jobs: printers at the same time.
        limit_s: seconds that one printer may take.
        teller: says what happens.
        let_go_s: seconds that one which is told to end may take to do so.
    """

    def __init__(
        self,
        work: Callable[[Listed], "Work | Came"],
        jobs: int,
        limit_s: float,
        teller: Teller,
        *,
        let_go_s: float = LET_GO_S,
    ) -> None:
        self._work = work
        self._let_go_s = let_go_s
        self._free = asyncio.Semaphore(jobs)
        self._limit_s = limit_s
        self._teller = teller
        self._at_work: set[Work] = set()
        self._stopped = ""

    async def run(self, roster: Sequence[Listed]) -> list[Ended]:
        """Do it, and tell of each as soon as it has come to its end; the results stand in the order of the roster."""
        async with asyncio.TaskGroup() as group:
            tasks = [group.create_task(self._one(listed)) for listed in roster]
        return [task.result() for task in tasks]

    def stop(self, reason: str) -> None:
        """Begin with no further printer, and have those at work end by themselves."""
        self._stopped = reason
        for work in self._at_work:
            work.stop(reason)

    async def _one(self, listed: Listed) -> Ended:
        async with self._free:
            began_s = time.monotonic()
            came = await self._came(listed)
            ended = Ended(listed.tag, came.code, _short(came.why), time.monotonic() - began_s)
        self._teller.ended(ended)
        return ended

    async def _came(self, listed: Listed) -> Came:
        if self._stopped:
            return Came(STOPPED, "It was not begun.")
        if not listed.port:
            return Came(WRONG_USAGE, "The roster names no port for it.")
        work = self._work(listed)
        if isinstance(work, Came):
            return work
        self._teller.begun(listed.tag, listed.port)
        self._at_work.add(work)
        try:
            return await self._within_limit(work)
        finally:
            self._at_work.discard(work)

    async def _within_limit(self, work: Work) -> Came:
        doing = asyncio.ensure_future(work.run())
        try:
            if not (await asyncio.wait({doing}, timeout=self._limit_s))[0]:
                work.stop("its time was over")
                if not (await asyncio.wait({doing}, timeout=self._let_go_s))[0]:
                    doing.cancel()
                    await asyncio.wait({doing}, timeout=CANCEL_S)
                return Came(NOT_FINISHED, f"It was not done after {self._limit_s:.0f} s and was ended.")
            return doing.result()
        except Exception as error:  # noqa: BLE001 - what befalls one printer ends no other; it is told with its code
            return Came(code_of(error), sentence_of(error))
        finally:
            if not doing.done():
                doing.cancel()


def _short(why: str) -> str:
    said = clean_text(" ".join(why.split()))
    return said if len(said) <= LONGEST_REASON else f"{said[:LONGEST_REASON]}…"
