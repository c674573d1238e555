"""A pause watched in a print that the operator starts, on the simulated units of families B and C."""

from pathlib import Path

import pytest

from commission.asking.moving import Heard, TimedSign
from commission.dialect.pausing import Sign
from commission.evidence.findings.function import FunctionTest, Pause
from commission.jobs.install import JobResult
from commission.judge.pause_verdict import PauseSide
from commission.procedure.function.pause_watch import Watched, judged
from commission.vocabulary import Outcome, PunchClass, Verdict
from tests.procedure.print_bench import PrintBench


@pytest.mark.parametrize(
    ("unit", "verdict", "said"),
    [
        ("family-b", Verdict.CONDITIONAL, "One pause was seen in a print, and it went on; the console told of it."),
        ("b-oldest", Verdict.CONDITIONAL, "One pause was seen in a print, and it went on; the console told of it."),
        ("b-newest", Verdict.CONDITIONAL, "One pause was seen in a print, and it went on; the console told of it."),
        ("b-silent-event", Verdict.FAIL, "The filament was out, nothing was told, and the printer went on."),
        (
            "c-sensor",
            Verdict.CONDITIONAL,
            "One pause was seen in a print, and it went on; the console told nothing of it: it stands on the "
            "operator's word.",
        ),
        ("c-says-only", Verdict.FAIL, "The filament was out, nothing was told, and the printer went on."),
    ],
)
async def test_a_pause_is_watched_on_each_unit(tmp_path: Path, unit: str, verdict: Verdict, said: str) -> None:
    """What each unit does and says is what comes of it; a pause that fails is an open item of class A."""
    bench = PrintBench(tmp_path, unit)
    ended = await bench.tested()
    test, pause = bench.found(FunctionTest)[-1], bench.found(Pause)[-1]

    assert (Outcome.COMPLETE, JobResult(verdict)) == (ended.outcome, ended.result)
    assert ((said,), verdict) == (test.reasons, test.verdict)
    assert (verdict is Verdict.CONDITIONAL) is (pause.side is PauseSide.BOARD)
    assert (verdict is Verdict.FAIL) is any(item.grade is PunchClass.UNSAFE for item in bench.desk.items)
    assert [] == bench.book.verify()


async def test_nothing_that_moves_is_sent(tmp_path: Path) -> None:
    """Only questions go out: the person starts the print, and has it go on."""
    bench = PrintBench(tmp_path, "family-b")
    await bench.tested()

    sent = {line.split()[0] for line in bench.received}
    assert {"M27", "M408", "M591"} <= sent
    assert not {"M24", "M25", "M0", "G1", "G28", "RESUME", "M600", "M226"} & sent


async def test_no_runout_is_no_test(tmp_path: Path) -> None:
    """Where the filament stayed in, nothing was provoked and nothing is judged."""
    bench = PrintBench(tmp_path, "family-b")
    bench.takes_out = False
    ended = await bench.tested()

    assert JobResult(Verdict.NOT_JUDGED) == ended.result
    assert ("The source reads that filament is in: no runout was made.",) == bench.found(FunctionTest)[-1].reasons


async def test_a_job_that_held_before_the_runout_shows_nothing(tmp_path: Path) -> None:
    """Begun without filament it holds at once: the pause that is seen then is not the one that was to be made."""
    bench = PrintBench(tmp_path, "family-b")
    bench.printer.perform("withdraw")
    ended = await bench.tested()

    assert JobResult(Verdict.NOT_JUDGED) == ended.result
    assert "Before the runout filament was out already" in bench.found(FunctionTest)[-1].reasons[0]


async def test_who_leaves_it_has_no_pause_tested(tmp_path: Path) -> None:
    """As before: not judged, and an open item."""
    bench = PrintBench(tmp_path, "c-sensor")
    print_of_bench = bench.answers
    bench.answers = lambda key: False if key == "pause_watch.now" else print_of_bench(key)
    ended = await bench.tested()

    assert JobResult(Verdict.NOT_JUDGED) == ended.result
    assert [] == bench.found(Pause)
    assert "Whether the printer pauses was not tested." in [item.text for item in bench.desk.items]


def seen(*signs: Sign, held: bool | None = None, out: bool | None = True, stopped: bool = True) -> Watched:
    """What was seen of a pause, that went on where it stopped."""
    heard = Heard(tuple(TimedSign(1.0, sign, sign.value) for sign in signs))
    return Watched(heard, held, out, stopped, went_on=True if stopped else None)


@pytest.mark.parametrize(
    ("watched", "verdict"),
    [
        (seen(Sign.PRINTER_PAUSED), Verdict.CONDITIONAL),
        (seen(held=True), Verdict.CONDITIONAL),
        (seen(out=None), Verdict.CONDITIONAL),
        (seen(out=False), Verdict.NOT_JUDGED),
        (seen(held=False), Verdict.NOT_JUDGED),
        (seen(held=True, stopped=False), Verdict.NOT_JUDGED),
        (seen(Sign.HOST_ASKED, stopped=False), Verdict.FAIL),
        (seen(Sign.RUNOUT_NOTED, stopped=False), Verdict.FAIL),
        (seen(stopped=False), Verdict.FAIL),
        (seen(out=None, stopped=False), Verdict.NOT_JUDGED),
    ],
)
def test_what_was_seen_decides(watched: Watched, verdict: Verdict) -> None:
    """Never more than a conditional pass; what contradicts itself, or was never provoked, is not judged."""
    assert verdict is judged(watched).verdict
