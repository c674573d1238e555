"""The owner's consent to have the port opened with nobody near, kept on record; without it no unattended check runs."""

from commission.evidence.findings.meeting import Consent
from commission.procedure.cautions import OPENING_A_PORT
from commission.procedure.message import Weight
from commission.procedure.request import Confirm
from commission.procedure.steps import Steps, confirm, establish


def consent(operator: str) -> Steps[bool]:
    """Ask for it and record the answer, whichever it is; the newest answer holds."""
    lines = (
        OPENING_A_PORT,
        "With consent on record, `commission check --unattended` may open the port by itself, for example at night by "
        "a timer. It only asks questions. You can withdraw the consent at any time by a note.",
    )
    question = "May this printer's port be opened with nobody near?"
    granted = yield from confirm(Confirm("consent.unattended", question, lines, weight=Weight.CAUTION))
    said = "The port may be opened with nobody near." if granted else "The port may not be opened with nobody near."
    yield from establish(Consent(sentences=(said,), granted=granted, by=operator))
    return granted
