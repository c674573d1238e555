"""What the entries that a report reads must look like; one of another form is named and left out.

Kinds that are not listed are told in a general way and may look as they like.
"""

from collections.abc import Callable, Mapping, Sequence
from enum import Enum
from typing import Any

from commission.vocabulary import Instruction, Outcome, Presence, PunchClass, Reading, Verdict

Check = Callable[[object], bool]


def _is(*kinds: type) -> Check:
    return lambda value: isinstance(value, kinds) and (bool in kinds or not isinstance(value, bool))


def _one_of(words: type[Enum], *also: object) -> Check:
    known = {word.value for word in words}
    return lambda value: value in also if value is None else isinstance(value, str) and value in known


def _rows(value: object) -> bool:
    """Readings: time, reading, the printer's word."""
    known = {reading.value for reading in Reading}
    return isinstance(value, list) and all(
        isinstance(row, list) and len(row) == 3 and _NUMBER(row[0]) and isinstance(row[1], str) and row[1] in known
        for row in value
    )


def _parts(value: object) -> bool:
    """Stretches of traffic: whether sent, when, how long."""
    return isinstance(value, list) and all(
        isinstance(part, list)
        and len(part) == 3
        and isinstance(part[0], bool)
        and all(isinstance(each, int) and not isinstance(each, bool) for each in part[1:])
        for part in value
    )


def _number(value: object) -> bool:
    """Seconds and counts: none is negative, and none reaches four months."""
    return isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value < 1e7


def _count(value: object) -> bool:
    return isinstance(value, int) and _number(value)


_TEXT, _NUMBER, _COUNT = _is(str), _number, _count
_LIST, _OBJECT = _is(list), _is(dict)
_TRIAL: dict[str, Check] = {
    "number": _COUNT,
    "cycle": _COUNT,
    "instruction": _one_of(Instruction),
    "presence": _one_of(Presence),
    "countdown_s": _NUMBER,
    "dwell_s": _NUMBER,
}

SHAPES: Mapping[str, Mapping[str, Check]] = {
    "run_started": {"tag": _TEXT, "purpose": _TEXT},
    "run_ended": {"outcome": _one_of(Outcome), "verdict": _one_of(Verdict), "why": _TEXT, "make_safe": _OBJECT},
    "phase_started": {"name": _TEXT, "title": _TEXT},
    "phase_ended": {"name": _TEXT},
    "phase_abandoned": {"name": _TEXT, "why": _TEXT},
    "opening": {"port": _TEXT},
    "opened": {"port": _TEXT},
    "asked": {"key": _TEXT, "question": _TEXT},
    "answered": {"key": _TEXT},
    "release_asked": {"key": _TEXT, "title": _TEXT},
    "release_answered": {"key": _TEXT, "granted": _is(bool)},
    "intent": {"command": _TEXT, "purpose": _TEXT, "effect": _TEXT},
    "trial_began": _TRIAL,
    "trial": {**_TRIAL, "before": _rows, "dwell": _rows, "unread": _COUNT, "void_reason": _TEXT, "remark": _TEXT},
    "watch_began": {"title": _TEXT, "presence": _one_of(Presence, None)},
    "watch": {
        "title": _TEXT,
        "presence": _one_of(Presence, None),
        "readings": _rows,
        "taken_s": _NUMBER,
        "largest_gap_s": _NUMBER,
    },
    "moves_began": {"title": _TEXT},
    "moves": {"key": _TEXT, "end": _TEXT, "moves": _LIST, "readings": _rows, "taken_s": _NUMBER},
    "hold_opened": {"title": _TEXT, "steps": _LIST},
    "hold_released": {"key": _TEXT},
    "finding": {"name": _TEXT, "sentences": _LIST, "facts": _OBJECT},
    "punch": {"grade": _one_of(PunchClass), "text": _TEXT, "cure": _TEXT},
    "interruption": {"what": _TEXT},
    "traffic": {"parts": _parts},
}


def misshapen(kind: str, facts: Mapping[str, Any], raw: bytes) -> str:
    """What is wrong with an entry's facts, in words; empty when the report can read them."""
    wrong = [key for key, check in SHAPES.get(kind, {}).items() if key not in facts or not check(facts[key])]
    if wrong:
        return f"{', '.join(wrong)} missing or not of the known form"
    if kind == "traffic" and _length(facts["parts"]) != len(raw):
        return "its parts are not as long as its bytes"
    return ""


def _length(parts: Sequence[Sequence[int]]) -> int:
    return sum(part[2] for part in parts)
