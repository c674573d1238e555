"""What is asked and fixed before a guided run begins: the plan, and the consent to open the port."""

import random

from commission.asking.cautions import OPENING_A_PORT
from commission.asking.form import Answers, Closing, Form, FormRow
from commission.asking.message import Weight
from commission.asking.request import Choose, Confirm, Enter, Option
from commission.cli.options import Job, Settings
from commission.desk.base import Desk, OperatorStop
from commission.judge.plan import DWELL_S, PASS_CYCLES, REST_S, Plan
from commission.judge.polarity import LEAST_CYCLES
from commission.judge.trial import LONGEST_COUNTDOWN_S

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


async def who_and_how_many(desk: Desk, settings: Settings, job: Job, *, plan_stands: bool) -> tuple[str, int]:
    """Who works and how many cycles are planned, as named on the command line or asked for now, on one sheet.

    Args:
        desk: where it is asked.
        settings: what the command line names.
        job: whether it has trials.
        plan_stands: a run is taken up again with the plan that it has.
    """
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
        return str(person), settings.cycles or PLANS["short"]
    return str(person), PLANS[str(answers.get(PLAN.key) or await desk.choose(PLAN))]


async def consent_to_open(desk: Desk, port: str) -> None:
    """Ask before the port is opened.

    Raises:
        OperatorStop: it is not to be opened.
    """
    request = Confirm("install.open_port", f"Open {port} now?", (OPENING_A_PORT,), weight=Weight.CAUTION)
    if not await desk.confirm(request):
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
