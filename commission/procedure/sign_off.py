"""Phase: what stays unknown is said, and the operator puts a name to the record."""

from commission.evidence.findings.meeting import SignOff
from commission.procedure.cautions import BLIND_SPOTS
from commission.procedure.consent import consent
from commission.procedure.message import Tell
from commission.procedure.next_check import Calendar, next_check
from commission.procedure.request import Confirm, Enter, PhaseBegins, PhaseEnds
from commission.procedure.steps import Steps, confirm, enter, establish

NAME = "sign_off"


def sign_off(operator: str, calendar: Calendar | None = None) -> Steps[None]:
    """Show the blind spots, agree the next date, take a remark and the operator's statement.

    Args:
        operator: who did it.
        calendar: what the next date is worked out from; None where none can be agreed, as after a fail.
    """
    yield PhaseBegins(NAME, "Sign-off")
    yield Tell(BLIND_SPOTS, heading="What this check cannot show")
    if calendar is not None:
        yield from next_check(calendar)
        yield from consent(operator)
    remark = yield from enter(Enter("sign_off.remark", "A remark for the record (empty for none)", optional=True))
    statement = f"I, {operator}, did what the prompts said and have read the findings."
    agreed = yield from confirm(Confirm("sign_off.statement", f"{statement} Is that so?"))
    said = statement if agreed else "The operator did not confirm the statement."
    yield from establish(SignOff(sentences=(said,), operator=operator, agreed=agreed, remark=remark))
    yield PhaseEnds(NAME, {"agreed": agreed})
