"""One provoked runout: moves run, the operator makes the filament go, and what the printer does is measured."""

import re
from dataclasses import dataclass

from commission.asking.moving import MovesEnd, MovesRun, RunMoves, TimedSign
from commission.asking.request import Confirm
from commission.asking.steps import Steps, confirm, establish, run_moves
from commission.dialect.pausing import Sign
from commission.evidence.findings.function import Pause, pause_lengths
from commission.evidence.wire import HeardSign
from commission.judge.pause_length import LoggedMove, PauseMeasured, measure
from commission.judge.pause_verdict import PauseJudged, PauseSeen, judge_pause
from commission.procedure.function.card_test import ENDED, at_work
from commission.procedure.function.filament_ready import why_no_change
from commission.procedure.function.plan import LEAD_S, RELEASE, TRIP_S, FunctionPlan, Mode
from commission.units import millimetres as mm
from commission.vocabulary import Reading, Verdict

STOPPED = (MovesEnd.STOPPED, MovesEnd.STOPPED_EARLY)


@dataclass(frozen=True)
class PauseTrial:
    """A trial and what it came to.

    Attributes:
        done: the runout was provoked as the prompt said; else nothing is judged.
    """

    run: MovesRun
    judged: PauseJudged
    done: bool = True

    @property
    def stopped(self) -> bool:
        """Whether the printer waits now."""
        return self.run.end in STOPPED


@dataclass(frozen=True)
class Provoke:
    """How a runout is provoked.

    Attributes:
        key: names the moves for a scripted operator.
        deed: what the operator does.
        word: that in one word.
        trip_s: how long that may take to reach the switch.
    """

    key: str
    title: str
    deed: str
    word: str
    lines: tuple[str, ...]
    trip_s: float = TRIP_S


PULL = Provoke(
    "pause.pull",
    "Pause",
    "pull the filament out of the sensor",
    "PULL",
    (
        "Moves begin at once. Do nothing before the screen says so.",
        "Then pull the filament out of the sensor, upwards.",
        "Keep clear of the head. Ctrl-C ends the run.",
    ),
)
CUT = Provoke(
    "pause.cut",
    "Runout",
    "cut the filament once, a hand's breadth above the sensor; then wait",
    "CUT",
    (
        "Moves begin at once, and plastic is extruded.",
        "When the screen says so, cut the filament above the sensor.",
        "Let the printer draw its end through: no push, no pull.",
        "Ctrl-C ends the run.",
    ),
    trip_s=180.0,
)


def pause_trial(
    plan: FunctionPlan, switch: str, leftover_mm: float | None, provoke: Provoke, earlier_pauses: int
) -> Steps[PauseTrial]:
    """Provoke one runout and judge it."""
    pattern = plan.pattern
    run = yield from run_moves(
        RunMoves(
            key=provoke.key,
            title=f"{provoke.title} {earlier_pauses + 1}",
            lines=provoke.lines,
            deed=provoke.deed,
            word=provoke.word,
            switch=switch,
            pattern=pattern,
            lead_s=LEAD_S,
            trip_s=provoke.trip_s,
            stop_s=plan.stop_s(leftover_mm),
            release=RELEASE,
            sends=plan.mode is not Mode.CARD,
        )
    )
    seen = seen_in(run, plan, earlier_pauses)
    gap_s = 0.0 if seen.measured is None else seen.measured.gap_s
    judged = judge_pause(
        seen, leftover_mm=leftover_mm, block_mm=pattern.feed_mm, speed_mm_s=pattern.feed_mm_s, largest_gap_s=gap_s
    )
    not_done = yield from _not_done(run, plan, switch)
    if not_done:
        judged = PauseJudged(Verdict.NOT_JUDGED, judged.side, reasons=(not_done,))
    yield from establish(_found(provoke, run, judged, seen), _in_short(judged, seen))
    return PauseTrial(run, judged, done=not not_done)


def _not_done(run: MovesRun, plan: FunctionPlan, switch: str) -> Steps[str]:
    """Why nothing was provoked, in one sentence; empty when something was.

    Where it paused while the switch stayed as it was, only the operator knows whether filament was in.
    """
    if run.end is MovesEnd.NO_TRIP:
        return (yield from why_no_change(plan))
    if run.end is MovesEnd.NO_STOP and plan.mode is Mode.CARD:
        return "" if (yield from at_work()) else ENDED
    if run.end is not MovesEnd.STOPPED_EARLY:
        return ""
    lines = (f"The printer stopped although the reading of '{switch}' did not change.",)
    was_in = yield from confirm(Confirm("pause.was_in", "Was filament in the sensor until it stopped?", lines))
    return "" if was_in else "The filament was out before the moves began: nothing was provoked."


