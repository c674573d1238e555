"""How often the live line or the panel is drawn anew."""

from commission.asking.request import TakeTrial, Watch
from commission.desk.base import Status

TRIAL_REDRAW_EVERY_S, REDRAW_EVERY_S, SOAK_REDRAW_EVERY_S = 0.1, 0.25, 2.0
"""A drawing costs as much of the processor as some readings do; of a soak nobody watches each tenth of a second."""


def redraw_every_s(shown: TakeTrial | Watch | None, status: Status) -> float:
    """The least time between two drawings, in seconds; in a trial the hand waits for the word."""
    if status.soak is not None:
        return SOAK_REDRAW_EVERY_S
    return TRIAL_REDRAW_EVERY_S if isinstance(shown, TakeTrial) else REDRAW_EVERY_S
