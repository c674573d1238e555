"""What is weighed in a diagnosis: candidates with what each test shows under them, and what the tests showed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import Enum
from functools import cached_property

from commission.judge.expectation import By, Expectation, Sign

Row = Mapping[str, Expectation]


class Hand(Enum):
    """What a candidate says of the person at the prompts."""

    MAY_SLIP = "may slip"
    DID_NOT_SLIP = "did not slip"
    SLIPPED = "slipped at least once"


@dataclass(frozen=True)
class Candidate:
    """One explanation.

    Attributes:
        row: what each test shows.
        prior: its weight before anything was tried; relative, above zero.
        hand: what it says of the person.
        sound: it says that nothing is wrong with the hardware.
    """

    row: Row
    prior: float
    hand: Hand = Hand.MAY_SLIP
    sound: bool = False


@dataclass(frozen=True)
class Observation:
    """What a test showed.

    Attributes:
        test: its name.
        positives: how many readings were active (or near zero on the meter, or not as declared).
        readings: how many there were.
        restarted: the board restarted in it; the counts are then of no account.
        power_up: a number that changes whenever power was off in between.
        runs: into how many runs the fewer of the two kinds of readings fall; None where that is not on record.
    """

    test: str
    positives: int
    readings: int
    restarted: bool = False
    power_up: int = 0
    runs: int | None = None

    def __post_init__(self) -> None:
        fewer = min(self.positives, self.readings - self.positives)
        if self.runs is not None and not self.restarted and not min(1, fewer) <= self.runs <= fewer:
            raise ValueError(f"{fewer} readings of {self.test!r} do not fall into {self.runs} runs.")
        if not self.restarted and not 0 <= self.positives <= self.readings:
            raise ValueError(f"{self.positives} of {self.readings} readings of {self.test!r} cannot be.")
        if not self.restarted and self.readings == 0:
            raise ValueError(f"{self.test!r} gave no reading; leave it out, it says nothing.")

    @property
    def mostly(self) -> bool | None:
        """Whether it was positive; None where it was neither."""
        if self.restarted:
            return None
        share = self.positives / self.readings
        return None if 0.1 < share < 0.9 else share >= 0.9


@dataclass(frozen=True)
class Explanations:
    """All that is weighed.

    Attributes:
        candidates: by name.
        slips: what a test shows when the hand slipped: what that other test shows.
        in_out: the two tests whose difference shows that a reading follows the filament.
        sound_after: how many of the second of them come before anything may be called sound with confidence.
    """

    candidates: Mapping[str, Candidate]
    slips: Mapping[str, str] = field(default_factory=dict)
    in_out: tuple[str, str] | None = None
    sound_after: int = 10

    def __post_init__(self) -> None:
        if not self.candidates:
            raise ValueError("There is no candidate to weigh.")
        for name, candidate in self.candidates.items():
            if not candidate.prior > 0:
                raise ValueError(f"The candidate {name!r} has no prior above zero.")

    @cached_property
    def tests(self) -> frozenset[str]:
        """The tests that every candidate predicts."""
        return frozenset(set.intersection(*(set(candidate.row) for candidate in self.candidates.values())))

    @cached_property
    def looked(self) -> frozenset[str]:
        """The tests in which a person looks and says what is there; nothing is read."""
        row = next(iter(self.candidates.values())).row
        return frozenset(test for test, expected in row.items() if expected.by is By.LOOKED)

    def may_be_sound(self, members: Sequence[str]) -> bool:
        """Whether one of these candidates says that nothing is wrong with the hardware."""
        return any(self.candidates[name].sound for name in members)

    def trials_missing(self, observations: Sequence[Observation]) -> int:
        """How many trials still come before anything may be called sound with confidence."""
        if self.in_out is None:
            return 0
        done = sum(seen.test == self.in_out[1] and not seen.restarted for seen in observations)
        return max(0, self.sound_after - done)


def followed(explanations: Explanations, observations: Sequence[Observation]) -> bool:
    """Whether the readings followed the filament, three times each way at least, and never did otherwise."""
    if explanations.in_out is None:
        return False
    shown = [[seen.mostly for seen in observations if seen.test == test] for test in explanations.in_out]
    either_way = ([{True}, {False}], [{False}, {True}])
    return all(len(each) >= 3 for each in shown) and [set(each) for each in shown] in either_way


def can_follow(explanations: Explanations, candidate: Candidate) -> bool:
    """Whether readings can follow the filament under this candidate, time after time."""
    if explanations.in_out is None:
        return True
    within, without = (
        {candidate.row[test].sign, candidate.row[test].sometimes} - {None, Sign.RESTART} for test in explanations.in_out
    )
    return any(one is not other for one in within for other in without)
