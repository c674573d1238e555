"""How each kind of source is asked on each family: a literal table, and a pair that is not in it cannot be asked.

Every row says what a reading proves, whether asking changes anything, what *unknown* looks like there, and how fast it
may be asked. Paces are common practice, no source, and keep well below what a busy board can answer.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from types import MappingProxyType

from commission.dialect.answers import PIN_ANSWER, RUNOUT_ANSWER, SWITCHES_ANSWER, Answer
from commission.dialect.family import Family
from commission.dialect.sources.answers import (
    BUTTON_ANSWER,
    MODEL_ANSWER,
    MONITOR_ANSWER,
    NAMED_SENSOR_ANSWER,
    ONE_PIN_ANSWER,
    PULSE_COUNTER_ANSWER,
    TOOL_MONITOR_ANSWER,
)
from commission.dialect.sources.monitors import ACTIVE_TOOL
from commission.dialect.sources.report import SourceKind
from commission.dialect.sources.status_model import MONITORS_KEY

QUERY_PATIENCE_S = 1.0
"""How long an answer to a question about a source usually takes at most, in seconds."""
SILENT_WORK_PATIENCE_S = 120.0
"""The same where a question waits, without a sign of life, behind whatever the printer is doing."""


class Proves(Enum):
    """What a reading of a source is worth."""

    DETECTION = "what the printer's own detection goes by"
    INPUT = "the input only: whether the printer acts on it is another question"


class Purity(Enum):
    """What asking does."""

    PURE = "changes nothing"
    DELAYS = "changes nothing, and holds a print up for a moment"
    BY_RELEASE = "changes nothing, and may restart some boards: by release"
    SETS_INPUT = "makes the pin an input with a pull-up: by release"

    @property
    def by_release(self) -> bool:
        """Whether a person must release it first."""
        return self in (Purity.BY_RELEASE, Purity.SETS_INPUT)


@dataclass(frozen=True)
class Pace:
    """How fast a source may be asked.

    Attributes:
        least_interval_s: seconds from one question to the next; 0 is as fast as the wire bears.
        ahead: questions may be queued behind another.
        while_printing: it may be asked beside a print.
    """

    least_interval_s: float
    ahead: bool = False
    while_printing: bool = True

    def __post_init__(self) -> None:
        if self.least_interval_s < 0:
            raise ValueError(f"an interval is not negative: {self.least_interval_s} s")


@dataclass(frozen=True)
class Way:
    """How a kind of source is asked on one family.

    Attributes:
        text: the question; `{name}` stands for the name it is asked by.
        named: the names it can be asked by.
        answer: what its complete answer contains.
        purity: what asking does.
        pace: how fast it may be asked.
        unknown: what *unknown* looks like, in one sentence.
        detection: names whose reading is what the printer's own detection goes by.
        reported_as: what the answer calls it, with `{name}`; empty where the answer is about it alone.
        patience_s: how long a silence may last before a question counts as not answered, in seconds.
    """

    text: str
    named: re.Pattern[str]
    answer: Answer
    purity: Purity
    pace: Pace
    unknown: str
    detection: re.Pattern[str]
    reported_as: str = ""
    patience_s: float = QUERY_PATIENCE_S


def _names(shape: str) -> re.Pattern[str]:
    return re.compile(rf"(?:{shape})\Z", re.ASCII)


_ALL, _NO_NAME, _FILAMENT = _names(".*"), _names(r"(?!)"), re.compile("filament", re.IGNORECASE)
_WORD, _NUMBER = _names(r"[\w.-]{1,60}"), _names(r"\d{1,2}")
_LINE = _names(
    r"[^\x00-\x1f\x7f]{1,80}"
)  # the name of a line is no part of the question: a printer may call it anything

_NO_LINE = "The report has no line of this name, two that differ, or a word never seen before."
_FAST, _STEADY, _SLOW = Pace(0.0, ahead=True), Pace(0.1), Pace(0.25)
_ONE_BY_ONE = Pace(1.0, while_printing=False)
"""As fast as it goes where a short answer ends with its own acknowledgement and a board gives it itself. Ten a second
where a host computer gives it, in turn with the moves that it plans, or where nothing is known of that. Slower where an
answer is long, comes after its acknowledgement (D), or is worked out by a small board beside its moves (E). A pin whose
mode asking changes is never asked in a test."""


def _switch_line(
    pace: Pace,
    purity: Purity = Purity.PURE,
    detection: re.Pattern[str] = _NO_NAME,
    patience_s: float = QUERY_PATIENCE_S,
) -> Way:
    return Way("M119", _LINE, SWITCHES_ANSWER, purity, pace, _NO_LINE, detection, "{name}", patience_s)


WAYS: Mapping[tuple[Family | None, SourceKind], Way] = MappingProxyType(
    {
        # A printer that does not say what it is: the switch report only reads everywhere.
        (None, SourceKind.SWITCH_LINE): _switch_line(_FAST, detection=_FILAMENT),
        # A: the filament lines are the detection's own reading; any other line is an input somebody may have borrowed.
        # A sensor of movement has a line like any other, which flips as filament moves and says nothing at rest.
        (Family.A, SourceKind.SWITCH_LINE): _switch_line(_FAST, detection=_FILAMENT),
        (Family.A, SourceKind.RUNOUT_WORD): Way(
            "M412",
            _names(r"sensor|filament(?: \d)?"),
            RUNOUT_ANSWER,
            Purity.PURE,
            _STEADY,
            "Most builds say nothing of the filament here, and a fork may use words never seen before.",
            _ALL,
            "{name}",
        ),
        (Family.A, SourceKind.MONITOR): Way(
            "M591",
            _names(ACTIVE_TOOL),
            TOOL_MONITOR_ANSWER,
            Purity.PURE,
            _STEADY,
            "Always: it tells how the sensor is set and not what it reads.",
            _ALL,
        ),
        (Family.A, SourceKind.PIN): Way(
            "M43 P{name}",
            _names(r"\d{1,3}(?:\.\d{1,3})?|P[A-K]\d{1,2}"),
            PIN_ANSWER,
            Purity.BY_RELEASE,
            _ONE_BY_ONE,
            "A protected pin shows no value, and many builds do not know the question.",
            _NO_NAME,
        ),
        # B: the switch report has no filament line.
        (Family.B, SourceKind.SWITCH_LINE): _switch_line(_STEADY),
        (Family.B, SourceKind.MONITOR): Way(
            "M591 D{name}",
            _NUMBER,
            MONITOR_ANSWER,
            Purity.PURE,
            _FAST,
            "A kind that measures movement says nothing of presence unless it has a switch besides.",
            _ALL,
        ),
        (Family.B, SourceKind.MONITOR_STATUS): Way(
            f'M409 K"{MONITORS_KEY}"',
            _NUMBER,
            MODEL_ANSWER,
            Purity.PURE,
            _SLOW,
            "While runout detection is off the status is well whatever the switch does; on moving kinds well is no "
            "presence.",
            _ALL,
            "extruder {name}",
        ),
        (Family.B, SourceKind.PIN): Way(
            'M409 K"sensors.{name}"',
            _names(r"gpIn\[\d{1,3}\]"),
            MODEL_ANSWER,
            Purity.PURE,
            _SLOW,
            "The branch is empty: no such input was set up.",
            _NO_NAME,
            "{name}",
        ),
        # C: a question waits behind whatever runs, without a sign of life.
        (Family.C, SourceKind.SWITCH_LINE): _switch_line(
            Pace(0.25, while_printing=False), Purity.DELAYS, patience_s=SILENT_WORK_PATIENCE_S
        ),
        (Family.C, SourceKind.NAMED_SENSOR): Way(
            "QUERY_FILAMENT_SENSOR SENSOR={name}",
            _WORD,
            NAMED_SENSOR_ANSWER,
            Purity.PURE,
            _STEADY,
            "A fault line: no sensor of this name. A sensor of movement says 'not' until the first pulse.",
            _ALL,
            "{name}",
            SILENT_WORK_PATIENCE_S,
        ),
        (Family.C, SourceKind.PIN): Way(
            "QUERY_BUTTON BUTTON={name}",
            _WORD,
            BUTTON_ANSWER,
            Purity.PURE,
            _SLOW,
            "A fault line: no button of this name.",
            _NO_NAME,
            "{name}",
            SILENT_WORK_PATIENCE_S,
        ),
        # D: nothing tells of the sensor; a pin can be read at the price of its mode.
        (Family.D, SourceKind.SWITCH_LINE): _switch_line(_SLOW),
        (Family.D, SourceKind.PIN): Way(
            "M42 P{name}",
            _names(r"\d{1,3}"),
            ONE_PIN_ANSWER,
            Purity.SETS_INPUT,
            _ONE_BY_ONE,
            "An error: the pin belongs to a part that must not be touched.",
            _NO_NAME,
            "{name}",
        ),
        # E: pulses only; a plain switch is read where its pin is named as a switch of an axis, or as a raw pin.
        (Family.E, SourceKind.SWITCH_LINE): _switch_line(_SLOW),
        (Family.E, SourceKind.PIN): Way(
            "M119",
            _names(r"P?\d{1,3}\.\d{1,3}"),
            SWITCHES_ANSWER,
            Purity.PURE,
            _SLOW,
            "Only the pins of configured switches stand in the report.",
            _NO_NAME,
            "{name}",
        ),
        (Family.E, SourceKind.PULSE_COUNTER): Way(
            "M407",
            _names("filament detector"),
            PULSE_COUNTER_ANSWER,
            Purity.PURE,
            _SLOW,
            "Always: pulses prove movement, and a standing drive makes none.",
            _ALL,
        ),
    }
)
