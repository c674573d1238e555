"""What a pin report says: which names claim a pin, how it is used, and its level."""

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace

from commission.vocabulary import Level

_PIN = re.compile(
    r"PIN: *(?P<pin>[A-Za-z]{0,3}\d{1,3}(?:\.\d{1,3})?)(?=\s|$)(?: *\(A *\d{1,3}\))?(?: *Port: *\w{1,6})?"
    r"(?: *M42 P\d{1,4})?(?: +(?P<name><[^>]{1,40}>|[A-Za-z_]\w{1,60}))?(?P<rest>.*)"
)
_SECOND_NAME = re.compile(r"\. +(?P<name>[A-Za-z_]\w{1,60})(?P<rest>.*)")
_LEVEL = re.compile(r"\b(?P<mode>Input|Output) *=? *(?P<level>0|1|HIGH|LOW)\b", re.IGNORECASE)
_PROTECTED = re.compile(r"\bprotected\b", re.IGNORECASE)
_ANALOG = re.compile(r"Analog in *= *(?P<count>\d{1,6})", re.IGNORECASE)
_WATCHING = re.compile(r"watching pins", re.IGNORECASE)


@dataclass(frozen=True)
class Pin:
    """One pin of a report.

    Attributes:
        pin: its number or port name, as printed.
        names: every function that claims it; more than one may be an alias or a conflict. Empty when unused.
        mode: `input`, `output` or `protected` (the report does not touch it); None when not stated.
        level: high or low; None when not stated.
        analog: the converter's count where one is stated.
    """

    pin: str
    names: tuple[str, ...] = ()
    mode: str | None = None
    level: Level | None = None
    analog: int | None = None

    def __post_init__(self) -> None:
        if not self.pin:
            raise ValueError("a pin has a name")
        if self.mode not in (None, "input", "output", "protected"):
            raise ValueError(f"a pin is an input, an output or protected, not {self.mode!r}")


def is_pin_line(text: str) -> bool:
    """Whether a line belongs to a pin report."""
    return any(shape.match(text) for shape in (_PIN, _SECOND_NAME, _WATCHING))


def pins_of(lines: Iterable[str]) -> tuple[Pin, ...]:
    """The pins these lines report, in order; a continuation line adds its name to the pin above it."""
    pins: list[Pin] = []
    for line in lines:
        if found := _PIN.match(line):
            pins.append(_pin(found))
        elif pins and (found := _SECOND_NAME.match(line)):
            pins[-1] = replace(pins[-1], names=(*pins[-1].names, found["name"]))
    return tuple(pins)


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
        level=(Level.HIGH if level["level"].upper() in ("1", "HIGH") else Level.LOW) if level else None,
        analog=int(analog["count"]) if analog else None,
    )
