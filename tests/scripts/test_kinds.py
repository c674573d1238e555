"""The table of kinds: the truth worked out from each unit is what the kind's name and its claim say."""

from collections import Counter

import pytest

from scripts.commissioning.chance import chance_of
from scripts.commissioning.figures import LIMITS, Claim
from scripts.commissioning.kinds import KINDS, Kind
from scripts.commissioning.unit import Harm

DRAWN = 20
WORDS = {
    "sound": None,
    "noise": Harm.NOISY,
    "cable opens": Harm.INTERMITTENT,
    "inverted": Harm.INVERTED,
    "fail-danger": Harm.FAIL_DANGER,
    "unheld": Harm.UNHELD,
    "signal wire broken": Harm.STUCK,
    "ground wire": Harm.STUCK,
    "supply wire": Harm.STUCK,
    "signal touches": Harm.STUCK,
    "plugged into another input": Harm.STUCK,
    "supply shorted": Harm.SHORTS,
    "thin filament": Harm.STUCK,
    "lever sticks": Harm.MISREADS,
}


def harms(kind: Kind) -> set[frozenset[Harm]]:
    """What is wrong with units of the kind, over some draws."""
    chance = chance_of(7)
    return {kind.unit(chance).harms for _ in range(DRAWN)}


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.name)
def test_a_kind_is_what_its_name_says(kind: Kind) -> None:
    """Every unit of it has the harm that the name speaks of; a sound one has none."""
    word = next(word for word in WORDS if kind.name.startswith(word))
    expected = WORDS[word]

    for found in harms(kind):
        assert (expected in found) if expected is not None else not found


@pytest.mark.parametrize("kind", [kind for kind in KINDS.values() if kind.claim is Claim.UNSAFE], ids=lambda k: k.name)
def test_what_must_never_pass_is_unsafe(kind: Kind) -> None:
    """It is fail-danger or unheld, whatever was drawn."""
    assert all(found & {Harm.FAIL_DANGER, Harm.UNHELD} for found in harms(kind))


@pytest.mark.parametrize("kind", [kind for kind in KINDS.values() if kind.claim is Claim.SOUND], ids=lambda k: k.name)
def test_what_must_not_fail_is_sound(kind: Kind) -> None:
    """Nothing is wrong with it, and nobody slips."""
    assert {frozenset()} == harms(kind)
    assert 0 == kind.habits.slips


def test_every_limit_is_put_to_the_test() -> None:
    """No claim of the table is without a kind; a trick is compared with a kind of the same units."""
    claimed = Counter(kind.claim for kind in KINDS.values())
    tricks = [kind for kind in KINDS.values() if kind.claim is Claim.TRICK]

    assert set(LIMITS) <= set(claimed)
    assert all(KINDS[kind.honest].wiring == kind.wiring for kind in tricks)
    assert 2 <= len(tricks)


def test_a_whole_campaign_meets_every_least_number() -> None:
    """With 3,000 asked for every kind of a claim has the number it needs, and 20,000 are without slips."""
    short = [k.name for k in KINDS.values() if k.claim in LIMITS and k.runs(3000) < LIMITS[k.claim].least]

    assert [] == short
    assert 20_000 <= sum(kind.runs(3000) for kind in KINDS.values() if not kind.habits.slips)


def test_two_errors_that_cancel_read_direct() -> None:
    """Fail-danger units read in and out rightly: their polarity is direct, so only the unplug test can tell."""
    chance = chance_of(9)
    danger = [kind for kind in KINDS.values() if kind.name.startswith("fail-danger")]

    assert {"direct"} == {kind.unit(chance).polarity for kind in danger}
