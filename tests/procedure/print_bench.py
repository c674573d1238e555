"""A unit whose operator starts a print from its card, so that a pause in it can be watched."""

from pathlib import Path

from commission.conductor.ended import Ended
from commission.jobs.function import function_run
from commission.jobs.install import JobResult
from commission.procedure.function.plan import FunctionPlan, Mode
from commission.procedure.meeting.identity import Surroundings
from fake_printer.printer import Printer
from fake_printer.profile import load_profile
from tests.procedure.borrow_bench import HERE
from tests.support.device_bench import DeviceBench

LONG = ["G91", "M83", *["G1 X2 E2 F600"] * 3000]
"""A fifth of a second and two millimetres a move."""
DRY = FunctionPlan(mode=Mode.DRY)


class PrintBench(DeviceBench):
    """A unit whose operator starts a print from its card, and takes the filament out when the screen says so.

    What the person says of the head is what the card of the unit does. Steer it by `takes_out`.
    """

    def __init__(self, folder: Path, unit: str) -> None:
        super().__init__(Printer(load_profile(unit)), folder)
        self.takes_out = True
        self.answers = self._at_the_print
        self.printer.perform("insert")

    async def tested(self) -> Ended[JobResult]:
        """The whole job."""
        surroundings = Surroundings(HERE.tag, HERE.port)
        return await self.run(function_run(DRY, "R. Okafor", surroundings))

    def _at_the_print(self, key: str) -> bool | str | None:
        match key:
            case "source.name":
                return "spool_left"
            case "pause_watch.begun":
                self._start()
            case "pause_watch.stopped":
                if self.takes_out:
                    self.printer.perform("withdraw")
                self.clock.pass_time(20.0)
                return not self._prints()
            case "pause_watch.goes_on":
                self.printer.perform("insert")
                self.clock.pass_time(2.0)
                self.printer.perform("card-goes-on")
                self.clock.pass_time(5.0)
                return self._prints()
        return None

    def _start(self) -> None:
        assert self.printer.firmware is not None
        self.printer.firmware.cold_allowed = True
        file = self.folder / "job.txt"
        file.write_text("\n".join(LONG))
        self.printer.perform("print-card", str(file))
        self.clock.pass_time(15.0)

    def _prints(self) -> bool:
        """Whether the job on the card goes on."""
        firmware = self.printer.firmware
        assert firmware is not None
        before = len(firmware.runner.card)
        self.clock.pass_time(5.0)
        return len(firmware.runner.card) < before
