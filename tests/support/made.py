"""Makes entries and findings for tests: what a test does not name gets a plain value of its type."""

from datetime import datetime
from typing import Any, TypeVar

import msgspec
from msgspec import inspect

from commission.evidence.entry import NOTHING_TOLD, Entry, Record
from commission.evidence.findings import KINDS
from commission.evidence.findings.base import Finding
from commission.evidence.found import Established
from commission.evidence.runs import RunEnded, RunStarted, WayOut, tag_in
from commission.vocabulary import Outcome, Verdict
from tests.support.fake_time import START

_T = TypeVar("_T")
_E = TypeVar("_E", bound=Entry)
RUN = "bench-3/2031-03-14/1"


def made(kind: type[_T], **given: Any) -> _T:
    """An object of this type: as given, and plain where nothing is given."""
    info = inspect.type_info(kind)
    assert isinstance(info, inspect.StructType | inspect.DataclassType)
    plain = {each.name: _plain(each.type) for each in info.fields if each.required and each.name not in given}
    unknown = set(given) - {each.name for each in info.fields}
    assert not unknown, f"{kind.__name__} has no {', '.join(sorted(unknown))}"
    return msgspec.convert(msgspec.to_builtins(kind(**plain, **given)), kind)


def found(finding: type[Finding] | str, *sentences: str, **values: Any) -> Established:
    """The entry of a finding, which may be named."""
    kind = KINDS[finding] if isinstance(finding, str) else finding
    return Established.of(made(kind, sentences=sentences, **values))


def begun(number: str, purpose: str = "install", **more: Any) -> RunStarted:
    """The entry that begins a run; tag and number are one."""
    usual: dict[str, Any] = {"operator": "R. Okafor", "port": "/dev/ttyUSB0", "tag": tag_in(number)}
    return RunStarted(number=number, purpose=purpose, **usual | more)


def ended(verdict: str = "pass", outcome: str = "complete", **more: Any) -> RunEnded:
    """The entry that ends a run."""
    left = WayOut(sentence="Nothing to make safe: this run only asked.")
    return RunEnded(verdict=Verdict(verdict), outcome=Outcome(outcome), **{"way_out": left} | more)


def on_record(
    entry: _E, sequence: int = 1, at: datetime = START, *, elapsed_us: int = 0, raw: bytes = b"", run: str = RUN
) -> Record[_E]:
    """The entry with a place in a book."""
    return Record(sequence, run, at.isoformat(), elapsed_us, entry, NOTHING_TOLD, raw)


def _plain(kind: inspect.Type) -> Any:  # noqa: C901, PLR0911 - one case a type
    match kind:
        case inspect.Metadata():
            return _plain(kind.type)
        case inspect.UnionType():
            return None if kind.includes_none else _plain(kind.types[0])
        case inspect.EnumType():
            return next(iter(kind.cls))
        case inspect.StructType() | inspect.DataclassType():
            return made(kind.cls)
        case inspect.StrType():
            return "0" * 64 if kind.pattern else "x"
        case inspect.BoolType():
            return False
        case inspect.IntType():
            return 0
        case inspect.FloatType():
            return 0.0
        case inspect.DictType():
            return {}
        case inspect.VarTupleType():
            return ()
    raise TypeError(f"no plain value is known of {kind}")
