"""What counts as an answer: the same rules for a typed line and for a scripted one."""

import math
import re

from commission.asking.request import Choose, Enter, EntryKind
from commission.desk.wording import choice_labels, clean

# Long enough for a remark of two lines on a screen, short enough for every table of the report.
TEXT_LIMIT = 200

_YES = frozenset({"y", "yes"})
_NO = frozenset({"n", "no"})
# Plain decimal notation; a comma is the decimal sign of half the world. Nothing a person types here needs an exponent.
_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)", re.ASCII)


class NotAnAnswer(ValueError):
    """What was typed does not answer the question; the text says what would."""


def yes_or_no(typed: str) -> bool:
    """A yes or a no. An empty line is neither: evidence is not given by leaning on a key.

    Raises:
        NotAnAnswer: anything else.
    """
    word = typed.strip().lower()
    if word not in _YES | _NO:
        raise NotAnAnswer("Type y for yes or n for no, then Enter.")
    return word in _YES


def released(typed: str) -> bool:
    """Whether a hold point is released. Here anything but a yes, an empty line included, means not yet."""
    return typed.strip().lower() in _YES


def chosen(request: Choose, typed: str) -> str:
    """The key of the option that was typed, by its key or by the label shown.

    Raises:
        NotAnAnswer: no such option.
    """
    word = typed.strip().lower()
    for label, option in zip(choice_labels(request), request.options, strict=True):
        if word in (option.key.lower(), label.lower()):
            return option.key
    raise NotAnAnswer(f"Type one of {', '.join(choice_labels(request))}, then Enter.")


def entered(request: Enter, typed: str) -> str:
    """The text typed, as one printable line; a number within its bounds, written with a decimal point.

    Raises:
        NotAnAnswer: empty where that is not allowed, too long, no number, or out of bounds.
    """
    text = clean(" ".join(typed.split()))
    if not text:
        return _empty(request)
    if len(text) > TEXT_LIMIT:
        raise NotAnAnswer(f"That is {len(text)} characters; at most {TEXT_LIMIT} fit.")
    return _number(request, text) if request.kind is EntryKind.NUMBER else text


def _empty(request: Enter) -> str:
    if not request.optional:
        raise NotAnAnswer("Something must be entered here.")
    return ""


def _without_unit(request: Enter, text: str) -> str:
    """The figure alone, where the unit that is asked for stands behind it, as in `3.3 V` or `15mm`."""
    unit = clean(request.unit).casefold()
    return text[: -len(unit)].rstrip() if unit and text.casefold().endswith(unit) else text


def _number(request: Enter, text: str) -> str:
    unit = f" {clean(request.unit)}" if request.unit else ""
    text = _without_unit(request, text)
    if not _NUMBER.fullmatch(text):
        raise NotAnAnswer(f"A number is needed, such as 12.5{' (in' + unit + ')' if unit else ''}.")
    value = float(text.replace(",", "."))
    if not math.isfinite(value):
        raise NotAnAnswer("That number is too large to compute with.")
    if request.least is not None and value < request.least:
        raise NotAnAnswer(f"It must be at least {request.least:g}{unit}; {text} is too small.")
    if request.most is not None and value > request.most:
        raise NotAnAnswer(f"It must be at most {request.most:g}{unit}; {text} is too large.")
    return text.replace(",", ".")
