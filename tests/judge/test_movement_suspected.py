"""Which trials look like those of a wheel: it flips while filament moves, rests quietly, and tells nothing at rest."""

import pytest

from commission.judge.movement_suspected import flipping
from commission.judge.stability import Sample
from commission.judge.trial import TimedTrial
from commission.vocabulary import Presence, Reading, Spoken

WORDS = {"a": Reading.ACTIVE, "i": Reading.INACTIVE}


def samples(letters: str, from_s: float = 0.0) -> tuple[Sample, ...]:
    """One reading each 0.1 s."""
    return tuple(Sample(from_s + 0.1 * place, WORDS[letter]) for place, letter in enumerate(letters))


def trial(presence: Presence, before: str, rests: str, *, moved: bool = True, dwell: str = "") -> TimedTrial:
    """A prompt whose dwell rests at one word, unless it is given whole."""
    return TimedTrial(presence, moved, samples(before), samples(dwell or rests * 21, 2.0))


IN, OUT = Presence.IN, Presence.OUT
WHEEL = [trial(presence, "iaiai", rests) for presence, rests in zip([IN, OUT] * 6, "aaiaiaaiiaai", strict=True)]
STILL = trial(OUT, "aaaaa", "a", moved=False)


def test_a_wheel_looks_like_movement() -> None:
    """Flips in every move, stillness at rest, and both words with filament in."""
    seen = flipping([*WHEEL, STILL])

    assert seen.seems_movement
    assert (12, 12, True, False) == (seen.moves, seen.flipping, seen.quiet, seen.tells)


@pytest.mark.parametrize(
    ("trials", "why"),
    [
        ([trial(IN, "iiaaa", "a"), trial(OUT, "aaiii", "i")] * 6, "a lever changes once"),
        ([trial(IN, "iaiai", "a"), trial(OUT, "aiaia", "i")] * 6, "it bounces, and tells in from out all the same"),
        ([trial(IN, "iaiai", "i"), trial(OUT, "aiaia", "a")] * 6, "the same, read the wrong way round"),
        ([*WHEEL, trial(OUT, "aiaia", "a", moved=False)], "it flips where nothing is moved: floating, or a bad wire"),
        ([trial(IN, "iaiai", "a", dwell="aaiia" * 4 + "a")] * 6 + WHEEL, "it is restless at rest"),
        (WHEEL[:7], "too few moves to tell"),
        ([*WHEEL[:6], *[trial(IN, "aaaaa", "a")] * 6], "half of the moves show nothing"),
    ],
)
def test_what_is_no_wheel_does_not_look_like_one(trials: list[TimedTrial], why: str) -> None:
    """Each misses one of the signs."""
    assert not flipping(trials).seems_movement, why


def test_the_least_that_looks_like_movement_is_enough() -> None:
    """Eight moves, three quarters of them with flips, and three changes for a flip; common practice, no source."""
    still, thrice = trial(IN, "aaaaa", "a"), trial(IN, "iaia", "a")
    twice = trial(IN, "aia", "a")

    assert flipping(WHEEL[:8]).seems_movement
    assert flipping([*WHEEL[:6], still, still]).seems_movement
    assert not flipping([*WHEEL[:5], still, still, still]).seems_movement
    assert [1, 0] == [flipping([each]).flipping for each in (thrice, twice)]


def test_a_single_late_hand_is_forgiven() -> None:
    """One dwell in which the wheel still turned is a slip of the person."""
    late = trial(IN, "iaiai", "a", dwell="iai" + "a" * 18)

    assert flipping([*WHEEL, late]).seems_movement
    assert not flipping([*WHEEL, late, late]).seems_movement


def test_trials_set_aside_show_nothing() -> None:
    """Neither those, nor unread ones, nor one in which the run was ended."""
    aside = TimedTrial(IN, True, samples("iaiai"), samples("a" * 21), spoken=Spoken.BEFORE)
    ended = TimedTrial(IN, True, samples("iaiai"), (), finished=False)

    assert 0 == flipping([aside, ended] * 10).moves
