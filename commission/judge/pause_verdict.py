"""What one provoked runout shows: whether it paused, which side paused, and whether the length is the predicted one.

A test expects the board itself to stop, after the leftover distance and the queue of the test's own moves. The first
gate that is shown shut by what happened is named; the rule is common practice of the trade, no source.
"""

from dataclasses import dataclass, field
from enum import Enum

from commission.command_lines import INSTALL
from commission.judge.pause_length import PauseMeasured, pause_agrees
from commission.units import millimetres as mm
from commission.units import seconds
from commission.vocabulary import Verdict

POLARITY = f"Run the loop check (`{INSTALL}`): it finds out whether the contact or the logic is the wrong way round."
ONCE_MORE = (
    "Restart the printer and test once more; if it does not pause then, the sensor is not the input that the firmware "
    "watches."
)


class PauseSide(Enum):
    """Who stopped."""

    BOARD = "the board itself stopped"
    HOST_ONLY = "only the host was asked to pause; the board went on"
    NEITHER = "nothing stopped"


@dataclass(frozen=True)
class PauseSeen:
    """What happened.

    Attributes:
        stopped: the board took no more moves.
        before_trip: it did so before the switch changed.
        host_asked: the host was asked to pause.
        change_refused, feed_refused: it said that it is too cold for a change, or to drive filament.
        silent: it stopped without a word.
        board_knows_job: a job was started at the board for this test.
        earlier_pauses: pauses in this run before this one, without a restart.
        measured: lengths and times; None when nothing could be measured.
    """

    stopped: bool
    before_trip: bool = False
    host_asked: bool = False
    change_refused: bool = False
    feed_refused: bool = False
    silent: bool = False
    board_knows_job: bool = True
    earlier_pauses: int = 0
    measured: PauseMeasured | None = None


@dataclass(frozen=True)
class PauseJudged:
    """What follows from it.

    Attributes:
        agrees: the length is the predicted one; None when it could not be compared.
        shut: key of the gate that this shows shut; empty for none.
        reasons: sentences.
        cure: what to do about a fail, where no gate says it.
    """

    verdict: Verdict
    side: PauseSide
    predicted_mm: float | None = None
    agrees: bool | None = None
    shut: str = ""
    reasons: tuple[str, ...] = field(default_factory=tuple)
    cure: str = ""


def judge_pause(
    seen: PauseSeen, *, leftover_mm: float | None, block_mm: float, speed_mm_s: float, largest_gap_s: float
) -> PauseJudged:
    """Hold what happened against what was predicted.

    Args:
        seen: what happened.
        leftover_mm: D as the printer reports it; None when it does not.
        block_mm: filament of one test move.
        speed_mm_s: of the filament.
        largest_gap_s: between two readings around the trip.
    """
    if seen.feed_refused or seen.change_refused:
        what = "The printer would not drive filament" if seen.feed_refused else "The change was refused"
        return _failed(PauseSide.NEITHER, "heat", f"{what}: too cold.")
    if seen.stopped and seen.before_trip:
        said = "It paused before the switch changed, with filament in: it takes filament in for filament out."
        return _failed(PauseSide.BOARD, "", said, cure=POLARITY)
    if not seen.stopped:
        return _not_stopped(seen)
    return _stopped(seen, leftover_mm, block_mm, speed_mm_s, largest_gap_s)


def _failed(side: PauseSide, shut: str, *reasons: str, cure: str = "") -> PauseJudged:
    return PauseJudged(Verdict.FAIL, side, shut=shut, reasons=reasons, cure=cure)


def _not_stopped(seen: PauseSeen) -> PauseJudged:
    if seen.host_asked:
        return _failed(PauseSide.HOST_ONLY, "not_host_alone", "The host was asked to pause, and the board went on.")
    if not seen.board_knows_job:
        said = "No pause: the board was told of no print, and detects runouts only during one."
        return _failed(PauseSide.NEITHER, "job", said)
    if seen.earlier_pauses:
        said = "No pause, although it paused before in this run: the earlier runout is still latched."
        return _failed(PauseSide.NEITHER, "not_latched", said)
    said = "No pause, although no gate was found shut: an earlier runout may be latched."
    return _failed(PauseSide.NEITHER, "", said, cure=ONCE_MORE)


def _stopped(
    seen: PauseSeen, leftover_mm: float | None, block_mm: float, speed_mm_s: float, largest_gap_s: float
) -> PauseJudged:
    said = [f"It paused: {PauseSide.BOARD.value}."]
    if seen.silent:
        said.append("It did so without a word: this build says nothing while it waits.")
    if seen.measured is None or leftover_mm is None:
        said.append(
            "The length could not be compared: " + ("no leftover is stated." if seen.measured else "not measured.")
        )
        return PauseJudged(Verdict.CONDITIONAL, PauseSide.BOARD, reasons=tuple(said))
    measured = seen.measured
    predicted_mm = leftover_mm + measured.queue_mm
    agrees = pause_agrees(
        predicted_mm, measured.length_mm, block_mm=block_mm, speed_mm_s=speed_mm_s, gap_s=largest_gap_s
    )
    took = seconds(max(0.0, measured.stopped_after_s))
    said.append(
        f"From the trip to the stop {mm(measured.length_mm)} of filament in {took}; "
        f"predicted {mm(predicted_mm)} (leftover {mm(leftover_mm)}, queued {mm(measured.queue_mm)})."
    )
    if not agrees:
        said.append("That is not the predicted length: this build counts the leftover distance in another way.")
    return PauseJudged(
        Verdict.PASS if agrees else Verdict.CONDITIONAL, PauseSide.BOARD, predicted_mm, agrees, "", tuple(said)
    )
