"""Readings are written in short, and come back one by one as they were."""

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.evidence.codec import read, written
from commission.evidence.entry import FORMAT, PLAIN, Unreadable
from commission.evidence.measured import Readings, TimedReading, Watch
from commission.evidence.steady import compact, expanded
from commission.vocabulary import Reading
from tests.support.made import made

TIMES = st.lists(st.integers(0, 72_000_000), max_size=60).map(sorted)
WORDS = st.sampled_from(["open", "TRIGGERED", "", "ö\u202e"])


def watch(readings: Readings) -> Watch:
    """A watch with these readings."""
    return made(Watch, key="steady", readings=readings)


@given(TIMES, st.data())
def test_readings_come_back_as_they_were(ticks: list[int], data: Any) -> None:
    """Times in tenths of a millisecond, in whatever rows the readings stand; the text is JSON and nothing else."""
    words = [data.draw(WORDS) for _ in ticks]
    readings = tuple(
        TimedReading(round(tick / 10_000, 4), data.draw(st.sampled_from(Reading)), word)
        for tick, word in zip(ticks, words, strict=True)
    )
    entry = watch(readings)

    assert entry == read(Watch.kind(), json.dumps(written(entry)))[0]


def test_many_readings_are_a_few_words() -> None:
    """A thousand readings that are alike are their steps in time and one word; the entry says which form it is."""
    readings = tuple(TimedReading(round(0.01 * place, 4), Reading.ACTIVE, "open") for place in range(1000))
    values = written(watch(readings))

    assert {"steps_100us": [0, *[100] * 999], "alike": [["active", "open", 1000]]} == values["entry"]["readings"]
    assert FORMAT == values["format"]


def test_each_form_has_a_number_of_its_own() -> None:
    """Books of every bench hold them, so they stay: 3 with readings in short, 2 for all others."""
    assert (2, 3) == (PLAIN, FORMAT)


def test_times_that_are_finer_stay_as_they_are() -> None:
    """What the short form could not give back exactly is written as ever, in the plain form."""
    readings = tuple(TimedReading(place + 0.00001, Reading.ACTIVE, "open") for place in range(10))
    values = written(watch(readings))

    assert PLAIN == values["format"]
    assert watch(readings) == read(Watch.kind(), json.dumps(values))[0]


@pytest.mark.parametrize(
    ("readings", "why"),
    [
        ({"steps_100us": [1, 2], "alike": [["active", "open", 3]]}, "not as many as their times"),
        ({"steps_100us": [1, 2], "alike": [["active", "open", 10**30]]}, "not as many as their times"),
        ({"steps_100us": [1, 2], "alike": [["active", "open", 4], ["active", "open", -2]]}, "not as many"),
        ({"steps_100us": [1, 2, 3], "alike": [["active", "open", 2], ["active", "open", 0]]}, "not as many"),
        ({"steps_100us": [1, 10**400], "alike": [["active", "open", 2]]}, "of no known form"),
        ({"steps_100us": [1, 2.5], "alike": [["active", "open", 2]]}, "of no known form"),
        ({"steps_100us": [1, 2]}, "of no known form"),
        ({"steps_100us": [1], "alike": ["active"]}, ""),
    ],
)
def test_readings_of_no_known_form_are_not_read(readings: object, why: str) -> None:
    """A forged or damaged entry is told as one that cannot be read; none takes time or memory beyond its size."""
    values = written(watch(tuple(TimedReading(0.1 * place, Reading.ACTIVE, "open") for place in range(5))))
    values["entry"]["readings"] = readings
    entry, _ = read(Watch.kind(), json.dumps(values | {"format": FORMAT}))

    assert isinstance(entry, Unreadable)
    assert why in entry.why


@pytest.mark.parametrize(("count", "short"), [(3, False), (4, True)])
def test_few_readings_are_written_one_by_one(count: int, *, short: bool) -> None:
    """Four are the fewest that are shorter in short."""
    readings = tuple(TimedReading(0.5 * place, Reading.ACTIVE, "open") for place in range(count))

    assert short is isinstance(written(watch(readings))["entry"]["readings"], dict)


@pytest.mark.parametrize("each", [7, "open", [0.5, "active"], [0.5, "active", "", ""], ["0.5", "active", ""]])
def test_a_list_of_anything_else_is_written_as_it_is(each: object) -> None:
    """Only readings have a short form: a moment, what was read, and the printer's word."""
    values = {"key": "steady", "readings": [each] * 10}

    assert values == compact(values)


@pytest.mark.parametrize(("step", "taken"), [(2**40 - 1, True), (2**40, False), (-(2**40), False), (True, False)])
def test_a_step_beyond_every_run_is_refused(step: int, *, taken: bool) -> None:
    """More than three years between two readings is a damaged entry; so is a step that is no whole number."""
    entry = {"readings": {"steps_100us": [step], "alike": [["active", "", 1]]}}

    if taken:
        assert {"readings": [[step / 10_000, "active", ""]]} == expanded(entry)
    else:
        with pytest.raises(ValueError, match="no known form"):
            expanded(entry)


@pytest.mark.parametrize("readings", [{"steps": [1]}, {"x": [], "y": []}, {"steps": 1, "alike": 2}, {}])
def test_readings_of_no_known_form_are_told(readings: object) -> None:
    """They are as damaged as any other text: the entry is unreadable, and the rest of the book is not."""
    values = {"format": FORMAT, "about": {}, "entry": {"key": "steady", "readings": readings}}

    entry, _ = read(Watch.kind(), json.dumps(values))

    assert isinstance(entry, Unreadable)
    assert "of no known form" in entry.why


def test_an_entry_that_is_no_object_is_told() -> None:
    """A list where its values should be."""
    entry, _ = read(Watch.kind(), json.dumps({"format": FORMAT, "about": {}, "entry": []}))

    assert isinstance(entry, Unreadable)
    assert "no JSON object" in entry.why


@pytest.mark.parametrize("readings", [{"steps_100us": [0]}, {"steps_100us": [0.5], "alike": []}, {"alike": 3, "x": 1}])
def test_readings_of_no_known_form_are_refused(readings: dict[str, object]) -> None:
    """An entry that was altered is said to be unreadable; nothing is made up for it."""
    with pytest.raises(ValueError, match="no known form"):
        expanded({"readings": readings})
    assert {"readings": [[0.0, "active", ""]], "key": "wiggle"} == expanded(
        {"readings": [[0.0, "active", ""]], "key": "wiggle"}
    )
