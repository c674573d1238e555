"""Phase: what stays unknown is said, and the operator puts a name to the record."""

from commission.asking.cautions import BLIND_SPOTS
from commission.asking.form import Answers, Closing, Form, FormRow
from commission.asking.message import Tell
from commission.asking.on_a_form import on_a_form
from commission.asking.phase import Phase, steps_of
from commission.asking.request import Confirm, Enter
from commission.asking.steps import Steps, confirm, enter, establish, recall
from commission.evidence.findings.meeting import Consent, SignOff
from commission.procedure.meeting.consent import UNATTENDED, consent
from commission.procedure.meeting.next_check import Calendar, next_check, next_check_rows

REMARK = Enter("sign_off.remark", "A remark for the record (empty for none)", optional=True)
SIGN_OFF = Phase("sign_off", "Sign-off", "the sign-off")


@steps_of(SIGN_OFF)
def sign_off(operator: str, calendar: Calendar | None = None) -> Steps[None]:
    """Show the blind spots, agree the next date, take a remark and the operator's statement.

    Args:
        operator: who did it.
        calendar: what the next date is worked out from; None where none can be agreed, as after a fail.
    """
    yield Tell(BLIND_SPOTS, heading="What this check cannot show")
    consented = yield from recall(Consent, earlier=True)
    granted = consented is not None and consented.granted
    sheet = Form(
        "sign_off.sheet",
        "The sign-off",
        lambda given: _rows(given, operator, calendar, granted=granted),
        closing=Closing.YES,
        asked="Is all of it so?",
    )
    yield from on_a_form(sheet, lambda: _signed(operator, calendar))


def _rows(given: Answers, operator: str, calendar: Calendar | None, *, granted: bool) -> tuple[FormRow, ...]:
    """What is signed; the port is not opened with nobody near unless that is said, now or on record."""
    agreed = () if calendar is None else next_check_rows(given, calendar)
    ports = () if calendar is None else (FormRow(UNATTENDED, "Port may be opened with nobody near", granted),)
    statement = FormRow(_stated(operator), _statement(operator), usual=True)
    return (*agreed, *ports, FormRow(REMARK, "Remark", "", "none"), statement)


def _statement(operator: str) -> str:
    return f"I, {operator}, did what the prompts said and have read the findings"


def _stated(operator: str) -> Confirm:
    return Confirm("sign_off.statement", f"{_statement(operator)}. Is that so?")


def _signed(operator: str, calendar: Calendar | None) -> Steps[None]:
    if calendar is not None:
        yield from next_check(calendar)
        yield from consent(operator)
    remark = yield from enter(REMARK)
    agreed = yield from confirm(_stated(operator))
    statement = f"{_statement(operator)}."
    said = statement if agreed else "The operator did not confirm the statement."
    yield from establish(SignOff(sentences=(said,), operator=operator, agreed=agreed, remark=remark))
