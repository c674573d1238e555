"""Readings made into observations, and observations kept and read back."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.evidence.findings import loop
from commission.evidence.observations import Observed
from commission.judge.diagnosis import Observation
from commission.procedure.candidates import case_of, for_record, measured, observations_of, observed, restarted
from commission.procedure.wiring import assessed
from commission.vocabulary import Reading
from commission.wiring.prediction import Probe
from tests.support.codec import read_back

A, I, U = Reading.ACTIVE, Reading.INACTIVE, Reading.UNKNOWN  # noqa: E741 - the letters of the tables
DECLARED = {"sensor": "switch", "contact": "NO", "to": "ground", "pull": "up", "absent": "high"}


@pytest.mark.parametrize(
    ("readings", "positives"),
    [
        ([A] * 21, 5),
        ([I] * 21, 0),
        ([A] * 20 + [I], 4),
        ([I] * 20 + [A], 1),
        ([A, I] * 10 + [A], 0),
        ([A] * 5, 5),
        ([U] * 16 + [I] * 5, 0),
    ],
)
def test_a_dwell_counts_as_five_stretches(readings: list[Reading], positives: int) -> None:
    """A stretch in which one reading departs from the rest counts as the other reading; lost ones are left out."""
    seen = observed(Probe.FILAMENT_IN, readings, 0)

    assert seen is not None
    assert (positives, 5) == (seen.positives, seen.readings)


def test_too_few_readings_are_no_observation() -> None:
    """Four readings that were understood say nothing."""
    assert observed(Probe.FILAMENT_IN, [A] * 4 + [U] * 17, 0) is None


@given(readings=st.lists(st.sampled_from(Reading), max_size=60))
@settings(deadline=None, max_examples=80)
def test_the_mirror_image_is_counted_the_other_way_round(readings: list[Reading]) -> None:
    """With active and inactive exchanged the count is the rest of five, unless both were read equally often."""
    mirror = {A: I, I: A, U: U}
    seen = observed(Probe.FILAMENT_IN, readings, 0)
    mirrored = observed(Probe.FILAMENT_IN, [mirror[reading] for reading in readings], 0)

    assert (seen is None) is (mirrored is None)
    if seen and mirrored and readings.count(A) != readings.count(I):
        assert 5 == seen.positives + mirrored.positives


def test_observations_survive_the_record() -> None:
    """Written into the book and read back they are the same; a test nobody knows any more is left out."""
    kept = [restarted(Probe.FILAMENT_IN, 0), measured(Probe.METER_SUPPLY_IN, 1, joined=True)]
    unknown = Observed.of(Observation("held up to the light", 0, 5))
    found = read_back(loop.TestsDone(observations=(*for_record(kept), unknown)))

    assert kept == observations_of(found.observations)


def test_every_condition_of_a_wiring_is_a_candidate() -> None:
    """Table, priors and conditions have the same names, and every row predicts every probe."""
    installation = assessed(DECLARED).installation
    assert installation is not None
    case = case_of(installation)

    assert set(case.table) == set(case.priors) == set(case.conditions)
    assert {frozenset(probe.value for probe in Probe)} == {frozenset(row) for row in case.table.values()}
