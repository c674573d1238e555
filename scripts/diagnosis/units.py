"""Simulated units for the diagnosis: they answer a test with raw readings, as their condition has it.

Nothing here knows how the diagnosis counts: a dwell is a list of readings, with the noise of each, with what comes and
goes in runs, and with the person who may slip or overlook something.
"""

from __future__ import annotations

import random
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from itertools import permutations, product

from commission.judge.diagnosis import BenchTest
from commission.judge.expectation import Expectation, Sign
from commission.judge.explanations import Observation
from commission.procedure.wiring.candidates import measured, observed, restarted
from commission.vocabulary import Contact, Level, Polarity, Presence, Pull, Reading
from commission.wiring.assessment import assess
from commission.wiring.installation import (
    Changeover,
    DryContact,
    Installation,
    OpenCollector,
    PullBy,
    PushPull,
    Sensor,
    Terminal,
)
from commission.wiring.parts import SensorKind, parts
from commission.wiring.prediction import Probe

OVERLOOKED, IMAGINED, MISMEASURED = 0.25, 0.02, 0.01
"""How often the simulated person is wrong when looking and measuring."""
SLIPS = {
    Probe.FILAMENT_IN.value: Probe.FILAMENT_OUT.value,
    Probe.FILAMENT_OUT.value: Probe.FILAMENT_IN.value,
    Probe.WORKED_BY_HAND.value: Probe.FILAMENT_OUT.value,
}


@cache
def working_wirings() -> tuple[Installation, ...]:
    """Every wiring that reads right when it is sound, on a 3.3 V board."""
    sensors: list[Sensor] = [
        *(DryContact(c, to, p) for c, to, p in product(Contact, (Terminal.GROUND, Terminal.SUPPLY), Presence)),
        *(Changeover(a, b, c, pressed) for (a, b, c), pressed in product(permutations(Terminal), Presence)),
        *(OpenCollector(presence) for presence in Presence),
        *(PushPull(level) for level in (Level.HIGH, Level.LOW)),
    ]
    levels = (Level.HIGH, Level.LOW)
    wired = [_wired(*choice) for choice in product(sensors, Pull, PullBy, levels)]
    return tuple(installation for installation in wired if assess(installation).polarity is Polarity.DIRECT)


def _wired(sensor: Sensor, pull: Pull, pull_by: PullBy, absent: Level) -> Installation:
    kinds = {OpenCollector: SensorKind.OPEN_COLLECTOR, PushPull: SensorKind.PUSH_PULL}
    kind = kinds.get(type(sensor), SensorKind.SWITCH)
    return Installation(kind, sensor, pull, pull_by, absent, 3.3, 3.3, parts().inputs["32-bit"])


@dataclass
class Unit:
    """A unit with its person.

    Attributes:
        row: what each test shows.
        noise: the error of each raw reading.
        departing: the share of dwells that depart, where something comes and goes.
        whole: what departs does so for a whole dwell, as a lever that sticks does.
        slips: the numbers of the tests, counted from 0, at which the hand slips.
        lapses: the share of readings that lapse in every dwell, in place of departing dwells; 0 for none.
        sound: what each test shows of a sound unit; with it is told whether the fault ever showed.
    """

    row: Mapping[str, Expectation]
    sound: Mapping[str, Expectation]
    noise: float
    departing: float
    seed: str
    whole: bool = False
    slips: frozenset[int] = frozenset()
    lapses: float = 0.0
    answered: int = 0
    showed: bool = False

    def answer(self, test: BenchTest, power_up: int) -> Observation:
        """What the test shows this time."""
        number, self.answered = self.answered, self.answered + 1
        chance = random.Random(f"{self.seed}-{number}")  # noqa: S311 - a simulation that can be repeated
        probe = Probe(test.name)
        expected = self.row[SLIPS[test.name] if number in self.slips and test.name in SLIPS else test.name]
        return self._seen(probe, expected, test.readings, power_up, chance)

    def _seen(
        self, probe: Probe, expected: Expectation, readings: int, power_up: int, chance: random.Random
    ) -> Observation:
        if probe.looked or probe.metered:
            wrong = MISMEASURED if probe.metered else OVERLOOKED if expected.sign is Sign.POSITIVE else IMAGINED
            self.showed |= probe.metered and expected.sign is not self.sound[probe.value].sign
            shows = (expected.sign is Sign.POSITIVE) is not (chance.random() < wrong)
            return measured(probe, power_up, joined=shows)
        signs = self._signs(expected, readings, power_up, chance)
        steady = self.sound[probe.value].sign
        self.showed |= steady is not Sign.FLOATING and set(signs) != {steady}
        if Sign.RESTART in signs:
            return restarted(probe, power_up)
        raw = [(sign is Sign.POSITIVE) is not (chance.random() < self.noise) for sign in signs]
        found = observed(probe, [Reading.ACTIVE if active else Reading.INACTIVE for active in raw], power_up)
        if found is None:
            raise ValueError(f"A dwell of {readings} readings is too short to say anything.")
        return found

    def _signs(self, expected: Expectation, readings: int, power_up: int, chance: random.Random) -> list[Sign]:
        first = self._sign(expected.sign, power_up)
        if expected.sometimes is not None and self.lapses:
            other = self._sign(expected.sometimes, power_up)
            return [other if chance.random() < self.lapses else first for _ in range(readings)]
        if expected.sometimes is not None and chance.random() < self.departing:
            other = self._sign(expected.sometimes, power_up)
            if self.whole or chance.random() < 0.5:
                return self._wandering(readings, chance) if other is Sign.FLOATING else [other] * readings
            return self._in_runs(first, other, readings, chance)
        return self._wandering(readings, chance) if first is Sign.FLOATING else [first] * readings

    def _sign(self, sign: Sign, power_up: int) -> Sign:
        """Where an input floats, what it does in this power-up: it sticks, or it wanders; some leak to one side."""
        if sign is not Sign.FLOATING:
            return sign
        leaks = random.Random(f"{self.seed}-leak").random()  # noqa: S311
        if leaks < 0.06:
            return Sign.POSITIVE if leaks < 0.03 else Sign.NEGATIVE
        held = random.Random(f"{self.seed}-power-up-{power_up}").random()  # noqa: S311
        return Sign.FLOATING if held < 0.5 else Sign.POSITIVE if held < 0.75 else Sign.NEGATIVE

    def _wandering(self, readings: int, chance: random.Random) -> list[Sign]:
        """Runs of either reading, each as long as chance has it."""
        turning = chance.uniform(0.02, 0.5)
        sign = chance.choice((Sign.POSITIVE, Sign.NEGATIVE))
        found = []
        for _ in range(readings):
            if chance.random() < turning:
                sign = Sign.NEGATIVE if sign is Sign.POSITIVE else Sign.POSITIVE
            found.append(sign)
        return found

    def _in_runs(self, first: Sign, other: Sign, readings: int, chance: random.Random) -> list[Sign]:
        """The other one for a while, somewhere in the dwell, once or a few times."""
        found = [first] * readings
        for _ in range(chance.randint(1, 4)):
            begin = chance.randrange(readings)
            length = max(1, int(readings * chance.uniform(0.02, 0.4)))
            found[begin : begin + length] = [other] * len(found[begin : begin + length])
        floats = {Sign.FLOATING: chance.choice((Sign.POSITIVE, Sign.NEGATIVE))}
        return [floats.get(sign, sign) for sign in found]
