"""Sensors that a host computer knows by name: a sentence, in some forks followed by a dictionary.

The wording differs from fork to fork, so the rule is: letter case does not matter, and *not detected* is looked for
before *detected*. Whether the sensor is watched is told by the dictionary alone. A sensor of movement says *not
detected* until the first pulse, and later what it remembers; the sentence does not tell it from a switch.
"""

import re
from dataclasses import replace

from commission.dialect.sources.report import SourceKind, SourceReport, told
from commission.vocabulary import Presence, Reading

_LEAD = r"(?://\s*)?"
_DETECTED = r"filament (?:is )?(?P<word>(?P<absent>not )?detected)\b"
_SENTENCES = (
    re.compile(rf"{_LEAD}(?:[\w-]{{1,30}} )?sensor (?P<name>[^:]{{1,60}}): {_DETECTED}", re.IGNORECASE),
    re.compile(rf"{_LEAD}(?:[\w-]{{1,30}} )?(?P<name>)sensor: {_DETECTED}", re.IGNORECASE),
    re.compile(rf"{_LEAD}\[(?P<name>[^\]]{{1,60}})\] {_DETECTED}", re.IGNORECASE),
    re.compile(rf"{_LEAD}(?P<name>){_DETECTED}(?=\s*$| \[)", re.IGNORECASE),
)
_DICTIONARY = re.compile(rf"{_LEAD}\{{(?=.*'filament_detected': (?P<in>True|False)\b).*\}}\s*$")
_DICTIONARY_ENABLED = re.compile(r"'enabled': (?P<on>True|False)\b")
_MOVEMENT = re.compile(r"\bmotion\b", re.IGNORECASE)
_BUTTON = re.compile(rf"{_LEAD}(?P<name>\w[\w .-]{{0,60}}): (?P<state>PRESSED|RELEASED)\s*$")
_REFUSALS = (
    (
        re.compile(r"!!\s*(?P<what>The value '(?P<name>[^']{0,80})' is not valid for SENSOR\b.*)"),
        SourceKind.NAMED_SENSOR,
    ),
    (re.compile(r"!!\s*(?P<what>Error on 'QUERY_FILAMENT_SENSOR(?P<name>)\b.*)"), SourceKind.NAMED_SENSOR),
    (re.compile(r"!!\s*(?P<what>The value '(?P<name>[^']{0,80})' is not valid for BUTTON\b.*)"), SourceKind.PIN),
    (re.compile(r"!!\s*(?P<what>Error on 'QUERY_BUTTON(?P<name>)\b.*)"), SourceKind.PIN),
)


def named_report_in(text: str) -> SourceReport | None:
    """What a line says of a named sensor or of a named button, or None."""
    for sentence in _SENTENCES:
        if found := sentence.match(text):
            presence = Presence.OUT if found["absent"] else Presence.IN
            return told(SourceKind.NAMED_SENSOR, found["name"].strip(), presence, found["word"])
    if found := _BUTTON.match(text):
        reading = Reading.ACTIVE if found["state"] == "PRESSED" else Reading.INACTIVE
        return SourceReport(SourceKind.PIN, found["name"], reading, found["state"])
    for shape, kind in _REFUSALS:
        if found := shape.match(text):
            return SourceReport(kind, found["name"], error=found["what"].strip())
    return None


def tells_movement(text: str) -> bool:
    """Whether a line says behind the sentence of a sensor that it senses movement; from device text, seldom said."""
    return any(
        found and _MOVEMENT.search(text[found.end() :]) for found in (sentence.match(text) for sentence in _SENTENCES)
    )


def is_dictionary(text: str) -> bool:
    """Whether a line is the dictionary that some forks add to their sentence."""
    return _DICTIONARY.match(text) is not None


def with_dictionary(report: SourceReport, text: str) -> SourceReport:
    """The report with what the dictionary after it states; where the two contradict each other, presence is unknown."""
    found = _DICTIONARY.match(text)
    if found is None:
        return report
    on = _DICTIONARY_ENABLED.search(text)
    report = replace(report, enabled=on["on"] == "True" if on else report.enabled)
    agrees = (report.presence is Presence.IN) is (found["in"] == "True")
    return report if agrees else replace(report, presence=None, reading=Reading.UNKNOWN, wire_word="")
