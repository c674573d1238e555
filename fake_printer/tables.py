"""From a TOML table to a frozen record: every key known, every type right, or a complaint that names the key."""

import dataclasses
import types
from collections.abc import Mapping
from typing import Any, Literal, TypeVar, get_args, get_origin, get_type_hints

Record = TypeVar("Record")


class TableError(ValueError):
    """A table does not fit its record; the text names the key and says what is expected there."""


def record_from(kind: type[Record], table: Mapping[str, object], where: str = "") -> Record:
    """Build a record of this kind from the table.

    Args:
        kind: a frozen dataclass.
        table: the TOML table.
        where: the dotted key of the table, for complaints.

    Raises:
        TableError: an unknown key, a wrong type, or a value the record refuses.
    """
    hints = get_type_hints(kind)
    unknown = sorted(set(table) - set(hints))
    if unknown:
        raise TableError(f"unknown key '{_dotted(where, unknown[0])}'; known here: {', '.join(sorted(hints))}")
    values = {key: _convert(hints[key], value, _dotted(where, key)) for key, value in table.items()}
    missing = [f.name for f in dataclasses.fields(kind) if _is_required(f) and f.name not in values]  # type: ignore[arg-type]
    if missing:
        raise TableError(f"missing key '{_dotted(where, missing[0])}'")
    try:
        return kind(**values)
    except ValueError as refused:
        raise TableError(f"in '{where or 'the top table'}': {refused}") from refused


def merged(base: Mapping[str, object], over: Mapping[str, object]) -> dict[str, object]:
    """The base table with the other laid over it; tables merge, everything else (arrays too) is replaced."""
    result = dict(base)
    for key, value in over.items():
        below = result.get(key)
        if isinstance(below, Mapping) and isinstance(value, Mapping):
            result[key] = merged(below, value)
        else:
            result[key] = value
    return result


def _dotted(where: str, key: str) -> str:
    return f"{where}.{key}" if where else key


def _is_required(item: "dataclasses.Field[Any]") -> bool:
    return item.default is dataclasses.MISSING and item.default_factory is dataclasses.MISSING


def _convert(kind: Any, value: object, where: str) -> Any:
    if dataclasses.is_dataclass(kind) and isinstance(kind, type):
        return record_from(kind, _table(value, where), where)
    origin = get_origin(kind)
    if (
        origin is types.UnionType
    ):  # something or nothing; TOML has no word for nothing, so what stands there is something
        return _convert(get_args(kind)[0], value, where)
    if origin is Literal:
        return _one_of(get_args(kind), value, where)
    if origin is tuple:
        return _items(get_args(kind)[0], value, where)
    if origin is dict:
        inner = get_args(kind)[1]
        return {key: _convert(inner, item, _dotted(where, key)) for key, item in _table(value, where).items()}
    return _plain(kind, value, where)


def _table(value: object, where: str) -> Mapping[str, object]:
    if not isinstance(value, Mapping):
        raise TableError(f"'{where}' must be a table")
    return value


def _one_of(choices: tuple[object, ...], value: object, where: str) -> object:
    if isinstance(value, types.NoneType) or value not in choices:
        raise TableError(f"'{where}' is {value!r}; it must be one of {', '.join(map(str, choices))}")
    return value


def _items(kind: Any, value: object, where: str) -> tuple[Any, ...]:
    if not isinstance(value, list):
        raise TableError(f"'{where}' must be a list")
    return tuple(_convert(kind, item, f"{where}[{index}]") for index, item in enumerate(value))


def _plain(kind: type, value: object, where: str) -> object:
    if kind is float and type(value) in (int, float):
        return float(value)  # type: ignore[arg-type]
    if type(value) is not kind:
        raise TableError(f"'{where}' is {value!r}; it must be of type {kind.__name__}")
    return value
