"""A bench in memory: a printer with a switch, an operator with hands, a book; time passes only when waited for."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from commission.asking.request import Hold
from commission.asking.steps import Steps
from commission.conductor.conductor import Conductor, Ended
from commission.conductor.connection import Connection
from commission.conductor.scribe import Scribe
from commission.evidence.entry import Entry
from commission.evidence.findings.base import Finding
from commission.evidence.found import Established
from commission.link.base import PortUnusable
from commission.records.book import Book
from tests.support.fake_desk import FakeDesk
from tests.support.fake_hand import FakeHand
from tests.support.fake_link import FakeLink
from tests.support.fake_time import FakeClock

_T = TypeVar("_T")
Kind = TypeVar("Kind", bound=Entry)
Found = TypeVar("Found", bound=Finding)
SLOW_WIRE_S = 0.04
"""An answer on the wire of this bench: so that a minute read as fast as it goes is 1500 readings, not 6000."""
RUN = "bench-3/2031-03-14/1"


class FakeBench:
    """A printer that answers the questions of a loop check, and hands that follow every prompt.

    Steer it by `follows` (the switch), `inverted` (the firmware's logic), `unplugged_is_active`, `switch` (the name in
    the reply; empty for none), `address` (where it is looked for), `port` (the only one at which it is), `dark` (it
    answers nothing, and its port stays), `announces` (whether it says who it is), `prints_from_s` and `prints_to_s` (a
    print from its card) and by `surprise`: called with the number of switch queries so far; what it returns is sent
    instead of the answer, b"" for silence. At a hold point with power off the port goes and the board begins anew,
    unless `powers_off` says no for its key; `pulls` says whether the right plug is pulled at it.
    """

    def __init__(self, folder: Path) -> None:
        self.clock = FakeClock()
        self.book = Book(folder / "book.sqlite3", self.clock)
        self.folder = folder
        self.port = self.address = "fake"
        self.dark = False
        self.switch = "filament"
        self.present = False
        self.unplugged = False
        self.laid = ""
        self.follows = True
        self.inverted = False
        self.unplugged_is_active = False
        self.queries = 0
        self.prints_from_s = self.prints_to_s = 0.0
        self.identity = "FIRMWARE_NAME:ExampleFW 102.1.2 MACHINE_TYPE:Bench 3 EXTRUDER_COUNT:1"
        self.announces = True
        self.surprise: Callable[[int], bytes | None] = lambda _queries: None
        self.answers: Callable[[str], bool | str | None] = lambda _key: None
        self.powers_off: Callable[[str], bool] = lambda _key: True
        self.pulls: Callable[[str], bool] = lambda _key: True
        self.desk = FakeDesk(self._operator)
        self.desk.at_hold = self._power_off
        self._boots = False
        self.links: list[FakeLink] = []

    async def run(self, steps: Steps[_T], number: str = RUN) -> Ended[_T]:
        """Conduct the steps from opening the port to letting it go, into the run of that number."""
        scribe = Scribe(self.book, number, hand=FakeHand())
        connection = Connection(
            self.address,
            make_link=self._link,
            find=lambda address: address,
            speeds_baud=(115200,),
            clock=self.clock,
            on_traffic=scribe.overheard,
        )
        try:
            return await Conductor(connection, self.desk, scribe, self.clock, self.folder).run(steps)
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
    def reads_active(self) -> bool:
        """What the firmware would say of the switch now."""
        if self.unplugged:
            return self.unplugged_is_active != (self.laid == "small")  # a sound pull gives way to 1 kilohm only
        return (self.present and self.follows) != self.inverted

    def _link(self, address: str) -> FakeLink:
        if address != self.port:
            raise PortUnusable(f"{address} is not there", "Name another port.")
        link = FakeLink(self._printer, self.clock, line_s=SLOW_WIRE_S)
        self.links.append(link)
        if self._boots:
            link.say(b"start\n")
            self._boots = False
        return link

    def _power_off(self, request: Hold) -> None:
        if request.power and self.powers_off(request.key):
            self.links[-1].lose()
            self._boots = True

    def _printer(self, line: str) -> bytes | None:
        if self.dark:
            return None
        line = re.sub(r"^N\d+ |\*\d+$", "", line)
        if line == "M115" and self.announces:
            return f"{self.identity}\nCap:RUNOUT:1\nok\n".encode()
        if line == "M412":
            return b"echo:Filament runout ON ; Distance 20.00mm ; Host handling OFF\nok\n"
        if line == "M27" and self.prints_to_s > 0:
            at_work = self.prints_from_s <= self.clock.monotonic() < self.prints_to_s
            return b"SD printing byte 123/4567\nok\n" if at_work else b"Not SD printing\nok\n"
        if line == "M119":
            return self._states()
        return b"ok\n"

    def _states(self) -> bytes | None:
        self.queries += 1
        surprise = self.surprise(self.queries)
        if surprise is not None:
            return surprise or None
        words = {True: "TRIGGERED", False: "open"}
        filament = f"{self.switch}: {words[self.reads_active]}\n" if self.switch else ""
        return f"Reporting endstop status\nx_min: open\n{filament}ok\n".encode()

    def _operator(self, key: str) -> bool | str | None:
        if key in ("trial.insert", "wiggle.ready", "still_plugged.insert"):
            self.present = True
        elif key in ("trial.withdraw", "loop_check.ready", "still_plugged.withdraw"):
            self.present = False
        elif key.startswith("pull.lay."):
            self.laid = "small" if "small" in key else "large"
        elif key in ("pull.free", "unplug.reconnect"):
            self.laid = ""
        if key in ("unplug.1", "unplug.2"):
            self.unplugged = self.pulls(key)
        if key == "unplug.reconnect":
            self.unplugged, self.present = False, True
        answer = self.answers(key)
        return False if answer is None and key.endswith(".now") else answer  # what is only offered is left out
