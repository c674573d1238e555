"""What only reads on one family sets on another: for each such word, the form that reads, by family.

A word that is not listed here reads, or sets, wherever it is known. For a listed one the table is the whole rule: a
form that is not in it is no question. It is worth a table because the monitor query of one family, with a drive number,
sets a distance on a fork of another.

One family runs a file of its user's for a number it does not know. So nothing is tried there to see what happens: only
the numbers that it is known to answer are questions, whatever they do elsewhere.
"""

import re
from collections.abc import Mapping
from types import MappingProxyType

from commission.dialect.family import Family, Identified

_WORD = re.compile(r"[A-Z]\d{1,4}|[A-Z][A-Z_]{2,40}")


def _form(text: str) -> re.Pattern[str]:
    return re.compile(rf"{text}\Z")


READS: Mapping[str, Mapping[Family, re.Pattern[str]]] = MappingProxyType(
    {
        # B: one drive's monitor describes itself; any letter more rebuilds it or clears its calibration.
        # A: forks have a monitor of another make, where the drive's letter sets a distance and others reset the watch.
        "M591": {Family.B: _form(r"M591 D\d{1,2}"), Family.A: _form("M591")},
        "M409": {Family.B: _form(r'M409 K"[\w.]{1,60}(?:\[\d{1,3}\])?"(?: F"a\d{1,3}")?')},
        "M408": {Family.B: _form("M408 S0")},
        # B: with a pin's name it would give the input away.
        "M950": {Family.B: _form(r"M950 J\d{1,2}")},
        "M555": {Family.B: _form("M555")},
        # E: the pulses so far. Its neighbours switch the counter off, or on from zero.
        "M407": {Family.E: _form("M407")},
        # D: it makes the pin an input with a pull-up to read it, and with a value it drives it: never a question.
        "M42": {},
        "QUERY_FILAMENT_SENSOR": {Family.C: _form(r"QUERY_FILAMENT_SENSOR SENSOR=[\w.-]{1,60}")},
        "QUERY_BUTTON": {Family.C: _form(r"QUERY_BUTTON BUTTON=[\w.-]{1,60}")},
        "STATUS": {Family.C: _form("STATUS")},
    }
)


KNOWN: Mapping[Family, frozenset[str]] = MappingProxyType(
    {
        Family.B: frozenset(
            {"M27", "M105", "M114", "M115", "M119", "M400", "M408", "M409", "M503", "M555", "M591", "M950"},
        ),
    }
)
"""The numbers that are known not to run a file of the user's, on the family that has such files."""


def only_reads(text: str, family: Family | None) -> bool:
    """Whether a command only reads on this family; one that depends on it never does where it is not known."""
    word = _first_word(text)
    if family is not None and word not in KNOWN.get(family, {word}):
        return False
    forms = READS.get(word)
    if forms is None:
        return True
    form = None if family is None else forms.get(family)
    return form is not None and form.match(text) is not None


def require_question(text: str, printer: Identified | None) -> None:
    """Refuse a question that is none on this printer, or that depends on a family nobody has identified.

    Raises:
        ValueError: so it is.
    """
    if only_reads(text, None if printer is None else printer.family):
        return
    if printer is None:
        raise ValueError(f"what this does depends on the printer's family: identify it first, then ask {text!r}")
    raise ValueError(f"on a printer of family {printer.family.value} this is no question: {text!r}")


def _first_word(text: str) -> str:
    found = _WORD.match(text)
    return found[0] if found else ""
