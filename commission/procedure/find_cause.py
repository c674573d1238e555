"""A diagnosis, and a second one where a second look found that the wiring was declared wrong."""

from collections.abc import Sequence

from commission.judge.explanations import Observation
from commission.judge.plan import Plan
from commission.procedure.diagnose import Weighed, diagnose
from commission.procedure.request import Confirm
from commission.procedure.steps import Steps, confirm
from commission.procedure.wiring import Declared, wiring
from commission.wiring.prediction import Probe

AGAIN = "Declare the wiring anew, as it is, and weigh what was read once more?"


def find_cause(declared: Declared, seen: Sequence[Observation], plan: Plan, switch: str) -> Steps[Weighed]:
    """Ask for tests until it stops; what was declared wrong is declared anew, once, and what was read is kept."""
    weighed = yield from diagnose(declared, seen, plan, switch)
    if not weighed.denied or not (yield from confirm(Confirm("diagnose.declare_again", AGAIN))):
        return weighed
    again = yield from wiring()
    if again is None or again.installation is None or again.forbidden:
        return weighed
    return (yield from diagnose(again, read_only(weighed.seen), plan, switch))


def read_only(seen: Sequence[Observation]) -> list[Observation]:
    """What was read or measured; a look at another declaration says nothing of this one."""
    return [one for one in seen if not Probe(one.test).looked]
