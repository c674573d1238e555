"""The job of the card test: its file, its start at the printer's own display, whether it is under way, and its end."""

from commission.asking.message import Tell, Weight
from commission.asking.request import Confirm
from commission.asking.response import Interrupted
from commission.asking.steps import Steps, ask, confirm, establish, keep
from commission.dialect.commands import (
    ABSOLUTE_EXTRUSION,
    ABSOLUTE_MOVES,
    HEATERS_OFF,
    HOME,
    RELATIVE_EXTRUSION,
    RELATIVE_MOVES,
    move,
    permit_cold_extrusion,
)
from commission.dialect.jobs import CARD, STOP_CARD_JOB, CardState, card_of
from commission.evidence.findings.function import CardJob
from commission.procedure.function.plan import RAISE_MM, RELEASE, FunctionPlan

HOMING_S = 120.0
CARD_MOVES = 1200
"""Ten minutes of moves: enough for the pauses and for the hands between them; the tool stops it after the test."""
MOST_STARTS = 3
RAISE = move(z_mm=RAISE_MM, speed_mm_s=5)
STILL_AT_WORK = "The job from the card is still under way: stop it at the printer's own display."
RUNS_ON = "If the job from the card was started, it runs on: stop it at the printer's own display."
ENDED = "The job from the card ended before the pause could come."


def card_job(plan: FunctionPlan) -> str:
    """The small job file, one command a line."""
    before = [HOME, RELATIVE_MOVES, RELATIVE_EXTRUSION, RAISE, permit_cold_extrusion(on=True)]
    moves = [plan.pattern.command(number) for number in range(CARD_MOVES)]
    after = [permit_cold_extrusion(on=False), *HEATERS_OFF, ABSOLUTE_MOVES, ABSOLUTE_EXTRUSION]
    lines = [command.text for command in (*before[1 if plan.homed else 0 :], *moves, *after)]
    return "\n".join(["; runout test job: cold, path empty", *lines, ""])


def hand_over_job(plan: FunctionPlan) -> Steps[bool]:
    """Write the job file and have it started; whether the printer says that a job from its card is under way."""
    path = yield from keep("runout-test.gcode", card_job(plan), "the small job of the card test")
    yield from establish(CardJob(sentences=(f"The job file was written: {path}",), path=path, moves=CARD_MOVES))
    lines = (
        f"The job is in this file: {path}",
        "Copy it to the printer's card, put the card in, and start the job from the printer's own display.",
        "It homes first. With a yes the tool begins to read the switch.",
    )
    return (yield from _have_started(lines))


def still_under_way() -> Steps[bool]:
    """See that the job is under way; one that has ended is to be started once more."""
    if (yield from at_work()):
        return True
    lines = (
        "The job from the card has ended meanwhile. Start it once more from the printer's own display.",
        "It homes first: hands off.",
    )
    return (yield from _have_started(lines))


def at_work() -> Steps[bool]:
    """Whether the printer says that a job from its card is under way."""
    card = card_of((yield from ask(CARD, HOMING_S)).lines)
    return card is not None and card.state is CardState.AT_WORK


def end_card_job() -> Steps[None]:
    """Stop the job; a printer that does not know the word runs on, and that is said."""
    yield from ask(STOP_CARD_JOB, 5.0, RELEASE)
    if (yield from at_work()):
        yield Tell((STILL_AT_WORK,), weight=Weight.CAUTION)


def _have_started(lines: tuple[str, ...]) -> Steps[bool]:
    for _ in range(MOST_STARTS):
        if (yield from _started(lines)):
            return True
        yield Tell(("The printer does not say that a job from its card is under way.",), weight=Weight.NOTE)
    return False


def _started(lines: tuple[str, ...]) -> Steps[bool]:
    """Have the job started; what is broken off here may leave one running that nobody has read yet."""
    try:
        yield from confirm(Confirm("function.card_started", "Is the job running and the head moving?", lines))
        return (yield from at_work())
    except Interrupted:
        yield Tell((RUNS_ON,), weight=Weight.DANGER)
        raise
