"""The owner's consent to have the port opened with nobody near, kept on record; without it no unattended check runs."""

from commission.asking.cautions import OPENING_A_PORT
from commission.asking.message import Weight
from commission.asking.request import Confirm
from commission.asking.steps import Steps, confirm, establish
from commission.command_lines import CHECK_BY_ITSELF
from commission.evidence.findings.meeting import Consent

UNATTENDED = Confirm(
    "consent.unattended",
    "May this printer's port be opened with nobody near?",
    (
        OPENING_A_PORT,
        f"With consent on record, `{CHECK_BY_ITSELF}` may open the port, for example at night by "
        "a timer. It only asks questions. You can withdraw the consent at any time by a note.",
    ),
    weight=Weight.CAUTION,
)


def consent(operator: str) -> Steps[bool]:
    """Ask for it and record the answer, whichever it is; the newest answer holds."""
    granted = yield from confirm(UNATTENDED)
    said = "The port may be opened with nobody near." if granted else "The port may not be opened with nobody near."
    yield from establish(Consent(sentences=(said,), granted=granted, by=operator))
    return granted