def seen_in(run: MovesRun, plan: FunctionPlan, earlier_pauses: int) -> PauseSeen:
    """What happened, as the judge takes it."""
    return PauseSeen(
        stopped=run.end in STOPPED,
        before_trip=run.end is MovesEnd.STOPPED_EARLY,
        host_asked=run.first(Sign.HOST_ASKED) is not None,
        change_refused=run.end is MovesEnd.CHANGE_REFUSED,
        feed_refused=run.end is MovesEnd.FEED_REFUSED,
        silent=run.silent,
        board_knows_job=plan.starts_job or plan.mode is Mode.CARD,
        earlier_pauses=earlier_pauses,
        measured=measured_in(run) if plan.mode is not Mode.CARD else timed_in(run, plan.pattern.feed_mm_s),
    )


def measured_in(run: MovesRun) -> PauseMeasured | None:
    """The lengths, where there are moves of our own and a trip."""
    trip = run.trip
    if trip is None or not run.moves:
        return None
    last_in_s, first_out_s = trip
    announced = [sign for sign in announcements(run) if sign.at_s >= last_in_s]
    return measure(
        [LoggedMove(move.acked_at_s, move.feed_mm, move.block_s) for move in run.moves],
        last_in_s=last_in_s,
        first_out_s=first_out_s,
        announced_s=announced[0].at_s if announced else None,
    )


def timed_in(run: MovesRun, speed_mm_s: float) -> PauseMeasured | None:
    """The length of a card job, whose moves are not ours: from the trip to the announcement, at the job's own flow."""
    trip, announced = run.trip, announcements(run)
    if trip is None or not announced:
        return None
    after_s = announced[0].at_s - (trip[0] + trip[1]) / 2
    return PauseMeasured(
        length_mm=after_s * speed_mm_s,
        queue_mm=0.0,
        announced_after_s=after_s,
        stopped_after_s=after_s,
        gap_s=trip[1] - trip[0],
    )


def announcements(run: MovesRun) -> list[TimedSign]:
    """The lines that name a runout; that it has paused is said later, once its queue is empty."""
    named = re.compile(r"runout|out_of_filament", re.IGNORECASE)
    return [sign for sign in run.signs if sign.sign is Sign.RUNOUT or (sign.sign in TOLD and named.search(sign.text))]


TOLD = frozenset({Sign.PRINTER_PAUSED, Sign.HOST_ASKED})


def reads_in(run: MovesRun) -> tuple[Reading, str] | None:
    """The reading and the printer's own word while filament was in, when a pause showed that it is so taken."""
    if run.trip is None or run.end is not MovesEnd.STOPPED:
        return None
    first = next(reading for reading in run.readings if reading.reading is not Reading.UNKNOWN)
    return first.reading, first.wire_word


def _in_short(judged: PauseJudged, seen: PauseSeen) -> tuple[str, ...]:
    """A pause as predicted, in one line; whatever else came is told whole."""
    if judged.verdict is not Verdict.PASS or seen.measured is None or judged.predicted_mm is None or seen.silent:
        return ()
    came = f"{mm(seen.measured.length_mm)} after the trip, {mm(judged.predicted_mm)} predicted"
    return (f"{judged.reasons[0]} {came}.",)


def _times(measured: PauseMeasured | None, *, stopped: bool) -> tuple[str, ...]:
    if measured is None:
        return ()
    if measured.announced_after_s is None:
        return ("Nothing announced it: only the stop shows it." if stopped else "No runout was announced either.",)
    return (f"Announced {measured.announced_after_s:.1f} s after the trip.",)


def _found(provoke: Provoke, run: MovesRun, judged: PauseJudged, seen: PauseSeen) -> Pause:
    return Pause(
        sentences=(*judged.reasons, *_times(seen.measured, stopped=seen.stopped)),
        kind=provoke.key,
        end=run.end.value,
        verdict=judged.verdict,
        side=judged.side,
        predicted_mm=judged.predicted_mm,
        agrees=judged.agrees,
        shut=judged.shut,
        silent=run.silent,
        signs=tuple(HeardSign(round(sign.at_s, 3), sign.sign.value, sign.text) for sign in run.signs),
        **pause_lengths(seen.measured),
    )
