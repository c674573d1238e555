"""Filament monitors as they describe themselves: one sentence of clauses divided by commas.

The simple kind is a switch and says of the filament yes or no, even while watching is off. The moving kinds measure
how far filament went; only one that has a switch besides says anything of presence, in the middle of its sentence.
A fork of family A has a monitor of another make under the same command: a line of runout control with a mode.
"""

import re
from dataclasses import dataclass
from enum import Enum

from commission.dialect.sources.report import SourceKind, SourceReport, told
from commission.vocabulary import Level, Presence


class MonitorKind(Enum):
    """What a monitor senses."""

    SIMPLE = "a switch"
    MAGNET = "a turning magnet"
    LASER = "a laser on the filament"
    PULSES = "pulses of a wheel"
    MOTION = "movement"
    NONE = "nothing"

    @property
    def moving(self) -> bool:
        """Whether it senses that filament moves, not that it is there."""
        return self not in (MonitorKind.SIMPLE, MonitorKind.NONE)


class Watching(Enum):
    """When a monitor is heeded."""

    OFF = "off"
    ON = "on"
    CARD_JOBS = "on in jobs from the card"
    ALWAYS = "on in every job"


@dataclass(frozen=True)
class Measured:
    """How far filament went against what was asked, in percent, over a length in millimetres."""

    least_percent: float
    mean_percent: float
    most_percent: float
    over_mm: float


@dataclass(frozen=True)
class Monitor:
    """One monitor. What its sentence does not state is None.

    Attributes:
        kind: what it senses.
        place: the input it sits on, as printed without the word for a pin.
        watching: when it is heeded.
        with_switch: a moving kind that has a switch besides.
        presence: what it says of the filament.
        word: the words in which it says so; empty where it does not.
        absent_level: the level taken for missing filament.
        error: what is wrong with it, in its words.
        allowed_percent: least and most movement that counts as sound.
        calibration: factor between measured and real movement.
        measured: what it measured so far.
    """

    kind: MonitorKind
    place: str
    watching: Watching
    with_switch: bool = False
    presence: Presence | None = None
    word: str = ""
    absent_level: Level | None = None
    error: str | None = None
    allowed_percent: tuple[float, float] | None = None
    calibration: float | None = None
    measured: Measured | None = None

    @property
    def report(self) -> SourceReport:
        """It as a source."""
        return told(
            SourceKind.MONITOR,
            self.place,
            self.presence,
            self.word,
            enabled=self.watching is not Watching.OFF,
            absent_level=self.absent_level,
            error=self.error,
        )


_N = r"\d{1,9}(?:\.\d{1,9})?"
_HEAD = re.compile(
    r"(?P<what>[^,]{0,100}?\b(?:sensor|monitor)\b[^,]{0,30}?) on (?P<place>(?:pin|endstop|input) [^,]{1,40}), *"
    r"(?P<rest>.+)",
    re.IGNORECASE,
)
_KINDS = (
    (re.compile(r"\bsimple\b", re.IGNORECASE), MonitorKind.SIMPLE),
    (re.compile(r"\bmagnet(?:ic)?\b", re.IGNORECASE), MonitorKind.MAGNET),
    (re.compile(r"\blaser\b", re.IGNORECASE), MonitorKind.LASER),
    (re.compile(r"\bpulse(?:s|d|-type)?\b", re.IGNORECASE), MonitorKind.PULSES),
)
_ENABLED = re.compile(r"enabled(?P<when> always| when [\w ]{1,40})?$|disabled$", re.IGNORECASE)
_LEVEL = re.compile(r"output (?P<level>high|low) when no filament$", re.IGNORECASE)
_YES_NO = re.compile(r"filament present: *(?P<answer>yes|no)$", re.IGNORECASE)
_SWITCH_WORD = re.compile(r"(?P<absent>no filament)$|filament present$", re.IGNORECASE)
_TROUBLE = re.compile(r"no data received$|error:? .{1,80}$", re.IGNORECASE)
_ALLOWED = re.compile(rf"allow (?P<least>{_N})% to (?P<most>{_N})%$", re.IGNORECASE)
_CALIBRATION = re.compile(rf"calibration factor (?P<factor>{_N})$", re.IGNORECASE)
_MEASURED = re.compile(
    rf"measured min (?P<a>{_N})% avg (?P<b>{_N})% max (?P<c>{_N})% over (?P<d>{_N})mm$", re.IGNORECASE
)

