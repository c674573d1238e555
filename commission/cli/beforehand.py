"""What is asked and fixed before a guided run begins: the plan, and the consent to open the port."""

import random

from commission.asking.cautions import OPENING_A_PORT
from commission.asking.message import Weight
from commission.asking.request import Choose, Confirm, Option
from commission.cli.options import Job, Settings
from commission.desk.base import Desk, OperatorStop
from commission.judge.plan import DWELL_S, PASS_CYCLES, REST_S, Plan
from commission.judge.polarity import LEAST_CYCLES
from commission.judge.trial import LONGEST_COUNTDOWN_S

READINGS_PER_S = 10
PLANS = {"full": PASS_CYCLES, "short": LEAST_CYCLES}


async def cycles_wanted(desk: Desk, settings: Settings, job: Job) -> int:
    """How many cycles, as named on the command line or chosen now."""
    if settings.cycles is not None or not job.has_trials:
        return settings.cycles or PLANS["short"]
    options = (
        Option("full", "full: 22 cycles", "what a pass takes; about five minutes of inserting and withdrawing"),
        Option("short", "short: 6 cycles", "enough for the polarity; at best a conditional pass"),
    )
    return PLANS[await desk.choose(Choose("install.plan", "Which plan?", options))]


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
