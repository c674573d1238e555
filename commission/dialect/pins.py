"""What is said of pins: which names claim one, how it is used, and its level.

Besides the long pin report there are the answers for one input alone, which differ by family, and the raw pins behind
the switches of one family's switch report.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace

from commission.dialect.sources.report import SourceKind, SourceReport
from commission.dialect.sources.status_model import input_level_in
from commission.vocabulary import Level, Reading

_PIN = re.compile(
    r"PIN: *(?P<pin>[A-Za-z]{0,3}\d{1,3}(?:\.\d{1,3})?)(?=\s|$)(?: *\(A *\d{1,3}\))?(?: *Port: *\w{1,6})?"
    r"(?: *M42 P\d{1,4})?(?: +(?P<port>P[A-K]\d{1,2})(?= ))?(?: +(?P<name><[^>]{1,40}>|[A-Za-z_]\w{1,60}))?(?P<rest>.*)"
)
_SECOND_NAME = re.compile(r"\. +(?P<name>[A-Za-z_]\w{1,60})(?P<rest>.*)")
_LEVEL = re.compile(r"\b(?P<mode>Input|Output) *=? *(?P<level>0|1|HIGH|LOW)\b", re.IGNORECASE)
_PROTECTED = re.compile(r"\bprotected\b", re.IGNORECASE)
_ANALOG = re.compile(r"Analog in *= *(?P<count>\d{1,6})", re.IGNORECASE)
_WATCHING = re.compile(r"watching pins", re.IGNORECASE)
# One pin alone, in two families; the first of them has just made it an input with a pull-up in order to answer.
_ONE_PIN = re.compile(r"\s*(?:pin *)?to (?P<pin>\d{1,3}) is (?P<level>[01])\s*$", re.IGNORECASE)
_SPARE = re.compile(r"pin (?P<pin>[^, ]{1,40}), active: (?P<level>true|false)\s*$", re.IGNORECASE)
# Raw pins stand behind the switches of a report that names the axis of each.
_RAW_PINS = re.compile(r"\bpins-")
_RAW = re.compile(r"\((?P<axis>\w)\)(?P<pin>P?\d{1,3}\.\d{1,3}):(?P<level>[01])(?=\s|$)")
_REFUSAL = re.compile(r"error: *(?P<what>pin can not be set\b.{0,120})", re.IGNORECASE)
_HIGH = frozenset({"1", "high", "true"})


@dataclass(frozen=True)
class Pin:
    """One pin of a report.

    Attributes:
        pin: its number or port name, as printed.
        names: every function that claims it; more than one may be an alias or a conflict. Empty when unused.
        mode: `input`, `output` or `protected` (the report does not touch it); None when not stated.
        level: high or low as the printer counts it, after any inversion it makes; None when not stated.
        analog: the converter's count where one is stated.
        port: its port name, where the report gives a number and a port; None otherwise.
    """

    pin: str
    names: tuple[str, ...] = ()
    mode: str | None = None
    level: Level | None = None
    analog: int | None = None
    port: str | None = None

    def __post_init__(self) -> None:
        if not self.pin:
            raise ValueError("a pin has a name")
        if self.mode not in (None, "input", "output", "protected"):
            raise ValueError(f"a pin is an input, an output or protected, not {self.mode!r}")

    @property
    def report(self) -> SourceReport | None:
        """It as a source; None where it is no input that was read."""
        if self.mode != "input" or self.level is None:
            return None
        reading = Reading.ACTIVE if self.level is Level.HIGH else Reading.INACTIVE
        return SourceReport(SourceKind.PIN, self.pin, reading, self.level.value)


def is_pin_line(text: str) -> bool:
    """Whether a line belongs to a pin report, or answers for one input alone."""
    return any(shape.match(text) for shape in (_PIN, _SECOND_NAME, _WATCHING)) or _single(text) is not None


def has_raw_pins(text: str) -> bool:
    """Whether a line of a switch report has raw pins behind its switches."""
    return _RAW_PINS.search(text) is not None


def pins_of(lines: Iterable[str]) -> tuple[Pin, ...]:
    """The pins these lines report, in order; a continuation line adds its name to the pin above it."""
    pins: list[Pin] = []
    for line in lines:
        if found := _PIN.match(line):
            pins.append(_pin(found))
        elif pins and (found := _SECOND_NAME.match(line)):
            pins[-1] = replace(pins[-1], names=(*pins[-1].names, found["name"]))
        elif single := _single(line):
            pins.append(single)
        elif has_raw_pins(line):
            pins += [Pin(raw["pin"], (raw["axis"],), "input", _level(raw["level"])) for raw in _RAW.finditer(line)]
    return tuple(pins)


def pin_refusal_in(text: str) -> SourceReport | None:
    """A line that refuses to read a pin, as a source; None when it is another."""
    found = _REFUSAL.match(text)
    return None if found is None else SourceReport(SourceKind.PIN, "", error=found["what"].strip())


def _single(text: str) -> Pin | None:
    """The one input that a line answers for, or None."""
    if found := _ONE_PIN.match(text) or _SPARE.match(text):
        return Pin(found["pin"], (), "input", _level(found["level"]))
    spare = input_level_in(text)
    return None if spare is None else Pin(spare[0], (), "input", spare[1])


def _level(word: str) -> Level:
    return Level.HIGH if word.lower() in _HIGH else Level.LOW


def _pin(found: re.Match[str]) -> Pin:
    name, rest = found["name"], found["rest"]
    if name and name.lower() in ("input", "output", "protected", "analog"):
        name, rest = None, f"{name}{rest}"
    used = name is not None and not name.startswith("<")
    level = _LEVEL.search(rest)
    analog = _ANALOG.search(rest)
    mode = level["mode"].lower() if level else "protected" if _PROTECTED.search(rest) else None
    return Pin(
        pin=found["pin"],
        names=(name,) if used else (),
        mode=mode,
        level=_level(level["level"]) if level else None,
        analog=int(analog["count"]) if analog else None,
        port=found["port"],
    )
