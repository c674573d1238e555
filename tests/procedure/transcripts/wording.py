"""Requests and results as lines of plain text: every field that is not as usual, the same in every process."""

import dataclasses
from collections.abc import Iterator, Mapping
from enum import Enum
from hashlib import sha256
from typing import Any

from msgspec import Struct, structs

from commission.asking.form import Form
from commission.asking.message import Establish, Tell
from commission.asking.request import Ask, Keep

MOST = 240
"""Longer values stand with their beginning and a mark."""
IN_FRONT = ("key", "heading", "text", "name", "kind", "title", "question")


def mark(text: str) -> str:
    """A short mark of a text."""
    return sha256(text.encode()).hexdigest()[:6]


def shortened(text: str) -> str:
    """A text that takes no more room than there is for one value."""
    return text if len(text) <= MOST else f"{text[:MOST]} ... [{mark(text)}]"


def worded(value: Any) -> str:  # noqa: PLR0911 - one line a kind
    """A value in one line."""
    match value:
        case Enum():
            return f"{type(value).__name__}.{value.name}"
        case type():
            return value.__name__
        case float():
            return repr(round(value, 6))
        case Mapping():
            return "{" + ", ".join(f"{worded(key)}: {worded(each)}" for key, each in value.items()) + "}"
        case set() | frozenset():
            return "{" + ", ".join(sorted(map(worded, value))) + "}"
        case list() | tuple():
            return "(" + ", ".join(map(worded, value)) + ")"
    fields = ", ".join(f"{name}={worded(each)}" for name, each in told(value))
    return f"{type(value).__name__}({fields})" if has_fields(value) else repr(value)


def has_fields(value: Any) -> bool:
    """Whether it is one of the frozen records of the code."""
    return isinstance(value, Struct) or (dataclasses.is_dataclass(value) and not isinstance(value, type))


def told(value: Any) -> Iterator[tuple[str, Any]]:
    """The fields of a record that say something and are no function; what is filled in where nobody says it stands too.

    A field says nothing where it is empty, None or False.
    """
    kind = type(value)
    names = _NAMES[kind] = _NAMES.get(kind) or _names(kind)
    for name in names:
        field = getattr(value, name)
        if (isinstance(field, type) or not callable(field)) and _says_something(field):
            yield name, field


_NAMES: dict[type, tuple[str, ...]] = {}
"""By kind of record; working them out takes longer than reading the fields."""


def _names(kind: type) -> tuple[str, ...]:
    """The names of a record's fields; none of what is no record."""
    if issubclass(kind, Struct):
        return tuple(each.name for each in structs.fields(kind))
    return tuple(each.name for each in dataclasses.fields(kind)) if dataclasses.is_dataclass(kind) else ()


def _says_something(value: Any) -> bool:
    return not (value is None or value is False or (isinstance(value, str | tuple | list | Mapping) and not value))


def block(request: Any) -> list[str]:
    """A request in lines: what it is, then a line for each text of it and each other field."""
    if isinstance(request, Ask):
        under = f" under {request.release}" if request.release else ""
        return [f"Ask {request.command.text} in {request.timeout_s:g} s{under}"]
    if isinstance(request, Establish):
        return _lines(f"Establish {request.finding.name()}", list(told(request.finding)))
    if isinstance(request, Keep):
        return [f"Keep {request.name} for {request.purpose}", *(f"  | {each}" for each in request.text.splitlines())]
    fields = [each for each in told(request) if each[0] != "where"]
    if isinstance(request, Form):
        fields += [(row.question.key, (row.label, row.usual, row.empty)) for row in request.rows({})]
    front = next((each for each in fields if each[0] in IN_FRONT), None)
    if front is None or (isinstance(request, Tell) and not request.heading):
        return _lines(type(request).__name__, fields)
    fields.remove(front)
    return _lines(f"{type(request).__name__} {worded(front[1])}", fields)


def _lines(first: str, fields: list[tuple[str, Any]]) -> list[str]:
    lines = [first]
    for name, value in fields:
        if (
            isinstance(value, tuple | list)
            and value
            and all(isinstance(each, str) or has_fields(each) for each in value)
        ):
            lines.append(f"  {name}:")
            lines += [f"    {shortened(each if isinstance(each, str) else worded(each))}" for each in value]
        else:
            lines.append(f"  {name}: {shortened(worded(value))}")
    return lines
