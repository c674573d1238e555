"""A stop at every moment of a run: what is sent after it, what the book knew before it, and how the run ends."""

from pathlib import Path
from typing import Any

import pytest

from commission.asking.request import Confirm, TakeTrial
from commission.asking.response import InterruptionKind, TrialTaken
from commission.asking.steps import Steps, confirm
from commission.conductor.ledger import Ledger
from commission.conductor.made_safe import Doing
from commission.desk.base import OperatorStop
from commission.dialect.commands import Effect
from commission.evidence.entry import of_kind
from commission.evidence.measured import MovesBegan, Trial
from commission.evidence.runs import MadeSafe
from commission.evidence.wire import Intent
from commission.jobs.function import function_run
from commission.procedure.function.plan import FunctionPlan, Mode
from commission.procedure.meeting.identify import identify
from commission.records.unfinished import accounts
from commission.vocabulary import Outcome
from fake_printer.printer import Printer
from fake_printer.profile import load_profile
from tests.conductor.test_runs import SHORT
from tests.support.device_bench import RUN, DeviceBench, FakeDeviceLink
from tests.support.fake_bench import FakeBench
from tests.support.fake_desk import FakeDesk
from tests.support.installed import UNKNOWN, installation
from tests.support.made import begun

WARM = FunctionPlan(mode=Mode.WARM, pauses=1)
CHANGES = ("G0", "G1", "G28", "G91", "M83", "M104 S2", "M155 S5", "M302 P1", "M75", "M876", "M108")
"""What a warm test sends that does more than ask; putting back apart."""
TAG = "bench-3"


class WatchedBench(DeviceBench):
    """A bench that looks at each line on its way to the printer: `seen` is called with it before it arrives."""

    def __init__(self, folder: Path) -> None:
        super().__init__(Printer(load_profile("sound")), folder)
        self.seen: Any = lambda _line: None

    def _link(self) -> FakeDeviceLink:
        bench = self

        class FakeWatchedLink(FakeDeviceLink):
            async def send(self, data: bytes) -> None:
                """Show the line, then hand it over."""
                bench.seen(data.decode("ascii").strip())
                await super().send(data)

        link = FakeWatchedLink(self.printer, self.clock)
        self.links.append(link)
        return link


async def test_the_book_knows_of_heat_before_it_is_sent(tmp_path: Path) -> None:
    """At the moment a command that does more than ask goes out, its account stands in the book on the disk."""
    bench = WatchedBench(tmp_path)
    bench.book.append(RUN, begun(RUN, "function"))
    unknown: list[str] = []
    met: set[str] = set()

    def seen(line: str) -> None:
        if not line.startswith(CHANGES):
            return
        met.add(line.split(maxsplit=1)[0])
        known = [record.entry.command for record in of_kind(accounts(bench.book, TAG), Intent)]
        moving = bool(of_kind(accounts(bench.book, TAG), MovesBegan))
        if line not in known and not (line.startswith("G1") and moving):
            unknown.append(line)

    bench.seen = seen
    await bench.run(function_run(WARM, "R. Okafor", UNKNOWN.surroundings))

    assert [] == unknown
    assert {"G1", "G28", "G91", "M83", "M104", "M155", "M75", "M876"} <= met


@pytest.mark.parametrize("at", ["G28", "M155 S5", "M104 S200"])
async def test_nothing_is_begun_after_a_stop(tmp_path: Path, at: str) -> None:
    """Ctrl-C while a quick command is answered ends the run before the next one: no heat follows it."""
    bench = WatchedBench(tmp_path)
    changed: list[str] = []

    def seen(line: str) -> None:
        if line == at:
            bench.desk.stop_now()
        if line.startswith(CHANGES):
            changed.append(line)

    bench.seen = seen
    ended = await bench.run(function_run(WARM, "R. Okafor", UNKNOWN.surroundings))

    assert at == changed[-1]
    assert Outcome.STOPPED is ended.outcome
    assert ended.made_safe.complete
    assert not Ledger.from_record(bench.book.records()).needs_make_safe


class FakeLeavingDesk(FakeDesk):
    """A desk whose terminal is found to be gone when the first result is to be shown."""

    async def end_trial(self, request: TakeTrial, taken: TrialTaken) -> None:  # noqa: ARG002 - the interface
        """Nobody reads it."""
        raise OperatorStop("the input has ended")


async def test_a_terminal_lost_at_a_result_is_a_stop(tmp_path: Path) -> None:
    """The trial stands in the book, the run ends as stopped by the operator, and nothing is raised."""
    bench = FakeBench(tmp_path)
    bench.desk = FakeLeavingDesk(bench._operator)

    ended = await bench.run(installation(SHORT))

    assert ended.interruption is not None
    assert (InterruptionKind.OPERATOR_STOP, "the input has ended") == (
        ended.interruption.kind,
        ended.interruption.detail,
    )
    assert 1 == len(bench.entries(Trial))


async def test_a_run_stopped_before_it_knows_the_printer_names_what_is_on(tmp_path: Path) -> None:
    """What a killed run left hot is not touched before the printer is known again; a stop then is told with it."""
    bench = DeviceBench(Printer(load_profile("sound")), tmp_path)
    left = Ledger()
    left.note("M104 S200", Effect.HEAT)
    bench.desk.stop_at = "identity.same"

    def confirm_printer(_identity: object) -> Steps[None]:
        yield from confirm(Confirm("identity.same", "Is this bench-3?"))

    ended = await bench.run(identify(), ledger=left, confirm_printer=confirm_printer)

    assert (Doing.LEFT_ON, False) == (ended.made_safe.doing, ended.made_safe.complete)
    assert [False] == [made.way_out.complete for made in bench.entries(MadeSafe)]
    assert "M104 S0" not in bench.received
    assert any("not known yet whether this is its printer" in told for told in bench.desk.told)
