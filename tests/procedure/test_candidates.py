"""Readings made into observations, and observations kept and read back."""

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.evidence.findings import loop
from commission.evidence.observations import Observed
from commission.judge.explanations import Hand, Observation
from commission.procedure.wiring.candidates import (
    SLIPPED,
    SOUND,
    bench_tests,
    case_of,
    costs_of_tests,
    for_record,
    measured,
    observations_of,
    observed,
    restarted,
)
from commission.procedure.wiring.declaration import assessed
from commission.vocabulary import Reading
from commission.wiring.prediction import Probe
from tests.support.codec import read_back

A, I, U = Reading.ACTIVE, Reading.INACTIVE, Reading.UNKNOWN  # noqa: E741 - the letters of the tables
DECLARED = {"sensor": "switch", "contact": "NO", "to": "ground", "pull": "up", "absent": "high"}


@pytest.mark.parametrize(
    ("readings", "counted"),
    [
        ([A] * 21, (21, 21, 0)),
        ([I] * 21, (0, 21, 0)),
        ([A] * 20 + [I], (20, 21, 1)),
        ([I] * 10 + [A] * 3 + [I] * 8, (3, 21, 1)),
        ([I] * 10 + [A, I, A] + [I] * 8, (2, 21, 2)),
        ([A, I] * 10 + [A], (11, 21, 10)),
        ([A, A, U, A, I, U, I, A], (4, 6, 1)),
        ([U] * 16 + [I] * 5, (0, 5, 0)),
    ],
)
def test_a_dwell_is_kept_as_raw_counts(readings: list[Reading], counted: tuple[int, int, int]) -> None:
    """Active readings, all known ones, and the runs into which the fewer of them fall; lost ones are left out."""
    seen = observed(Probe.FILAMENT_IN, readings, 0)

    assert seen is not None
    assert counted == (seen.positives, seen.readings, seen.runs)


def test_too_few_readings_are_no_observation() -> None:
    """Four readings that were understood say nothing."""
    assert observed(Probe.FILAMENT_IN, [A] * 4 + [U] * 17, 0) is None


@given(readings=st.lists(st.sampled_from(Reading), max_size=60))
@settings(deadline=None, max_examples=80)
def test_the_mirror_image_is_counted_the_other_way_round(readings: list[Reading]) -> None:
    """With active and inactive exchanged the count is the rest, and the runs are the same, unless both are as many."""
    mirror = {A: I, I: A, U: U}
    seen = observed(Probe.FILAMENT_IN, readings, 0)
    mirrored = observed(Probe.FILAMENT_IN, [mirror[reading] for reading in readings], 0)

    assert (seen is None) is (mirrored is None)
    if seen and mirrored:
        assert seen.readings == seen.positives + mirrored.positives
        assert readings.count(A) == readings.count(I) or seen.runs == mirrored.runs


def test_observations_survive_the_record() -> None:
    """Written into the book and read back they are the same; a test nobody knows any more is left out."""
    kept = [restarted(Probe.FILAMENT_IN, 0), measured(Probe.METER_SUPPLY_IN, 1, joined=True)]
    unknown = Observed.of(Observation("held up to the light", 0, 5))
    found = read_back(loop.TestsDone(observations=(*for_record(kept), unknown)))

    assert kept == observations_of(found.observations)


def test_observations_of_an_older_record_are_read() -> None:
    """A record that counted stretches and kept no runs is read as it stands."""
    old = {"test": "filament in", "positives": 4, "readings": 5, "restarted": False, "power_up": 0}
    found = msgspec.convert({"name": "tests_done", "sentences": [], "observations": [old]}, loop.TestsDone)

    assert [Observation("filament in", 4, 5)] == observations_of(found.observations)


def test_every_condition_of_a_wiring_is_a_candidate() -> None:
    """Candidates and conditions have the same names, and every row predicts every probe."""
    installation = assessed(DECLARED).installation
    assert installation is not None
    case = case_of(installation)
    candidates = case.explanations.candidates

    assert set(candidates) == set(case.conditions)
    assert {frozenset(probe.value for probe in Probe)} == {frozenset(each.row) for each in candidates.values()}


def test_two_candidates_say_that_nothing_is_wrong() -> None:
    """Wired as declared, and a slip of the hand at a prompt; only the first says that nobody slipped."""
    installation = assessed(DECLARED).installation
    assert installation is not None
    candidates = case_of(installation).explanations.candidates

    assert {SOUND, SLIPPED} == {name for name, each in candidates.items() if each.sound}
    assert (Hand.DID_NOT_SLIP, Hand.SLIPPED) == (candidates[SOUND].hand, candidates[SLIPPED].hand)
    assert {Hand.MAY_SLIP} == {each.hand for each in candidates.values() if not each.sound}


def test_every_test_has_a_cost_with_its_reason() -> None:
    """The free ones come before a power-off, and that before the meter and the bridge: common practice, no source."""
    costs = costs_of_tests()
    free = {Probe.FILAMENT_IN, Probe.FILAMENT_OUT, Probe.WORKED_BY_HAND} | {p for p in Probe if p.looked}

    assert set(Probe) == set(costs)
    assert all(cost.why for cost in costs.values())
    assert max(costs[probe].cost_s for probe in free) < 15 < costs[Probe.CABLE_WORKED].cost_s
    assert costs[Probe.UNPLUGGED_AT_BOARD].cost_s < costs[Probe.METER_SIGNAL_IN].cost_s < costs[Probe.BRIDGED].cost_s


def test_looks_are_asked_first_and_need_no_power() -> None:
    """A second look is one answer, restarts nothing, and comes before any test that takes a hand."""
    looks = [test for test in bench_tests() if test.first]

    assert [probe.value for probe in Probe if probe.looked] == [test.name for test in looks]
    assert {(1, 1, True)} == {(test.readings, test.repeats, test.unpowered) for test in looks}
