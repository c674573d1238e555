"""The phases of a periodic check that take hands; each stands for itself when the check is broken off and taken up.

What each came to is worked out again by its own steps from the answers that the book holds, so that a check that was
taken up again judges what an unbroken one would have judged.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from commission.asking.cautions import BY_HAND
from commission.asking.message import Tell, Weight
from commission.asking.phase import Change, Progress
from commission.asking.power import power_cycle
from commission.asking.replay import worked_out_again
from commission.asking.request import Confirm, PhaseBegins, PhaseEnds
from commission.asking.response import WatchTaken
from commission.asking.steps import Steps, ask, confirm, establish
from commission.dialect.commands import RUNOUT_CONTROL
from commission.dialect.runout import RunoutControl, runout_of
from commission.evidence.findings.reported import RunoutControlAfterRestart, runout_values
from commission.judge.plan import Plan
from commission.judge.trial_series import NOTHING_SO_FAR, SeriesSoFar, Tally
from commission.procedure.loop.by_hand import worked_by_hand
from commission.procedure.loop.loop_check import trials_by_hand
from commission.procedure.loop.trials import Series
from commission.procedure.loop.unplug import Unplugged, unplug_test
from commission.procedure.loop.wiggle import wiggle_by_hand
from commission.procedure.meeting.as_found import runout_sentences

_T = TypeVar("_T")

BY_HAND_NAME = "proof_test"
BY_HAND_VOIDED_BY = frozenset({Change.FIRMWARE, Change.WIRING})
POWER_OFF_NAME = "power_off_test"
POWER_OFF_VOIDED_BY = frozenset({Change.FIRMWARE, Change.WIRING, Change.SETTINGS})


@dataclass(frozen=True)
class Proven:
    """What the trials and the wiggle showed; without a wiggle where the trials left nothing clean to lose."""

    series: Series
    wiggle: WatchTaken | None = None


@dataclass(frozen=True)
class PoweredOff:
    """What was read with the sensor off, if it was unplugged, and whether the printer watches after the restart."""

    unplugged: Unplugged
    after_restart: RunoutControl
    restart_seen: bool


def proven(plan: Plan, switch: str, progress: Progress, so_far: SeriesSoFar = NOTHING_SO_FAR) -> Steps[Proven]:
    """The trials and the wiggle, or what this run has shown by them already."""

    def phase() -> Steps[Proven]:
        return _by_hand(plan, switch, so_far)

    return (yield from _unless_done(progress, BY_HAND_NAME, BY_HAND_VOIDED_BY, switch, phase))


def powered_off(plan: Plan, switch: str, progress: Progress) -> Steps[PoweredOff]:
    """The unplug test, or at least a restart, or what this run has shown by them already."""
    again = _unless_done(progress, POWER_OFF_NAME, POWER_OFF_VOIDED_BY, switch, lambda: _power_off(plan, switch))
    return (yield from again)


def _unless_done(
    progress: Progress, name: str, voided_by: frozenset[Change], switch: str, phase: Callable[[], Steps[_T]]
) -> Steps[_T]:
    def revive(kept: Mapping[str, Any]) -> Steps[_T | None]:
        return (yield from worked_out_again(phase(), name)) if kept.get("switch") == switch else None

    return (yield from progress.unless_done(name, voided_by, phase(), revive))


def _by_hand(plan: Plan, switch: str, so_far: SeriesSoFar) -> Steps[Proven]:
    yield PhaseBegins(BY_HAND_NAME, "Proof test: from the filament to the reading and back")
    yield Tell(BY_HAND, heading="Before you start", weight=Weight.CAUTION)
    series = yield from worked_by_hand(trials_by_hand(plan, switch, Series(Tally(so_far))))
    spoilt = series.given_up or not series.can_pass(plan)
    wiggle = None if spoilt else (yield from worked_by_hand(wiggle_by_hand(plan, switch)))
    yield PhaseEnds(BY_HAND_NAME, {"switch": switch})
    return Proven(series, wiggle)


def _power_off(plan: Plan, switch: str) -> Steps[PoweredOff]:
    yield PhaseBegins(POWER_OFF_NAME, "Power off: what a broken wire reads, and what a restart leaves switched on")
    lines = (
        f"It takes the power off {plan.power_ups + 1} times and shows what a broken wire would do. With the sensor "
        "unplugged the filament is moved in and out twice, to see that it was the sensor's plug.",
    )
    unplugged = Unplugged()
    if (yield from confirm(Confirm("unplug.ready", "Go on with the unplug test?", lines))):
        unplugged = yield from unplug_test(plan, switch)
        seen = unplugged.back.restart
    else:
        seen = (yield from power_cycle("proof.power_cycle")).power.restart
    after = runout_of((yield from ask(RUNOUT_CONTROL)).lines)
    yield from establish(RunoutControlAfterRestart(sentences=runout_sentences(after), **runout_values(after)))
    yield PhaseEnds(POWER_OFF_NAME, {"switch": switch})
    return PoweredOff(unplugged, after, seen)
