"""The way out of a run: nothing breaks it off but its own limits, and whatever happens stands in the book."""

import asyncio
import gc
from collections.abc import Callable
from pathlib import Path

import pytest

from commission.asking.message import Tell
from commission.asking.request import Confirm
from commission.conductor.connection import Connection
from commission.conductor.ear import Ear
from commission.conductor.ledger import Ledger
from commission.conductor.made_safe import Doing
from commission.conductor.scribe import Scribe
from commission.conductor.to_the_end import end, to_its_end
from commission.conductor.way_out import MAKING_SAFE, WayOut
from commission.desk.base import OperatorStop
from commission.dialect.commands import FAN_ON, hotend_target
from commission.evidence import runs
from commission.records.book import Book
from tests.support.fake_desk import FakeDesk
from tests.support.fake_link import FakeLink
from tests.support.fake_time import FakeClock

RUN = "bench-3/2031-03-14/1"
WHO = b"FIRMWARE_NAME:ExampleFW 102.1.2 EXTRUDER_COUNT:1\nCap:EMERGENCY_PARSER:1\nok\n"
COLD = b"ok T:180.0 /0.0 B:55.0 /0.0 @:0 B@:0\n"
BUSY = b"echo:busy: processing\n"
Answer = Callable[[str], bytes | None]


def obedient(line: str) -> bytes | None:
    """A printer that does what it is told."""
    return COLD if line == "M105" else b"ok\n"


class FakeGoneDesk(FakeDesk):
    """A desk whose terminal is gone: whatever is told, asked or pointed out there is a stop."""

    async def tell(self, message: Tell) -> None:  # noqa: ARG002 - the interface
        """Nobody reads it."""
        raise OperatorStop("the terminal is gone")

    async def confirm(self, request: Confirm) -> bool:  # noqa: ARG002 - the interface
        """Nobody answers."""
        raise OperatorStop("the terminal is gone")


class Hot:
    """A printer that was heated by this run, and the way out of it.

    Steer it by the printer's answers and the desk; `link` is the wire, `clock` moves while somebody waits.
    """

    def __init__(self, folder: Path, answers: Answer = obedient, desk: FakeDesk | None = None) -> None:
        self.clock = FakeClock()
        self.book = Book(folder / "book.sqlite3", self.clock)
        self.desk = FakeDesk() if desk is None else desk
        self.link = FakeLink(lambda line: WHO if line == "M115" else answers(line), self.clock)
        self.ledger = Ledger()
        self.left_on = False
        self._scribe = Scribe(self.book, RUN)
        self._connection = Connection(
            "fake",
            make_link=lambda _address: self.link,
            find=lambda where: where,
            speeds_baud=(115200,),
            clock=self.clock,
            on_traffic=lambda _: None,
        )
        self.way_out = WayOut(
            self._connection,
            self.desk,
            self._scribe,
            self.clock,
            self.ledger,
            Ear(self.clock),
            lambda: True,
            lambda: self.left_on,
        )

    async def opened(self) -> "Hot":
        """The port open and the nozzle heated."""
        await self._connection.open()
        self.link.sent.clear()
        self.ledger.sent(hotend_target(200))
        return self

    def written(self) -> list[tuple[str, bool]]:
        """What the book says of it: what the printer was doing, and whether all of it was done."""
        return [(each.entry.way_out.doing, each.entry.way_out.complete) for each in self.book.records(runs.MadeSafe)]


async def test_it_is_said_before_it_begins(tmp_path: Path) -> None:
    """The first line on the screen tells to wait, and is what every further stop is answered with."""
    seen: list[str] = []

    def answers(line: str) -> bytes | None:
        seen.append(hot.desk.unstoppable_now)
        return obedient(line)

    hot = Hot(tmp_path, answers)
    await (await hot.opened()).way_out.take()

    assert MAKING_SAFE == hot.desk.told[0]
    assert {MAKING_SAFE} == set(seen)
    assert "" == hot.desk.unstoppable_now


async def test_a_lost_terminal_changes_nothing(tmp_path: Path) -> None:
    """With nobody to tell it to, the printer is switched off all the same, and the book holds it."""
    hot = await Hot(tmp_path, desk=FakeGoneDesk()).opened()

    made = await hot.way_out.take()

    assert (Doing.ANSWERS, True) == (made.doing, made.complete)
    assert ["M105", "M104 S0", "M140 S0", "M105"] == hot.link.sent
    assert [("the printer answers", True)] == hot.written()


async def test_a_cancelled_run_is_made_safe_to_the_end(tmp_path: Path) -> None:
    """However often the run is cancelled meanwhile, every command goes out, and the cancellation counts afterwards."""
    hot = await Hot(tmp_path).opened()

    taking = asyncio.create_task(hot.way_out.take())
    for _ in range(5):
        await asyncio.sleep(0)
        taking.cancel()
    with pytest.raises(asyncio.CancelledError):
        await taking

    assert ["M105", "M104 S0", "M140 S0", "M105"] == hot.link.sent
    assert [("the printer answers", True)] == hot.written()


