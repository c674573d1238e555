"""How a source is called in the record, on screen and in a script: one text, and back again to the same source.

A line of the switch report goes by its own name, as in `filament 2`. Every other source begins with the word for its
kind, as in `monitor 0` or `sensor spool_left`. A line whose own name begins with such a word is spelled `line NAME`.
An input that reads active without filament is read the other way round, and its text says so.
"""

from commission.dialect.sources.report import SourceKind

WORDS = {
    SourceKind.MONITOR: "monitor",
    SourceKind.MONITOR_STATUS: "status",
    SourceKind.NAMED_SENSOR: "sensor",
    SourceKind.RUNOUT_WORD: "word",
    SourceKind.PIN: "input",
    SourceKind.PULSE_COUNTER: "counter",
}
"""The word that each kind begins with; the lines of the switch report have none."""
_LINE = "line"
_REVERSED = " (reversed)"
_KINDS = {word: kind for kind, word in WORDS.items()}


def spelled(kind: SourceKind, name: str, *, reverse: bool = False) -> str:
    """What the source of this kind and name is called; `reverse` where it is read the other way round."""
    if reverse:
        return spelled(kind, name) + _REVERSED
    if kind is not SourceKind.SWITCH_LINE:
        return f"{WORDS[kind]} {name}"
    first, _, rest = name.partition(" ")
    return f"{_LINE} {name}" if rest and (first in _KINDS or first == _LINE) else name


def kind_and_name(text: str) -> tuple[SourceKind, str]:
    """Which source is called so: its kind, and the name it is asked by."""
    text = text.removesuffix(_REVERSED)
    first, _, rest = text.partition(" ")
    if rest and first == _LINE:
        return SourceKind.SWITCH_LINE, rest
    if rest and first in _KINDS:
        return _KINDS[first], rest
    return SourceKind.SWITCH_LINE, text


def is_reversed(text: str) -> bool:
    """Whether the source that is called so is read the other way round."""
    return text.endswith(_REVERSED)
