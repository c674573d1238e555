"""Switch states, in every form they are printed in. Which wire word means active is decided here and nowhere else.

The assumption in each form: the word for a pressed or reached switch means active. A firmware that prints reversed
words looks the same until a pause is tried; that is for the function test to show.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from commission.dialect.replies import acknowledgement
from commission.vocabulary import Reading

# `near ...` is a graded probe that approaches its point and has not reached it: not active.
_READINGS = {
    "triggered": Reading.ACTIVE,
    "open": Reading.INACTIVE,
    "h": Reading.ACTIVE,
    "l": Reading.INACTIVE,
    "1": Reading.ACTIVE,
    "0": Reading.INACTIVE,
    "not stopped": Reading.INACTIVE,
    "at min stop": Reading.ACTIVE,
    "at max stop": Reading.ACTIVE,
    "near stop": Reading.INACTIVE,
    "near min stop": Reading.INACTIVE,
    "near max stop": Reading.INACTIVE,
    "no endstop": Reading.UNKNOWN,
}

_HEADING = re.compile(r"(?:echo:)?\s*reporting endstop status\s*$", re.IGNORECASE)
# One switch on a line of its own. A development build printed the filament line with an empty name.
_OWN_LINE = re.compile(r"(?:echo:)?\s*(?P<name>[^:]{0,80}):\s*(?P<word>open|triggered)\s*$", re.IGNORECASE)
_OWN_LINE_LEVEL = re.compile(
    r"(?:echo:)?\s*(?P<name>[a-z]\d?_m(?:in|ax)|z_?probe|probe\w{0,8}|filament[^:]{0,40}):\s*(?P<word>[HL])\s*$",
    re.IGNORECASE,
)
_SENTENCE = re.compile(r"(?:[GM]\d{1,4}: ?)?endstops - (?P<states>.+)", re.IGNORECASE)
_PREFIX = re.compile(r"(?:echo:)?\s*endstops hit:", re.IGNORECASE)
_RAW_PINS = re.compile(r"\bpins-|\(\w\)P?\d{1,3}\.\d{1,3}:[01]")
_IN_A_ROW = re.compile(
    r"(?P<name>[A-Za-z]\w{0,20}(?:-\w{1,10})?(?: (?:state|probe))?) ?: ?(?P<word>open|triggered|[HL01])(?=\s|$)\s*",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class SwitchState:
    """One switch as one reply reports it.

    Attributes:
        name: as the printer wrote it; a nameless one is called `filament`.
        wire_word: the literal word of the reply.
        reading: what that word means.
    """

    name: str
    wire_word: str
    reading: Reading

    def __post_init__(self) -> None:
        if not self.name or not self.wire_word:
            raise ValueError("a switch state has a name and a word")

    @property
    def is_filament(self) -> bool:
        """Whether this is a filament sensor: older wordings are longer names that begin the same way."""
        return self.name.lower().startswith("filament")

    @property
    def is_probe(self) -> bool:
        """Whether it goes by the name of a probe."""
        return "probe" in self.name.lower()


def reading_of(wire_word: str) -> Reading:
    """What a wire word means; a word never seen before is unknown."""
    return _READINGS.get(wire_word.strip().lower(), Reading.UNKNOWN)


def is_switch_heading(text: str) -> bool:
    """Whether this line only announces switch states."""
    return _HEADING.match(text) is not None


def switches_in(text: str) -> tuple[SwitchState, ...]:
    """The switch states one line reports, in its order; none when it is another kind of line."""
    if (found := _OWN_LINE.match(text)) or (found := _OWN_LINE_LEVEL.match(text)):
        return (_state(found["name"].strip() or "filament", found["word"]),)
    if found := _SENTENCE.match(text):
        return _of_sentence(found["states"])
    return _in_a_row(text)


def switches_of(lines: Iterable[str]) -> tuple[SwitchState, ...]:
    """Every switch state in these lines, in order."""
    states: list[SwitchState] = []
    for line in lines:
        data = acknowledgement(line)
        states.extend(switches_in(line if data is None else data))
    return tuple(states)


def _state(name: str, word: str) -> SwitchState:
    return SwitchState(name, word, reading_of(word))


def _of_sentence(states: str) -> tuple[SwitchState, ...]:
    pairs = (part.partition(":") for part in states.split(","))
    return tuple(_state(name.strip(), word.strip()) for name, _, word in pairs if name.strip() and word.strip())


def _in_a_row(text: str) -> tuple[SwitchState, ...]:
    prefix = _PREFIX.match(text)
    rest = text[prefix.end() :] if prefix else text
    raw_pins = "pins-" in rest
    rest = _RAW_PINS.sub("", rest).strip()
    states: list[SwitchState] = []
    position = 0
    while found := _IN_A_ROW.match(rest, position):
        states.append(_state(found["name"], found["word"]))
        position = found.end()
    # Half a line understood is a line misunderstood; and one bare `name:0` could be anything.
    if position < len(rest) or not (len(states) > 1 or (states and (prefix or raw_pins))):
        return ()
    return tuple(states)
