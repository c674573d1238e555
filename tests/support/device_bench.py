"""The simulated printer in this process: behind a link of memory, on a clock that moves only while somebody waits.

The printer is the real simulated one; nothing of it is faked but the wire. Hours of pauses pass in milliseconds, and
the same seed gives the same run.
"""

import asyncio
import heapq
import math
import re
from collections.abc import Callable
from itertools import count
from pathlib import Path
from typing import TypeVar

from commission.asking.steps import Steps
from commission.conductor.conductor import Conductor, Ended
from commission.conductor.connection import Connection
from commission.conductor.ledger import Ledger
from commission.conductor.previous_run import nothing_to_ask
from commission.conductor.scribe import Scribe
from commission.desk.base import Mark, OperatorStop
from commission.dialect.identity import Identity
from commission.evidence.entry import Entry
from commission.evidence.findings.base import Finding
from commission.evidence.found import Established
from commission.link.base import LinkLost
from commission.records.book import Book
from fake_printer.printer import Printer
from tests.support.fake_desk import Answers, FakeDesk
from tests.support.fake_hand import FakeHand
from tests.support.fake_time import FakeClock

_T = TypeVar("_T")
Kind = TypeVar("Kind", bound=Entry)
Found = TypeVar("Found", bound=Finding)
RUN = "bench-3/2031-03-14/1"
SHORTEST_S = 1e-6


class FakePrinterClock(FakeClock):
    """Moves the printer on as it moves; deeds planned with `later` are done when their time has come."""

    def __init__(self, printer: Printer) -> None:
        super().__init__()
        self._printer = printer
        self._planned: list[tuple[float, int, Callable[[], object]]] = []
        self._number = count()

    def later(self, seconds: float, deed: Callable[[], object]) -> None:
        """Have something done after so long."""
        heapq.heappush(self._planned, (self.elapsed_s + seconds, next(self._number), deed))

    def until_next_s(self) -> float:
        """Seconds for which nothing happens: neither at the printer nor by a deed."""
        deed_s = self._planned[0][0] - self.elapsed_s if self._planned else math.inf
        return max(SHORTEST_S, min(deed_s, self._printer.until_next_s()))

    def pass_time(self, seconds: float) -> None:
        """Let time pass for everybody."""
        until_s = self.elapsed_s + max(0.0, seconds)
        while self._planned and self._planned[0][0] <= until_s:
            at_s, _, deed = heapq.heappop(self._planned)
            self._move_to(at_s)
            deed()
        self._move_to(until_s)

    def _move_to(self, at_s: float) -> None:
        if at_s > self.elapsed_s:
            self._printer.advance(at_s - self.elapsed_s)
            self.elapsed_s = at_s

    async def sleep(self, seconds: float) -> None:
        """Let that much time pass at once."""
        self.pass_time(seconds)
        await asyncio.sleep(0)


class FakeStoppableDesk(FakeDesk):
    """A desk at which Ctrl-C can be pressed at any moment, by `stop_now`; it stops the run once."""

    def __init__(self, answers: Answers = lambda _key: None) -> None:
        super().__init__(answers)
        self._stop = asyncio.Event()

    def stop_now(self) -> None:
        """Press Ctrl-C."""
        self._stop.set()

    async def wait_for_stop(self) -> None:
        """Return once Ctrl-C was pressed."""
        await self._stop.wait()

    @property
    def stop_asked(self) -> bool:
        """Whether Ctrl-C was pressed and nobody was told yet."""
        return self._stop.is_set()

    async def take_marks(self) -> tuple[Mark, ...]:
        """Raise the stop, once."""
        if self._stop.is_set():
            self._stop.clear()
            raise OperatorStop("stopped by Ctrl-C")
        return await super().take_marks()


BITS_A_BYTE, BAUD = 10, 38_400
"""A wire as slow as some have it: what is watched as fast as the wire goes is read a third as often as at 115200."""
SLOW_BAUD = 14_400
"""Slower still, for benches on which what is watched shows no more when it is read more often."""


_ACKNOWLEDGED = re.compile(rb"^ok\b[^\n]*\n", re.MULTILINE)
"""Where an answer of most families ends."""


