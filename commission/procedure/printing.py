"""Is the printer at work? A check of the sensor has no business beside a print."""

from commission.dialect.jobs import CARD, CardState, card_of
from commission.procedure.response import Interrupted, Interruption, InterruptionKind
from commission.procedure.steps import Steps, ask

AT_WORK = (
    "A job from its card is under way. Nothing but questions was sent to it. Run this again when the print has ended."
)


def not_printing() -> Steps[None]:
    """Ask whether a job from the card is under way. A print that comes over another line or from a host is not seen.

    Raises:
        Interrupted: one is.
    """
    card = card_of((yield from ask(CARD)).lines)
    if card is not None and card.state is CardState.AT_WORK:
        raise Interrupted(Interruption(InterruptionKind.PRINTING, AT_WORK))
