"""Phase: what stays unknown is said, and the operator puts a name to the record."""

from commission.asking.cautions import BLIND_SPOTS
from commission.asking.message import Tell
from commission.asking.phase import Phase, steps_of
from commission.asking.request import Confirm, Enter
from commission.asking.steps import Steps, confirm, enter, establish
from commission.evidence.findings.meeting import SignOff
from commission.procedure.meeting.consent import consent
from commission.procedure.meeting.next_check import Calendar, next_check

SIGN_OFF = Phase("sign_off", "Sign-off", "the sign-off")


@steps_of(SIGN_OFF)
def sign_off(operator: str, calendar: Calendar | None = None) -> Steps[None]:
    """Show the blind spots, agree the next date, take a remark and the operator's statement.

    Args:
        operator: who did it.
        calendar: what the next date is worked out from; None where none can be agreed, as after a fail.
    """
    yield Tell(BLIND_SPOTS, heading="What this check cannot show")
    if calendar is not None:
        yield from next_check(calendar)
        yield from consent(operator)
    remark = yield from enter(Enter("sign_off.remark", "A remark for the record (empty for none)", optional=True))
    statement = f"I, {operator}, did what the prompts said and have read the findings."
    agreed = yield from confirm(Confirm("sign_off.statement", f"{statement} Is that so?"))
    said = statement if agreed else "The operator did not confirm the statement."
    yield from establish(SignOff(sentences=(said,), operator=operator, agreed=agreed, remark=remark))