class FakeDeviceLink:
    """The wire: bytes go straight to the printer and come straight back.

    `lose` pulls the plug; after `die` the process at this end is gone: nothing reaches the printer, nothing comes.
    """

    def __init__(
        self,
        printer: Printer,
        clock: FakePrinterClock,
        wire: Callable[[bytes], bytes] = lambda data: data,
        speed_baud: int = BAUD,
    ) -> None:
        self.name = "memory"
        self.lost = False
        self.death: BaseException | None = None
        self._printer = printer
        self._clock = clock
        self._wire = wire
        self._speed_baud = speed_baud
        self._coming = b""

    def lose(self) -> None:
        """Pull the plug."""
        self.lost = True

    def die(self, death: BaseException) -> None:
        """End the process at this end: whatever the tool still does there raises this and reaches nobody."""
        self.death = death

    async def open(self, speed_baud: int) -> None:  # noqa: ARG002 - the interface
        """The host opens the port; a bridge board restarts."""
        self._check()
        self._printer.host_attached()

    async def set_speed(self, speed_baud: int) -> None:
        """Any speed will do."""

    async def send(self, data: bytes) -> None:
        """Hand the bytes to the printer."""
        self._check()
        self._printer.receive(data)

    async def receive(self, timeout_s: float) -> bytes:
        """What comes within that time, from one moment at which something happens to the next."""
        await asyncio.sleep(0)
        self._check()
        until_s = self._clock.elapsed_s + timeout_s
        while not (data := self._next_answer()) and self._clock.elapsed_s < until_s - 1e-9:
            self._clock.pass_time(min(self._clock.until_next_s(), until_s - self._clock.elapsed_s))
            self._check()
        # on the wire: who asks without a pause gets no further else
        self._clock.pass_time(len(data) * BITS_A_BYTE / self._speed_baud)
        return self._wire(data)

    def _next_answer(self) -> bytes:
        """What comes over the wire next: one answer after the other, each in its own time, or what of one there is."""
        self._coming += self._printer.take_output()
        acknowledged = _ACKNOWLEDGED.search(self._coming)
        end = acknowledged.end() if acknowledged else len(self._coming)
        answer, self._coming = self._coming[:end], self._coming[end:]
        return answer

    async def close(self) -> None:
        """Nothing to let go of."""

    def _check(self) -> None:
        if self.death is not None:
            raise self.death
        if self.lost:
            raise LinkLost(f"The port {self.name} is gone.", "Plug it in again.")


class DeviceBench:
    """A simulated printer, an operator with hands, a book.

    Steer it by `answers` (asked first by every request's key; None for the usual yes), by `printer.perform`, by
    `clock.later`, by `on_the_wire` (what becomes of the bytes on their way to the tool) and by `speed_baud` (how fast
    they come). The hands follow the function test's prompts: pull, cut, insert.
    """

    def __init__(self, printer: Printer, folder: Path) -> None:
        self.printer = printer
        self.clock = FakePrinterClock(printer)
        self.book = Book(folder / "book.sqlite3", self.clock)
        self.folder = folder
        self.answers: Callable[[str], bool | str | None] = lambda _key: None
        self.on_the_wire: Callable[[bytes], bytes] = lambda data: data
        self.speed_baud = BAUD
        self.pull_after_s = 3.5
        self.desk = FakeStoppableDesk(self._operator)
        self.links: list[FakeDeviceLink] = []
        self.conductor: Conductor | None = None

    async def run(
        self,
        steps: Steps[_T],
        *,
        run: str = RUN,
        ledger: Ledger | None = None,
        confirm_printer: Callable[[Identity | None], Steps[None]] = nothing_to_ask,
    ) -> Ended[_T]:
        """Conduct the steps from opening the port to letting it go."""
        scribe = Scribe(self.book, run, hand=FakeHand())
        connection = Connection(
            "memory",
            make_link=lambda _address: self._link(),
            find=lambda address: address,
            speeds_baud=(115200,),
            clock=self.clock,
            on_traffic=scribe.overheard,
        )
        self.conductor = Conductor(connection, self.desk, scribe, self.clock, self.folder, ledger, confirm_printer)
        try:
            return await self.conductor.run(steps)
        finally:
            scribe.close()

    def entries(self, kind: type[Kind]) -> list[Kind]:
        """What the book's entries of one kind tell."""
        return [record.entry for record in self.book.records(kind)]

    def found(self, kind: type[Found]) -> list[Found]:
        """The book's findings of one kind."""
        findings = [each.finding for each in self.entries(Established)]
        return [finding for finding in findings if isinstance(finding, kind)]

    @property
    def received(self) -> list[str]:
        """Every line the printer got, in order."""
        return self.printer.received_lines

    def _link(self) -> FakeDeviceLink:
        link = FakeDeviceLink(self.printer, self.clock, self.on_the_wire, self.speed_baud)
        self.links.append(link)
        return link

    def _operator(self, key: str) -> bool | str | None:
        answer = self.answers(key)
        if answer is not None:
            return answer
        if key in ("pause.ready", "change.inserted", "start_empty.change.inserted", "change.seated"):
            self.printer.perform("insert")
            self.clock.pass_time(1.0)
        elif key in ("function.empty", "change.pulled"):
            self.printer.perform("withdraw")
            self.clock.pass_time(1.0)
        elif key == "pause.pull":
            self.clock.later(self.pull_after_s, lambda: self.printer.perform("withdraw"))
        elif key == "pause.cut":
            self.clock.later(self.pull_after_s, lambda: self.printer.perform("cut", "10"))
        elif key.endswith("change.display"):
            self.clock.pass_time(2.0)
            self.printer.perform("answer-pause", "continue")
        elif key == "function.card_started":
            self.printer.perform("print-card", str(self.folder / "runout-test.gcode"))
            self.clock.pass_time(20.0)
        elif key == "function.power":
            self.printer.perform("power-cycle", "2")
            self.links[-1].lose()
            self.clock.pass_time(6.0)
        return None
