"""What counts as an answer: the same rules for a typed line and for a scripted one."""

import math
import re
from collections.abc import Sequence
from decimal import Decimal

from commission.asking.request import Choose, Enter, EntryKind, Option
from commission.desk.wording import choice_labels, clean

# Long enough for a remark of two lines on a screen, short enough for every table of the report.
TEXT_LIMIT = 200

_YES = frozenset({"y", "yes"})
_NO = frozenset({"n", "no"})
# Plain decimal notation; a comma is the decimal sign of half the world. Nothing a person types here needs an exponent.
_FIGURE = r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)"
_NUMBER = re.compile(_FIGURE, re.ASCII)
_BETWEEN = re.compile(r"[\s,;]+")
_WITH_UNIT = re.compile(rf"({_FIGURE})\s*(\D*)")
_SCALES = {
    "V": {"mV": Decimal("0.001"), "mv": Decimal("0.001")},
    "ohm": {
        **dict.fromkeys(("Ω", "ω", "R", "r"), Decimal(1)),
        **dict.fromkeys(("k", "K", "kΩ", "kω", "kohm"), Decimal(1000)),
        **dict.fromkeys(("M", "MΩ", "Mohm"), Decimal(1_000_000)),
    },
    "µA": {**dict.fromkeys(("uA", "ua"), Decimal(1)), **dict.fromkeys(("mA", "ma"), Decimal(1000))},
}
"""Other units of the same quantity, as they are typed; a length or a weight is typed in the unit that is asked for."""


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
    """The key of the option that was typed, by its number on the screen or its word; Enter alone takes the usual one.

    Where several may be named: their keys, with commas between.

    Raises:
        NotAnAnswer: no such option, or one beside others that goes alone.
    """
    word = typed.strip().lower()
    if not word and request.usual:
        return request.usual
    return _picked(request, word, [*zip(choice_labels(request), request.options, strict=True), *_by_key(request)])


def chosen_by_key(request: Choose, text: str) -> str:
    """The same for a script: its word is the key first, also where that is a figure.

    Raises:
        NotAnAnswer: no such option.
    """
    word = text.strip().lower()
    return _picked(request, word, [*_by_key(request), *zip(choice_labels(request), request.options, strict=True)])


def _by_key(request: Choose) -> list[tuple[str, Option]]:
    return [(option.key.lower(), option) for option in request.options]


def _picked(request: Choose, word: str, names: Sequence[tuple[str, Option]]) -> str:
    if not request.several:
        return _option(request, word, names)
    parts = [part for part in _BETWEEN.split(word) if part] or [word]
    answer = ",".join(dict.fromkeys(_option(request, part, names) for part in parts))
    if not request.takes(answer):
        lone = next(
            place
            for place, option in zip(choice_labels(request), request.options, strict=True)
            if option.key in request.alone & set(answer.split(","))
        )
        raise NotAnAnswer(f"{lone} goes with no other answer: type it alone, or leave it out.")
    return answer


def _option(request: Choose, word: str, names: Sequence[tuple[str, Option]]) -> str:
    for name, option in names:
        if word == name:
            return option.key
    if request.several:
        raise NotAnAnswer(f"Type all that fit of {', '.join(choice_labels(request))}, with commas, then Enter.")
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


def entered_and_said(request: Enter, typed: str) -> tuple[str, list[str]]:
    """What `entered` takes of a line, and what is said of a number that was not typed as it is taken.

    Raises:
        NotAnAnswer: as `entered`.
    """
    taken = entered(request, typed)
    if request.kind is not EntryKind.NUMBER or not taken or typed.strip() == taken:
        return taken, []
    return taken, [f"Understood: {taken} {clean(request.unit)}".rstrip()]


def _figure(request: Enter, text: str) -> str:
    """The figure in the unit that is asked for, where a unit stands behind it, as in `3.3 V`, `3300 mV` or `10k`."""
    unit = clean(request.unit)
    scales = {unit.casefold(): Decimal(1), **_SCALES.get(unit, {})}
    figure = _WITH_UNIT.fullmatch(text)
    if figure is None or not figure[2]:
        return text
    scale = scales.get(figure[2]) or scales.get(figure[2].casefold())
    if scale is None:
        return text
    scaled = Decimal(figure[1].replace(",", ".")) * scale
    return figure[1] if scale == 1 else f"{scaled.normalize():f}"


def _number(request: Enter, text: str) -> str:
    unit = f" {clean(request.unit)}" if request.unit else ""
    text = _figure(request, text)
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
