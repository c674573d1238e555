"""Settings that cannot be read as values: kept as text, with what the text does not say.

One family prints the file it started from, another nothing at all. Neither says what stands in working memory now, so
such a text is good for a person to put things back by, and never proves that they are back.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import Enum
from types import MappingProxyType

from commission.dialect.family import Family, Identified
from commission.dialect.family_events import family_event
from commission.dialect.replies import acknowledgement


class Limit(Enum):
    """What a kept text does not say."""

    START_FILE = "it is the file the printer starts from, not what stands in its memory now"
    MAY_BE_CUT = "it is cut where it is long, without a word"
    OVERRIDES_APART = "tuned values that were saved are in a file of their own, which it does not show"
    OVERRIDES_NOT_LOADED = "the printer says that saved values are not loaded at its start"
    NOTHING_PRINTED = "the console prints no settings: they are in a file on the host computer"


@dataclass(frozen=True)
class SettingsHabits:
    """What the settings commands do on a family that lists no values.

    Attributes:
        limits: what a text of its settings never says.
        saving: what a save does.
        danger: what looks like reading or restoring and is neither.
    """

    limits: tuple[Limit, ...]
    saving: str
    danger: str


SETTINGS_HABITS: Mapping[Family, SettingsHabits] = MappingProxyType(
    {
        Family.B: SettingsHabits(
            (Limit.START_FILE, Limit.MAY_BE_CUT, Limit.OVERRIDES_APART),
            "M500 writes tuned values into a file of their own; what a monitor is set to is not among them.",
            "M502 turns the heaters off and runs the start-up file again.",
        ),
        Family.C: SettingsHabits(
            (Limit.NOTHING_PRINTED,),
            "SAVE_CONFIG writes calibration values into the file and restarts; with none pending it does nothing.",
            "RESTART and FIRMWARE_RESTART lose position and heat.",
        ),
    }
)


@dataclass(frozen=True)
class SettingsText:
    """Settings as text.

    Attributes:
        lines: what the printer printed, without acknowledgements; empty where it prints nothing.
        limits: what these lines do not say.
    """

    lines: tuple[str, ...]
    limits: tuple[Limit, ...]


def settings_text_of(printer: Identified, lines: Iterable[str]) -> SettingsText | None:
    """A listing of a family that prints text; None for a family that lists values, which are read as such."""
    habits = SETTINGS_HABITS.get(printer.family)
    if habits is None:
        return None
    kept = tuple(line for line in lines if acknowledgement(line) is None)
    events = (family_event(line) for line in kept)
    not_loaded = any(event is not None and event.event == "overrides_not_loaded" for event in events)
    return SettingsText(kept, (*habits.limits, *((Limit.OVERRIDES_NOT_LOADED,) if not_loaded else ())))
