"""What is asked and fixed before a guided run begins: the plan, and the consent to open the port."""

import random
from dataclasses import dataclass

from commission.asking.cautions import OPENING_A_PORT
from commission.asking.form import Answers, Closing, Form, FormRow
from commission.asking.message import Tell, Weight
from commission.asking.request import Choose, Confirm, Enter, Option
from commission.cli.options import Job, Settings
from commission.desk.base import Desk, OperatorStop
from commission.judge.plan import DWELL_S, PASS_CYCLES, REST_S, Plan
from commission.judge.polarity import LEAST_CYCLES
from commission.judge.trial import LONGEST_COUNTDOWN_S
from commission.judge.wording import counted

READINGS_PER_S = 10
PLANS = {"full": PASS_CYCLES, "short": LEAST_CYCLES}


BY = Enter("install.by", "Who does this? (your name)")
PLAN = Choose(
    "install.plan",
    "Which plan?",
    (
        Option("full", "full: 22 cycles", "what a pass takes; about five minutes of inserting and withdrawing"),
        Option("short", "short: 6 cycles", "enough for the polarity; at best a conditional pass"),
    ),
    usual="full",
)


CORRECT = Confirm("install.correct", "Correct the name or the plan? No ends this here: nothing is recorded.")
SLIP = (
    "A slip in that? Answer no to the next question. "
    "Seen later: press Ctrl-C and start the command again; the record keeps both."
)


@dataclass(frozen=True)
class Beforehand:
    """What was said before the run.

    Attributes:
        person: who does it.
        cycles: how many are planned.
        on_a_sheet: whether a person filled both in on a sheet, which can be filled in again.
    """

    person: str
    cycles: int
    on_a_sheet: bool = False


async def said_and_agreed(desk: Desk, settings: Settings, job: Job, *, plan_stands: bool) -> Beforehand:
    """Who does it and by which plan, and that the port may be opened; a slip seen by then is put right.

    Args:
        desk: where it is asked.
        settings: what the command line names.
        job: whether it has trials, and a printer.
        plan_stands: a run is taken up again with the plan that it has.

    Raises:
        OperatorStop: the port is not to be opened.
    """
    while True:
        said = await _who_and_how_many(desk, settings, job, plan_stands=plan_stands)
        if not (job.has_printer and job.asks_to_open):
            return said
        if job.before_opening is not None:
            await job.before_opening(desk)
        if await _consent_to_open(desk, settings.port, said):
            return said


async def _who_and_how_many(desk: Desk, settings: Settings, job: Job, *, plan_stands: bool) -> Beforehand:
    """Who works and how many cycles are planned, as named on the command line or asked for now, on one sheet."""
    asks_plan = settings.cycles is None and job.has_trials and not plan_stands
    answers: Answers = {}
    if not settings.person and asks_plan:
        rows = (FormRow(BY, "Name of who does this"), FormRow(PLAN, "Plan", "full"))
        lines = ("For another plan type first: change 2",)
        answers = await desk.form(
            Form("install.before", "Before it begins", lambda _given: rows, lines, Closing.FILLED)
        )
    person = settings.person or answers.get(BY.key) or await desk.enter(BY)
    if not asks_plan:
        return Beforehand(str(person), settings.cycles or PLANS["short"])
    cycles = PLANS[str(answers.get(PLAN.key) or await desk.choose(PLAN))]
    return Beforehand(str(person), cycles, on_a_sheet=bool(answers))


async def _consent_to_open(desk: Desk, port: str, said: Beforehand) -> bool:
    """Ask before the port is opened; what was said before goes into the record with that. False for a slip in it."""
    if said.on_a_sheet:
        noted = f"Goes into the record once the port is opened: done by {said.person}, {counted(said.cycles, 'cycle')}."
        await desk.tell(Tell((noted, SLIP)))
    request = Confirm("install.open_port", f"Open {port} now?", (OPENING_A_PORT,), weight=Weight.CAUTION)
    if await desk.confirm(request):
        return True
    if said.on_a_sheet and await desk.confirm(CORRECT):
        return False
    raise OperatorStop("the port was not to be opened")


def planned(settings: Settings, cycles: int) -> Plan:
    """The plan of the trials, with a seed of its own where none is named."""
    seed = random.SystemRandom().randrange(1 << 32) if settings.seed is None else settings.seed
    return Plan(
        seed=seed,
        cycles=cycles,
        countdown_s=LONGEST_COUNTDOWN_S if settings.countdown is None else settings.countdown,
        own_pace=settings.countdown is None,
        dwell_s=DWELL_S if settings.dwell is None else settings.dwell,
        rest_s=REST_S if settings.dwell is None else settings.dwell,
        wiggle_s=settings.wiggle,
        wiggle_readings=round(READINGS_PER_S * settings.wiggle),
    )
