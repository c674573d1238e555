"""Seeded interruptions of a function test: each is made safe, or truthfully shown not to be.

The printer is the simulated one, in this process, on a clock that moves only while somebody waits.
"""

import shutil
from pathlib import Path
from random import Random

import pytest

from commission.conductor.ledger import Ledger
from commission.conductor.made_safe import Doing
from commission.evidence.runs import MadeSafe, WayOut
from commission.jobs.function import function_run
from commission.procedure.function.plan import FunctionPlan, Mode
from commission.procedure.meeting.identify import identify
from commission.records.book import Book
from commission.records.unfinished import accounts
from fake_printer.printer import Printer
from fake_printer.profile import load_profile
from tests.fake_printer.line import changed
from tests.support.device_bench import RUN, DeviceBench
from tests.support.installed import UNKNOWN
from tests.support.made import begun
from tests.support.sweeps import as_many

KINDS = ("ctrl-c", "lost", "exception", "killed")
EACH = as_many(6, 50)
LATEST_S = 75.0
NEXT_RUN = "bench-3/2031-03-14/2"
TAG = "bench-3"
MOVES_OR_HEATS = ("G1", "G28", "M104 S2", "M600")


class Bug(Exception):
    """An error in the tool, thrown where nobody expects it."""


class Killed(BaseException):
    """The end of the process; what the tool still does after it reaches nobody."""


class Struck:
    """A bench on which something happens at a moment drawn from the seed."""

    def __init__(self, folder: Path, kind: str, seed: int) -> None:
        rng = Random(f"{kind}/{seed}")  # noqa: S311 - repeatable, not secret
        self.kind = kind
        self.folder = folder
        self.warm = rng.random() < 0.5
        self.stops = rng.random() < 0.5
        unit = changed(load_profile("sound"), wire={"reset_on_open": rng.random() < 0.5}, firmware={"homing_s": 2.0})
        self.bench = self._bench(Printer(unit, seed=seed), folder / "first")
        self.bench.book.append(RUN, begun(RUN, "function"))
        self.bench.clock.later(rng.uniform(1.0, LATEST_S), self._strike)

    def _bench(self, printer: Printer, folder: Path) -> DeviceBench:
        folder.mkdir(exist_ok=True)
        bench = DeviceBench(printer, folder)
        bench.answers = lambda key: self.stops if key == "make_safe.stop" else None
        if not self.warm:
            printer.perform("free-gear")
        return bench

    def _strike(self) -> None:
        if self.kind == "ctrl-c":
            self.bench.desk.stop_now()
        elif self.kind == "lost":
            self.bench.links[-1].lose()
        elif self.kind == "exception":
            raise Bug("an error in the tool")
        else:
            shutil.copytree(self.folder / "first", self.folder / "second")
            self.bench.links[-1].die(Killed())
            raise Killed

    async def run(self) -> DeviceBench:
        """The job up to what interrupts it, and after a kill the next start; returns the bench that made it safe."""
        plan = FunctionPlan(mode=Mode.WARM if self.warm else Mode.DRY, pauses=1)
        try:
            await self.bench.run(function_run(plan, "R. Okafor", UNKNOWN.surroundings))
        except Bug:
            pass
        except Killed:
            return await self._started_again()
        return self.bench

    async def _started_again(self) -> DeviceBench:
        again = self._bench(self.bench.printer, self.folder / "second")
        left_open = Ledger.from_record(accounts(again.book, TAG))
        again.book.append(NEXT_RUN, begun(NEXT_RUN, "function"))
        await again.run(identify(), run=NEXT_RUN, ledger=left_open)
        return again


def last_made_safe(book: Book) -> WayOut | None:
    """What the book says was made safe, at last."""
    made = [record.entry.way_out for record in book.records(MadeSafe)]
    return made[-1] if made else None


def truly_off(printer: Printer) -> bool:
    """Whether no heater has a target and no job runs, in truth."""
    firmware = printer.firmware
    return firmware is None or not (firmware.hotend.target_c or firmware.bed.target_c or firmware.job.running)


@pytest.mark.swept
@pytest.mark.parametrize("seed", range(EACH))
@pytest.mark.parametrize("kind", KINDS)
async def test_an_interruption_is_made_safe_or_shown_not_to_be(tmp_path: Path, kind: str, seed: int) -> None:
    """Whatever ends the run, make-safe is attempted, and what it says was delivered is true of the printer."""
    struck = Struck(tmp_path, kind, seed)

    bench = await struck.run()

    made = last_made_safe(bench.book)
    if made is None:
        assert [] == [line for line in bench.received if line.startswith(MOVES_OR_HEATS)]
        return
    assert made.attempted or made.complete
    assert made.sentence.split(": ")[0] in " ".join(bench.desk.told)
    if made.doing == Doing.ANSWERS.value:
        assert made.complete
    if made.complete:
        assert truly_off(bench.printer)
    else:
        assert any(each.delivered != "delivered" for each in made.attempted)
    zero = [each.delivered for each in made.attempted if each.what == "Heater targets read back as zero"]
    if zero == ["delivered"]:
        assert truly_off(bench.printer)
    if kind == "lost":
        assert Doing.LINK_LOST.value == made.doing
