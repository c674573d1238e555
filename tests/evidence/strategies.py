"""Hypothesis strategies for any entry or finding, worked out from its type, its bounds and patterns included."""

from dataclasses import fields, is_dataclass
from functools import cache
from typing import Any, get_args

import msgspec
from hypothesis import strategies as st
from msgspec import inspect

from commission.evidence.entries import AnyEntry
from commission.evidence.entry import About, Entry
from commission.evidence.findings import KINDS
from commission.evidence.findings.function import Reserve
from commission.judge.plan import Plan
from commission.link.identity import PortIdentity

ENTRIES: dict[str, type[Entry]] = {kind.kind(): kind for kind in get_args(AnyEntry)}
TEXTS = st.text(max_size=12)
JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | st.floats(allow_nan=False, allow_infinity=False) | TEXTS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXTS, inner, max_size=3),
    max_leaves=5,
)
OWN: dict[type, st.SearchStrategy[Any]] = {
    Plan: st.builds(
        Plan,
        seed=st.integers(0, 2**32),
        cycles=st.integers(6, 100),
        countdown_s=st.floats(0, 60),
        readings_per_dwell=st.integers(2, 40).map(lambda half: 2 * half + 1),
        dwell_s=st.floats(0.1, 60),
    ),
    PortIdentity: st.builds(PortIdentity, TEXTS, TEXTS, TEXTS, st.text(min_size=1, max_size=12)),
}
"""Types that check themselves beyond what their fields say."""
LENGTHS_AND_TIMES = (
    "leftover_max_mm",
    "leftover_mm",
    "margin_mm",
    "pause_after_mm",
    "pause_after_s",
    "time_limit_s",
    "air_mm",
)
"""What a reserve always has that was worked out."""


def entries_of(kind: type[Entry]) -> st.SearchStrategy[Entry]:
    """Any entry of this kind."""
    return _made(kind)


def abouts() -> st.SearchStrategy[About]:
    """What an entry may belong to."""
    return _made(About)


@cache
def _made(kind: type) -> st.SearchStrategy[Any]:
    if kind in OWN:
        return OWN[kind]
    if is_dataclass(kind):
        return st.builds(kind, **{each.name: TEXTS for each in fields(kind)})
    if kind is Reserve:
        worked_out = dict.fromkeys(LENGTHS_AND_TIMES, st.floats(-1e6, 1e6))
        return _struct(kind, done=st.just(False)) | _struct(kind, done=st.just(True), **worked_out)
    return _struct(kind)


def _struct(kind: type, **own: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """This kind by the types of its fields, but for those that are given."""
    info = inspect.type_info(kind)
    assert isinstance(info, inspect.StructType)
    given = {each.name: _of(each.type) for each in info.fields} | own
    return st.builds(lambda **values: msgspec.convert(msgspec.to_builtins(kind(**values)), kind), **given)


def _of(kind: inspect.Type) -> st.SearchStrategy[Any]:  # noqa: C901, PLR0911, PLR0912 - one case a type
    match kind:
        case inspect.Metadata():
            return _of(kind.type)
        case inspect.UnionType():
            return st.one_of([_of(each) for each in kind.types])
        case inspect.NoneType():
            return st.none()
        case inspect.EnumType():
            return st.sampled_from(list(kind.cls))
        case inspect.StructType() | inspect.DataclassType():
            return _made(kind.cls)
        case inspect.StrType():
            return st.from_regex(kind.pattern, fullmatch=True) if kind.pattern else TEXTS
        case inspect.BoolType():
            return st.booleans()
        case inspect.IntType():
            return st.integers(kind.ge if kind.ge is not None else -(2**53), (kind.lt or 2**53 + 1) - 1)
        case inspect.FloatType():
            return _floats(kind)
        case inspect.DictType():
            return st.dictionaries(TEXTS, _of(kind.value_type), max_size=3)
        case inspect.VarTupleType():
            return st.lists(_of(kind.item_type), max_size=3).map(tuple)
        case inspect.TupleType():
            return st.tuples(*map(_of, kind.item_types))
        case inspect.AnyType():
            return JSON
    raise TypeError(f"no strategy is known of {kind}")


def _floats(kind: inspect.FloatType) -> st.SearchStrategy[float]:
    least = kind.ge if kind.ge is not None else -1e6
    most = kind.le if kind.le is not None else 1e6 if kind.lt is None else kind.lt
    return st.floats(least, most, exclude_max=kind.lt is not None, allow_nan=False)


def findings() -> st.SearchStrategy[Any]:
    """Any finding."""
    return st.one_of([_made(kind) for kind in KINDS.values()])
