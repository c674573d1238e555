"""A diagnosis, and a second one where a second look found that the wiring was declared wrong."""

from collections.abc import Sequence

from commission.asking.request import Confirm
from commission.asking.steps import Steps, confirm
from commission.judge.explanations import Observation
from commission.judge.plan import Plan
from commission.procedure.cause.bench_tests import PLUGGED, Place
from commission.procedure.cause.diagnose import diagnose, may_be_tested
from commission.procedure.cause.weighed import Weighed
from commission.procedure.wiring.declaration import Declared, wiring
from commission.wiring.prediction import Probe

AGAIN = "Declare the wiring anew, as it is, and weigh what was read once more?"


def find_cause(
    declared: Declared, seen: Sequence[Observation], plan: Plan, switch: str, place: Place = PLUGGED
) -> Steps[Weighed]:
    """Diagnose; what was declared wrong is declared anew, once, and what was read is kept. It takes what that takes."""
    weighed = yield from diagnose(declared, seen, plan, switch, place)
    return (yield from declared_anew(weighed, plan, switch))


def declared_anew(weighed: Weighed, plan: Plan, switch: str) -> Steps[Weighed]:
    """Where the second look found another wiring, offer to declare it anew and to weigh what was read once more."""
    if not weighed.denied or not (yield from confirm(Confirm("diagnose.declare_again", AGAIN))):
        return weighed
    again = yield from wiring(tested=True)
    if again is None or not (yield from may_be_tested(again)):
        return weighed
    return (yield from diagnose(again, read_only(weighed.seen), plan, switch, weighed.place))


def read_only(seen: Sequence[Observation]) -> list[Observation]:
    """What was read or measured; a look at another declaration says nothing of this one."""
    return [one for one in seen if not Probe(one.test).looked]
