"""A sensor of movement fed by the printer's motor: a simulated unit and a person who answers by the key."""

from collections.abc import Callable, Mapping
from pathlib import Path

from commission.conductor.ended import Ended
from commission.evidence.findings.motion import MotionChecked
from commission.jobs.install import JobResult
from commission.jobs.motion import motion_run
from commission.vocabulary import Verdict
from fake_printer.printer import Printer
from fake_printer.profile import load_profile
from tests.support.device_bench import SLOW_BAUD, DeviceBench
from tests.support.installed import UNKNOWN

SAYS: Mapping[str, bool | str] = {
    "motion.how": "motor",
    "motion.material": "PLA",
    "motion.celsius": "200",
    "motion.sheet": "3",
    "motion.length": "60",
}
MARKED = {"motion.mark_before": "400", "motion.mark_after": "210"}
"""180 mm of passes after 10 mm that take up the slack."""


class FeedBench(DeviceBench):
    """A simulated unit and a person who answers by the key; the filament goes in as the length is asked for."""

    def __init__(self, folder: Path, unit: str, says: Mapping[str, bool | str]) -> None:
        super().__init__(Printer(load_profile(unit)), folder)
        self.says = {**SAYS, **says}
        if self.says["motion.how"] == "motor":
            self.speed_baud = SLOW_BAUD  # a change of 3 mm at 1.5 mm/s is still read thirty times
        self.deeds: dict[str, Callable[[], object]] = {"motion.length": lambda: self.printer.perform("insert")}

    def _operator(self, key: str) -> bool | str | None:
        if key in self.deeds:
            self.deeds[key]()
            self.clock.pass_time(1.0)
        return self.says.get(key)

    async def checked(self) -> Ended[JobResult]:
        """The whole job."""
        return await self.run(motion_run("R. Okafor", UNKNOWN.surroundings))

    @property
    def finding(self) -> MotionChecked:
        """What was found."""
        return self.found(MotionChecked)[-1]

    @property
    def rules(self) -> dict[str, Verdict]:
        """Each rule's verdict by its name."""
        return {each.name: each.verdict for each in self.finding.criteria}

    @property
    def target_c(self) -> float:
        """What the hotend is heated to now."""
        assert self.printer.firmware is not None
        return self.printer.firmware.hotend.target_c
