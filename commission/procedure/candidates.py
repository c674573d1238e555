"""From a declared wiring to what a diagnosis weighs: candidates, their predictions, the tests at hand, what was seen.

The wiring room predicts and the arithmetic weighs; neither knows the other. This is the one place where the words of
the one become the words of the other.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

from commission.evidence.observations import Observed
from commission.judge.diagnosis import BenchTest, Observation, Table
from commission.judge.expectation import Expectation, Sign
from commission.vocabulary import Reading
from commission.wiring.conditions import Condition
from commission.wiring.installation import Installation
from commission.wiring.prediction import Prediction, Probe, Show, predicted_table

READINGS = 5
"""A test counts as so many readings; a dwell of more is taken in as many stretches."""

_SIGNS = {
    Show.ACTIVE: Sign.POSITIVE,
    Show.JOINED: Sign.POSITIVE,
    Show.INACTIVE: Sign.NEGATIVE,
    Show.NOT_JOINED: Sign.NEGATIVE,
    Show.UNDEFINED: Sign.FLOATING,
    Show.RESTARTS: Sign.RESTART,
}


@dataclass(frozen=True)
class Case:
    """One installation as the diagnosis sees it.

    Attributes:
        table: what each test shows under each candidate.
        priors: the weight of each candidate beforehand; relative.
        conditions: what each candidate is, and its cures.
    """

    table: Table
    priors: Mapping[str, float]
    conditions: Mapping[str, Condition]


@cache
def case_of(installation: Installation) -> Case:
    """Everything that can be wrong with this installation, with what each test shows then."""
    predicted = predicted_table(installation)
    table = {
        condition.name: {probe.value: expectation(one) for probe, one in row.items()}
        for condition, row in predicted.items()
    }
    priors = {condition.name: condition.prior for condition in predicted}
    return Case(table, priors, {condition.name: condition for condition in predicted})


def expectation(prediction: Prediction) -> Expectation:
    """A prediction of the wiring in the words of the diagnosis."""
    sometimes = prediction.sometimes
    return Expectation(_SIGNS[prediction.show], _SIGNS[sometimes] if sometimes else None)


def bench_tests(*, meter: bool = True) -> list[BenchTest]:
    """The tests at hand: without power first, then as a person would go on."""
    return [
        BenchTest(probe.value, 1 if probe.metered else READINGS, probe.own_power_up, probe.metered)
        for probe in Probe
        if meter or not probe.metered
    ]


def observed(probe: Probe, readings: Sequence[Reading], power_up: int) -> Observation | None:
    """What a dwell or a watch showed, as so many stretches of equal length; nothing when too little could be read.

    A stretch counts as the other reading as soon as one reading in it departs from what the whole mostly showed: a
    connection that lets go for a moment would drown in any majority.
    """
    known = [reading for reading in readings if reading is not Reading.UNKNOWN]
    if len(known) < READINGS:
        return None
    active = sum(reading is Reading.ACTIVE for reading in known)
    usual = Reading.ACTIVE if 2 * active >= len(known) else Reading.INACTIVE
    bounds = [len(known) * part // READINGS for part in range(READINGS + 1)]
    steady = sum(all(r is usual for r in known[a:b]) for a, b in pairwise(bounds))
    positives = steady if usual is Reading.ACTIVE else READINGS - steady
    return Observation(probe.value, positives, READINGS, power_up=power_up)


def restarted(probe: Probe, power_up: int) -> Observation:
    """The board restarted, or the link was lost, in this test."""
    return Observation(probe.value, 0, READINGS, restarted=True, power_up=power_up)


def measured(probe: Probe, power_up: int, *, joined: bool) -> Observation:
    """What the meter showed."""
    return Observation(probe.value, int(joined), 1, power_up=power_up)


def for_record(observations: Iterable[Observation]) -> tuple[Observed, ...]:
    """Observations, for the record."""
    return tuple(Observed.of(seen) for seen in observations)


def observations_of(recorded: Iterable[Observed]) -> list[Observation]:
    """Observations as they were recorded; those of a test that is not known any more are left out."""
    known = {probe.value for probe in Probe}
    return [seen.observation for seen in recorded if seen.test in known]