async def test_a_printer_busy_for_ever_has_a_limit(tmp_path: Path) -> None:
    """A printer that says again and again that it is busy is not waited for without end; it is named as not safe."""

    def answers(line: str) -> bytes | None:
        if line == "M105":
            for number in range(1000):
                hot.link.say(BUSY, after_s=2.0 * number)
        return None

    hot = Hot(tmp_path, answers, FakeDesk(lambda _key: False))
    made = await (await hot.opened()).way_out.take()

    assert (Doing.BLOCKED, False) == (made.doing, made.complete)
    assert [("the printer is blocked", False)] == hot.written()
    assert hot.clock.elapsed_s < 120


async def test_a_printer_that_became_free_needs_no_emergency_stop(tmp_path: Path) -> None:
    """Refused or not answered, the release is followed by one more look; what answers now is simply switched off."""
    busy = [True]

    def operator(key: str) -> bool:
        assert "make_safe.stop" == key
        busy.clear()
        return False

    hot = Hot(tmp_path, lambda line: None if busy and line == "M105" else obedient(line), FakeDesk(operator))
    made = await (await hot.opened()).way_out.take()

    assert (Doing.ANSWERS, True) == (made.doing, made.complete)
    assert "M112" not in hot.link.sent
    assert {"delivered"} == {attempt.delivered.value for attempt in made.attempts}


async def test_moves_that_are_queued_are_waited_for(tmp_path: Path) -> None:
    """A run that moved is made safe once the head stands still; a head that does not is named."""
    stands = Hot(tmp_path / "stands")
    moves = Hot(tmp_path / "moves", lambda line: None if line == "M400" else obedient(line))
    for hot in (stands, moves):
        await hot.opened()
        hot.ledger.sent(FAN_ON)  # counts as something that moves

    made = [await hot.way_out.take() for hot in (stands, moves)]

    assert "M400" == stands.link.sent[-2]
    assert [True, False] == [each.complete for each in made]
    assert "Queued moves ended: sent; nothing shows that it was taken (M400)." in made[1].sentences


async def test_an_error_in_it_leaves_a_record(tmp_path: Path) -> None:
    """Whatever goes wrong in this program meanwhile, the screen and the book say that it was not made safe."""

    class Bug(Exception):
        pass

    def answers(line: str) -> bytes | None:
        if line == "M140 S0":
            raise Bug
        return obedient(line)

    hot = await Hot(tmp_path, answers).opened()
    with pytest.raises(Bug):
        await hot.way_out.take()

    assert [("it did not come to its end", False)] == hot.written()
    assert "NOT made safe: it did not come to its end." in hot.desk.told
    assert "Hotend heater off: delivered (M104 S0)." in hot.desk.told
    assert "not shown to be done: Everything read back" in hot.desk.items[0].text


async def test_what_another_run_left_on_is_named(tmp_path: Path) -> None:
    """A run that ends before it is known whose printer this is says what may still be on, and opens no item."""
    hot = Hot(tmp_path)
    hot.left_on = True

    made = await hot.way_out.take()

    assert "NOT made safe: an earlier run was broken off." in hot.desk.told
    assert [("an earlier run was broken off", False)] == hot.written()
    assert made.item is None


async def test_work_goes_on_to_its_end() -> None:
    """Who cancels the waiting ends nothing; the result is lost to a cancellation only after the work."""
    done: list[int] = []

    async def work() -> str:
        for number in range(3):
            await asyncio.sleep(0)
            done.append(number)
        return "all of it"

    waiting = asyncio.create_task(to_its_end(work()))
    await asyncio.sleep(0)
    for _ in range(2):
        waiting.cancel()
        await asyncio.sleep(0)
    with pytest.raises(asyncio.CancelledError):
        await waiting

    assert [0, 1, 2] == done
    assert "all of it" == await to_its_end(work())


async def test_what_tidies_up_for_ever_is_left() -> None:
    """Work that goes on after it was cancelled is cancelled again while it tidies up."""
    cancelled: list[int] = []

    async def stubborn() -> None:
        for number in range(2):
            try:
                await asyncio.Event().wait()
            except asyncio.CancelledError:
                cancelled.append(number)
        await asyncio.Event().wait()

    task = asyncio.create_task(stubborn())
    await asyncio.sleep(0)
    await end(task, tidy_s=0.05)

    assert [0, 1] == cancelled
    assert task.cancelled()


async def test_what_ended_work_raises_is_nobodys() -> None:
    """A task that failed before it was ended, or fails on being ended, is not printed by the event loop afterwards."""
    told: list[str] = []
    asyncio.get_running_loop().set_exception_handler(lambda _loop, context: told.append(str(context["message"])))

    async def fails(first: asyncio.Event) -> None:
        try:
            await first.wait()
        finally:
            raise RuntimeError("the link is lost")

    early, late = asyncio.Event(), asyncio.Event()
    early.set()
    tasks = [asyncio.create_task(fails(event)) for event in (early, late)]
    await asyncio.sleep(0.01)
    await end(*tasks)
    del tasks
    gc.collect()

    assert [] == told
