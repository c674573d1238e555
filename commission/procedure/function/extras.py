"""The tests beside the pauses and the real runout; each may be left out with a reason, which limits the verdict."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from commission.asking.leave_out import leave_out
from commission.asking.moving import MovesEnd, RunMoves
from commission.asking.power import power_cycle
from commission.asking.request import Confirm
from commission.asking.response import Interrupted, Interruption, InterruptionKind
from commission.asking.steps import Steps, ask, confirm, establish, run_moves
from commission.dialect.commands import RUNOUT_CONTROL
from commission.dialect.pausing import Question
from commission.dialect.runout import runout_of
from commission.evidence.findings.function import (
    BesideThePause,
    EnabledAfterPower,
    LongWait,
    PowerCycle,
    RealRunout,
    RunoutInChange,
    StartWithoutFilament,
)
from commission.judge.power import NOT_SEEN
from commission.procedure.function.change_over import Changed
from commission.procedure.function.fault import AGAIN, EMPTY_START, NEVER_SAVED, Fault
from commission.procedure.function.filament_ready import filament_out
from commission.procedure.function.moves import restart_job
from commission.procedure.function.pause_trial import STOPPED
from commission.procedure.function.plan import LEAD_S, RELEASE, FunctionPlan
from commission.vocabulary import Verdict

POWER = "a power cycle"
KINDS: Mapping[str, type[BesideThePause]] = {
    "real": RealRunout,
    "in_change": RunoutInChange,
    "start_empty": StartWithoutFilament,
    "long_wait": LongWait,
    "power": PowerCycle,
}
"""For each of them the kind of its finding."""


@dataclass(frozen=True)
class Extra:
    """What came of one of them.

    Attributes:
        key: its fixed name.
        reason: why it was left out, or what was seen.
        shut: key of the gate it shows shut; empty for none.
        cure: what to do about a fail.
    """

    key: str
    title: str
    verdict: Verdict
    reason: str
    shut: str = ""
    cure: str = AGAIN

    @property
    def fault(self) -> Fault:
        """A failed one as what went wrong."""
        return Fault(f"{self.title.capitalize()}: {self.reason}", self.cure)


def offered(key: str, title: str, lines: tuple[str, ...], test: Callable[[], Steps[Extra]]) -> Steps[Extra]:
    """Do it, or have a reason why not."""
    out = yield from wanted(key, title, lines)
    if out is not None:
        return out
    extra = yield from test()
    yield from seen(extra)
    return extra


def wanted(key: str, title: str, lines: tuple[str, ...]) -> Steps[Extra | None]:
    """Ask whether it is done now; None for a yes, else what stands in the record, with the reason."""
    if (yield from confirm(Confirm(f"function.{key}.now", f"Next: {title}. Do it now?", lines))):
        return None
    reason = yield from leave_out(
        title, f"function.{key}.reason", lambda reason: _found(_not_done(key, title, reason)), needed=True
    )
    return _not_done(key, title, reason)


def seen(extra: Extra) -> Steps[None]:
    """Put into the record what came of it."""
    yield from establish(_found(extra))


def left_out(key: str, title: str, reason: str) -> Steps[Extra]:
    """Put into the record that it cannot be done here, and why."""
    extra = _not_done(key, title, reason)
    yield from establish(_found(extra))
    return extra


def _not_done(key: str, title: str, reason: str) -> Extra:
    return Extra(key, title, Verdict.NOT_JUDGED, f"left out: {reason.rstrip('.')}.")


def _found(extra: Extra) -> BesideThePause:
    said = f"{extra.title.capitalize()}: {extra.reason}"
    return KINDS[extra.key](sentences=(said,), verdict=extra.verdict, reason=extra.reason, shut=extra.shut)


def start_empty(
    plan: FunctionPlan, switch: str, leftover_mm: float | None, change: Callable[[Question | None], Steps[Changed]]
) -> Steps[Extra]:
    """A job begun without filament: it stops before more than leftover and queue are fed, or never.

    Args:
        plan: with the moves.
        switch: the one that is watched.
        leftover_mm: as the printer reports it; None when it does not.
        change: has the change done that the printer then asks for; ends the procedure where it does not go on.
    """
    title = "start with no filament"
    yield from filament_out(switch)
    if plan.starts_job:
        yield from restart_job()
    pattern = plan.pattern
    run = yield from run_moves(
        RunMoves(
            key="start_empty",
            title="Start with no filament",
            lines=("Moves begin without filament. Hands off.",),
            deed="leave everything as it is",
            switch=switch,
            pattern=pattern,
            lead_s=LEAD_S,
            trip_s=plan.stop_s(leftover_mm),
            stop_s=plan.stop_s(leftover_mm),
            release=RELEASE,
            trips=False,
        )
    )
    fed_mm = sum(move.feed_mm for move in run.moves)
    if run.end in STOPPED:
        changed = yield from change(run.question)
        if not changed.good:
            return Extra(
                "start_empty", title, Verdict.FAIL, "it stopped, and the change then did not end as it should."
            )
        most_mm = (leftover_mm or 0.0) + pattern.queue_mm + 2 * pattern.feed_mm
        said = f"it stopped after {fed_mm:.1f} mm of filament were fed (leftover and queue: {most_mm:.1f} mm)."
        return Extra("start_empty", title, Verdict.PASS if fed_mm <= most_mm else Verdict.CONDITIONAL, said)
    if run.end is MovesEnd.NO_TRIP:
        said = f"it was not noticed in {fed_mm:.1f} mm: only a change of the switch is acted on."
        return Extra("start_empty", title, Verdict.FAIL, said, cure=EMPTY_START)
    return Extra("start_empty", title, Verdict.NOT_JUDGED, f"the moves ended otherwise: {run.end.value}.")


def after_power_cycle() -> Steps[Extra]:
    """Take the power off and read whether watching came back with it."""
    title = POWER
    released = yield from power_cycle("function.power")
    enabled = runout_of((yield from ask(RUNOUT_CONTROL)).lines).enabled
    if enabled and not released.power.restart:
        said = f"{NOT_SEEN}: that runout detection is on does not show that it is stored."
        yield from establish(EnabledAfterPower(sentences=(said,), enabled=None))
        return Extra("power", title, Verdict.NOT_JUDGED, f"{said[0].lower()}{said[1:]}")
    said = "After a power cycle runout detection was " + {True: "on.", False: "off.", None: "not stated."}[enabled]
    yield from establish(EnabledAfterPower(sentences=(said,), enabled=enabled))
    if enabled is None:
        return Extra("power", title, Verdict.NOT_JUDGED, "whether runout detection is on was not stated.")
    said = "runout detection was still on." if enabled else "runout detection was off: it was never saved."
    shut = "" if enabled else "after_power"
    return Extra("power", title, Verdict.PASS if enabled else Verdict.FAIL, said, shut, NEVER_SAVED)


def raise_stuck(when: str) -> None:
    """End the procedure: a printer that waits and cannot be answered takes no further test.

    Raises:
        Interrupted: always.
    """
    said = f"The printer still waits {when} and was not answered: it takes no further test. Answer it at its display."
    raise Interrupted(Interruption(InterruptionKind.NO_ANSWER, said))
