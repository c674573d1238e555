"""Readings as they are written: their times as steps, and those in a row that are alike once, with how many there are.

It is the idea of a soak's stretches, for readings whose every moment counts: nothing is left out, and a minute of dense
readings is a few kilobytes. Readings whose times are no whole tenths of a millisecond stay as they are.
"""

from collections.abc import Mapping
from itertools import accumulate, groupby, pairwise
from typing import Any

PER_S = 10_000
FEWEST = 4
"""Fewer readings are written one by one: that is as short, and easier to read."""
LISTS = ("before", "dwell", "readings")
"""Where an entry has readings."""
_STEPS, _ALIKE = "steps_100us", "alike"


def compact(entry: Mapping[str, Any]) -> dict[str, Any]:
    """The entry's values with its readings written so, where that gives them back exactly; else as it is."""
    return {name: _compacted(value) if name in LISTS else value for name, value in entry.items()}


def _compacted(readings: Any) -> Any:
    if not isinstance(readings, list | tuple) or len(readings) < FEWEST or not all(map(_is_reading, readings)):
        return readings
    ticks = [round(each[0] * PER_S) for each in readings]
    words = [(each[1], each[2]) for each in readings]
    found = {
        _STEPS: [ticks[0], *(after - before for before, after in pairwise(ticks))],
        _ALIKE: [[*alike, len(list(group))] for alike, group in groupby(words)],
    }
    return found if _expanded(found) == [list(each) for each in readings] else readings


def _is_reading(value: Any) -> bool:
    return isinstance(value, list | tuple) and len(value) == 3 and isinstance(value[0], float)


def expanded(entry: Mapping[str, Any]) -> dict[str, Any]:
    """The entry's values with its readings one by one.

    Raises:
        ValueError: they are of no known form, or are not as many as their times.
    """
    return {name: _expanded(value) if name in LISTS else value for name, value in entry.items()}


def _expanded(value: Any) -> Any:
    if not isinstance(value, dict):
        return value
    steps, alike = value.get(_STEPS), value.get(_ALIKE)
    if len(value) != 2 or not isinstance(steps, list) or not isinstance(alike, list) or not all(map(_is_step, steps)):
        raise ValueError("its readings are of no known form")
    groups = [(reading, word, count) for reading, word, count in alike if _is_step(count)]
    if len(groups) != len(alike) or sum(max(0, count) for _, _, count in groups) != len(steps):
        raise ValueError("its readings are not as many as their times")
    words = ((reading, word) for reading, word, count in groups for _ in range(count))
    return [[tick / PER_S, *word] for tick, word in zip(accumulate(steps), words, strict=True)]


def _is_step(value: Any) -> bool:
    return type(value) is int and abs(value) < 2**40
