"""An installation as a person begins it, with nothing known of the printer."""

from datetime import date

from commission.asking.steps import Steps
from commission.jobs.install import JobResult, install_run
from commission.judge.advice import Advice
from commission.judge.plan import Plan
from commission.link.identity import PortIdentity
from commission.procedure.meeting.background import Background
from commission.procedure.meeting.identity import Surroundings
from commission.procedure.meeting.next_check import Calendar
from commission.procedure.settings.record import Sheet

TODAY = date(2031, 3, 14)
UNKNOWN = Background(Surroundings("bench-3", PortIdentity("", "", "", "fake")), Calendar(TODAY, TODAY))


def installation(plan: Plan, repair: Advice = Advice.NONE) -> Steps[JobResult]:
    """The whole job on a printer of which nothing is on record."""
    return install_run(plan, "R. Okafor", UNKNOWN, Sheet("bench-3", TODAY.isoformat()), repair)