_NONE = re.compile(
    r"extruder (?:drive )?(?P<drive>\d{1,3}) has (?P<what>no filament (?:sensor|monitor))", re.IGNORECASE
)
NOT_FITTED = "no filament"
"""How the error begins of a drive that has no monitor."""
_REFUSAL = re.compile(r"(?:error|warning): *M591: *(?P<what>.{1,200})", re.IGNORECASE)
_PIN_NAMED = re.compile(r"pin '(?P<pin>[^']{1,40})'", re.IGNORECASE)

_FORK = re.compile(
    r"(?:echo:)?\s*filament runout (?P<state>on|off) *;(?:.*;)? *mode (?P<mode>\d{1,2})(?= *(?:;|$))", re.IGNORECASE
)
_FORK_MODES = {
    "0": (MonitorKind.NONE, None),
    "1": (MonitorKind.SIMPLE, Level.LOW),
    "2": (MonitorKind.SIMPLE, Level.HIGH),
    "3": (MonitorKind.MOTION, None),
    "7": (MonitorKind.MOTION, None),
}
ACTIVE_TOOL = "active tool"
"""What the fork's monitor is called here: it tells of the active tool alone and gives no name."""


def monitor_in(text: str) -> Monitor | None:
    """The monitor that a line describes, or None."""
    return _sentence(text) or _fork(text)


def monitor_report_in(text: str) -> SourceReport | None:
    """What a line says of a monitor as a source: one described, none fitted, or a question refused."""
    if monitor := monitor_in(text):
        return monitor.report
    if found := _NONE.match(text):
        return SourceReport(SourceKind.MONITOR, f"extruder {found['drive']}", error=found["what"])
    if found := _REFUSAL.match(text):
        pin = _PIN_NAMED.match(found["what"])
        return SourceReport(SourceKind.MONITOR, pin["pin"] if pin else "", error=found["what"].strip())
    return None


def _sentence(text: str) -> Monitor | None:
    head = _HEAD.match(text)
    kind = None if head is None else next((kind for shape, kind in _KINDS if shape.search(head["what"])), None)
    if head is None or kind is None:
        return None
    clauses = [clause.strip() for clause in head["rest"].split(",")]
    state = _first(_ENABLED, clauses)
    if state is None:
        return None
    with_switch = re.search(r"\bwith switch\b", head["what"], re.IGNORECASE) is not None
    level = _first(_LEVEL, clauses)
    allowed, factor, measured = (_first(shape, clauses) for shape in (_ALLOWED, _CALIBRATION, _MEASURED))
    trouble = _first(_TROUBLE, clauses)
    return Monitor(
        kind,
        head["place"].strip().removeprefix("pin "),
        _watching(state),
        with_switch,
        *_presence(clauses, kind, with_switch=with_switch),
        Level(level["level"].lower()) if level else None,
        trouble[0] if trouble else None,
        (float(allowed["least"]), float(allowed["most"])) if allowed else None,
        float(factor["factor"]) if factor else None,
        Measured(*(float(measured[part]) for part in "abcd")) if measured else None,
    )


def _first(shape: re.Pattern[str], clauses: list[str]) -> re.Match[str] | None:
    return next((found for clause in clauses if (found := shape.match(clause))), None)


def _watching(state: re.Match[str]) -> Watching:
    if state[0].lower() == "disabled":
        return Watching.OFF
    when = (state["when"] or "").lower()
    return Watching.ON if not when else Watching.ALWAYS if when == " always" else Watching.CARD_JOBS


def _presence(clauses: list[str], kind: MonitorKind, *, with_switch: bool) -> tuple[Presence | None, str]:
    """What the clauses say and in which words; None when they say nothing, or contradict each other."""
    said = {found["answer"].lower() == "yes": found[0] for clause in clauses if (found := _YES_NO.match(clause))}
    if kind.moving and with_switch:
        said |= {found["absent"] is None: found[0] for clause in clauses if (found := _SWITCH_WORD.match(clause))}
    if len(said) != 1:
        return None, ""
    ((present, word),) = said.items()
    return (Presence.IN if present else Presence.OUT), word


def _fork(text: str) -> Monitor | None:
    found = _FORK.match(text)
    if found is None or found["mode"] not in _FORK_MODES:
        return None
    kind, absent_level = _FORK_MODES[found["mode"]]
    watching = Watching.ON if found["state"].lower() == "on" else Watching.OFF
    error = "no sensor is set" if kind is MonitorKind.NONE else None
    return Monitor(kind, ACTIVE_TOOL, watching, absent_level=absent_level, error=error)
