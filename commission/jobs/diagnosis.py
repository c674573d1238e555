"""Whole runs of `diagnose`: with the printer, asking for tests; and on paper, from what the book holds."""

from collections.abc import Mapping, Sequence

from commission.asking.cautions import GENERAL
from commission.asking.message import Tell, Weight
from commission.asking.request import Confirm
from commission.asking.steps import Steps, confirm
from commission.jobs.install import JobResult
from commission.jobs.several import alone
from commission.judge.diagnosis import Observation
from commission.judge.plan import Plan
from commission.judge.wording import counted
from commission.procedure.cause.bench_tests import OFF_AT_BOARD, PLUGGED
from commission.procedure.cause.diagnose import may_be_tested, weigh
from commission.procedure.cause.find_cause import find_cause, read_only
from commission.procedure.loop.tests_done import seen_before
from commission.procedure.meeting.as_found import as_found
from commission.procedure.meeting.identify import identify
from commission.procedure.meeting.identity import Surroundings, same_printer
from commission.procedure.meeting.not_reported import not_reported
from commission.procedure.wiring.declaration import declared_before, wiring
from commission.procedure.wiring.noted import told_as_declared
from commission.procedure.wiring.sensor_plug import plugged_in
from commission.vocabulary import Verdict

NOTHING_SAID: Mapping[str, Sequence[str]] = {}


def diagnose_run(plan: Plan, surroundings: Surroundings, sensors: Sequence[str] = ()) -> Steps[JobResult]:
    """Ask how it is wired, take what was seen before where it still holds, and go on from there.

    A diagnosis finds a cause and passes nothing: its verdict is always *not judged*.

    Args:
        plan: how long a dwell is.
        surroundings: what was known before the port was opened.
        sensors: several that the record has of this printer; empty where it has one.

    Raises:
        Interrupted: the operator says that it is another printer: the evidence on record is then not of this one.
    """
    yield Tell(GENERAL, heading="Before you begin", weight=Weight.CAUTION)
    identity = yield from identify()
    yield from same_printer(surroundings, identity)
    found = yield from as_found(identity, surroundings.source)
    if found.switch is None:
        yield from not_reported(found.met)
        return JobResult(Verdict.NOT_JUDGED)
    yield from alone(sensors, found.met, found.switch, _diagnosed(plan, found.switch))
    return JobResult(Verdict.NOT_JUDGED)


def _diagnosed(plan: Plan, switch: str) -> Steps[None]:
    declared = yield from wiring()
    if declared is not None and (yield from may_be_tested(declared)):
        seen = yield from _still_holds()
        place = PLUGGED if (yield from plugged_in()) else OFF_AT_BOARD
        yield from find_cause(declared, seen, plan, switch, place)


def paper_run(
    sensors: Sequence[str] = (), wanted: str = "", declared: Mapping[str, Sequence[str]] = NOTHING_SAID
) -> Steps[JobResult]:
    """Weigh what the book holds and name the next test; nothing is sent and nobody is asked.

    Args:
        sensors: several that the record has of this printer, each weighed for itself; empty where it has one.
        wanted: the one of them that it is about; empty for each.
        declared: what is said of a wiring that was declared without a run, by its sensor's name.
    """
    chosen = [wanted] if wanted else list(sensors)
    if not chosen:
        yield from _on_paper("this printer", declared.get("", ()))
    for sensor in chosen:
        yield from alone(sensors, None, sensor, _on_paper(sensor, declared.get(sensor, ())))
    return JobResult(Verdict.NOT_JUDGED)


def _on_paper(whose: str, said: Sequence[str]) -> Steps[None]:
    declared = yield from declared_before(earlier=True)
    if declared is None or declared.installation is None:
        yield Tell((f"The book holds no wiring of {whose} that could be diagnosed.",), weight=Weight.NOTE)
    else:
        yield from told_as_declared(said)
        yield from weigh(declared, (yield from seen_before(earlier=True)), asks=False)


def _still_holds() -> Steps[list[Observation]]:
    seen = read_only((yield from seen_before(earlier=True)))
    if not seen:
        return []
    lines = (
        f"The book holds {counted(len(seen), 'test')} of the last time.",
        "A repair since then makes all of them void.",
    )
    question = "Is everything as it was then: wiring, contact, plug, firmware?"
    return seen if (yield from confirm(Confirm("diagnose.unchanged", question, lines))) else []
