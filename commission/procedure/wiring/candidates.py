"""From a declared wiring to what a diagnosis weighs: candidates, their predictions, the tests at hand, what was seen.

The wiring room predicts and the arithmetic weighs; neither knows the other. This is the one place where the words of
the one become the words of the other.
"""

import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from itertools import groupby

from commission.evidence.observations import Observed
from commission.judge.diagnosis import BenchTest
from commission.judge.expectation import By, Expectation, Sign
from commission.judge.explanations import Candidate, Explanations, Hand, Observation
from commission.vocabulary import Reading
from commission.wiring.conditions import Condition
from commission.wiring.installation import Installation
from commission.wiring.prediction import Prediction, Probe, Show, predicted_table

LEAST_READINGS = 5
"""Fewer readings than this say nothing."""
DWELL_READINGS, WORKED_READINGS = 21, 200
SOUND, SLIPPED = "as-declared", "slipped"
"""The two conditions under which nothing is wrong with the hardware."""

_SIGNS = {
    Show.ACTIVE: Sign.POSITIVE,
    Show.JOINED: Sign.POSITIVE,
    Show.NOT_AS_DECLARED: Sign.POSITIVE,
    Show.INACTIVE: Sign.NEGATIVE,
    Show.NOT_JOINED: Sign.NEGATIVE,
    Show.AS_DECLARED: Sign.NEGATIVE,
    Show.UNDEFINED: Sign.FLOATING,
    Show.RESTARTS: Sign.RESTART,
}
_SLIPS = {
    Probe.FILAMENT_IN: Probe.FILAMENT_OUT,
    Probe.FILAMENT_OUT: Probe.FILAMENT_IN,
    Probe.WORKED_BY_HAND: Probe.FILAMENT_OUT,
}
"""What a test shows when the person did not do what it asks for. Where filament is to stay in, it is looked for."""
_HANDS = {SOUND: Hand.DID_NOT_SLIP, SLIPPED: Hand.SLIPPED}


@dataclass(frozen=True)
class Case:
    """One installation as the diagnosis sees it.

    Attributes:
        explanations: the candidates, with what each test shows under them.
        conditions: what each candidate is, and its cures.
    """

    explanations: Explanations
    conditions: Mapping[str, Condition]


@cache
def case_of(installation: Installation) -> Case:
    """Everything that can be wrong with this installation, with what each test shows then."""
    predicted = predicted_table(installation)
    candidates = {
        condition.name: Candidate(
            {probe.value: expectation(one, _by(probe)) for probe, one in row.items()},
            condition.prior,
            _HANDS.get(condition.name, Hand.MAY_SLIP),
            sound=condition.name in _HANDS,
        )
        for condition, row in predicted.items()
    }
    slips = {probe.value: twin.value for probe, twin in _SLIPS.items()}
    in_out = (Probe.FILAMENT_IN.value, Probe.FILAMENT_OUT.value)
    return Case(Explanations(candidates, slips, in_out), {condition.name: condition for condition in predicted})


def expectation(prediction: Prediction, by: By = By.READ) -> Expectation:
    """A prediction of the wiring in the words of the diagnosis."""
    sometimes = prediction.sometimes
    return Expectation(_SIGNS[prediction.show], _SIGNS[sometimes] if sometimes else None, by, prediction.lasting)


def _by(probe: Probe) -> By:
    if probe.looked:
        return By.LOOKED
    return By.MEASURED if probe.metered else By.READ


@dataclass(frozen=True)
class Cost:
    """What a test costs a person.

    Attributes:
        cost_s: in seconds, with what it risks.
        repeats: how often it may be asked at most.
        why: what it takes, in a few words.
    """

    cost_s: float
    repeats: int
    why: str


@cache
def costs_of_tests() -> Mapping[Probe, Cost]:
    """What each test costs, from test_costs.toml: common practice, no source."""
    text = files(__package__).joinpath("test_costs.toml").read_text(encoding="utf-8")
    return {Probe[name.upper()]: Cost(**entry) for name, entry in tomllib.loads(text)["tests"].items()}


def bench_tests(*, meter: bool = True) -> list[BenchTest]:
    """The tests at hand: without power first, then as a person would go on."""
    return [_bench_test(probe) for probe in Probe if meter or not probe.metered]


def _bench_test(probe: Probe) -> BenchTest:
    cost = costs_of_tests()[probe]
    worked = {Probe.CABLE_WORKED: WORKED_READINGS, Probe.MACHINE_MOVING: WORKED_READINGS}
    return BenchTest(
        probe.value,
        1 if probe.metered or probe.looked else worked.get(probe, DWELL_READINGS),
        probe.own_power_up,
        unpowered=probe.metered or bool(probe.looked),
        cost_s=cost.cost_s,
        repeats=cost.repeats,
        first=bool(probe.looked),
    )


def observed(probe: Probe, readings: Sequence[Reading], power_up: int) -> Observation | None:
    """What a dwell or a watch showed, as raw counts; nothing when too little could be read."""
    known = [reading for reading in readings if reading is not Reading.UNKNOWN]
    if len(known) < LEAST_READINGS:
        return None
    active = sum(reading is Reading.ACTIVE for reading in known)
    fewer = Reading.ACTIVE if 2 * active <= len(known) else Reading.INACTIVE
    runs = sum(1 for reading, _ in groupby(known) if reading is fewer)
    return Observation(probe.value, active, len(known), power_up=power_up, runs=runs)


def restarted(probe: Probe, power_up: int) -> Observation:
    """The board restarted, or the link was lost, in this test."""
    return Observation(probe.value, 0, DWELL_READINGS, restarted=True, power_up=power_up)


def measured(probe: Probe, power_up: int, *, joined: bool) -> Observation:
    """What the meter showed."""
    return Observation(probe.value, int(joined), 1, power_up=power_up)


def looked(probe: Probe, power_up: int, *, as_declared: bool) -> Observation:
    """What a second look showed."""
    return Observation(probe.value, int(not as_declared), 1, power_up=power_up)


def for_record(observations: Iterable[Observation]) -> tuple[Observed, ...]:
    """Observations, for the record."""
    return tuple(Observed.of(seen) for seen in observations)


def observations_of(recorded: Iterable[Observed]) -> list[Observation]:
    """Observations as they were recorded; those of a test that is not known any more are left out."""
    known = {probe.value for probe in Probe}
    return [seen.observation for seen in recorded if seen.test in known]
