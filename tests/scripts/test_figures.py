"""The bounds and the table of limits of the campaign."""

import pytest
from scipy.stats import binomtest

from scripts.commissioning.bounds import lower, upper
from scripts.commissioning.figures import CONFIDENCE, SURE, Claim, Figure, Row, figures


@pytest.mark.parametrize(("found", "tried"), [(0, 22), (1, 38), (3, 3000), (41, 80), (80, 80)])
def test_bounds_agree_with_the_library(found: int, tried: int) -> None:
    """Both bounds are those of the exact interval. Source: SciPy, binomtest(...).proportion_ci("exact")."""
    most = binomtest(found, tried, alternative="less").proportion_ci(CONFIDENCE, "exact").high
    least = binomtest(found, tried, alternative="greater").proportion_ci(CONFIDENCE, "exact").low

    assert (least, most) == pytest.approx((lower(found, tried, CONFIDENCE), upper(found, tried, CONFIDENCE)))


def test_nothing_in_3000_leaves_one_in_a_thousand() -> None:
    """0 of n leaves 1 - (1-C)^(1/n): with 3,000 at 95 % it is 0.0998 %. Source: the binomial with no success."""
    assert 1 - 0.05 ** (1 / 3000) == pytest.approx(upper(0, 3000, CONFIDENCE))


def row(claim: Claim, verdicts: dict[str, int], kind: str = "kind") -> Row:
    """A kind with these verdicts."""
    return Row(kind, claim, runs=sum(verdicts.values()), verdicts=verdicts)


def state(rows: list[Row], name: str, *, whole: bool = True, own_slips: bool = True) -> str:
    """What became of the figure whose name begins so."""
    found = figures(rows, whole=whole, own_slips=own_slips)
    return next(figure.state for figure in found if figure.name.startswith(name))


@pytest.mark.parametrize(
    ("counts", "expected"),
    [
        ({"fail": 3000}, "held"),
        ({"fail": 2999, "pass": 1}, "OFF"),
        ({"fail": 2000, "conditional pass": 1000}, "held"),
        ({"fail": 2999}, "too few"),
        ({"pass": 1}, "OFF"),
    ],
)
def test_one_unsafe_pass_is_too_many(counts: dict[str, int], expected: str) -> None:
    """None of 3,000 may pass; fewer prove too little, and one pass is off however few were done."""
    assert expected == state([row(Claim.UNSAFE, counts)], "kind")


@pytest.mark.parametrize(("passed", "expected"), [(428, "held"), (430, "unclear"), (600, "OFF")])
def test_a_share_above_its_limit_must_not_be_chance(passed: int, expected: str) -> None:
    """14.3 % of 3,000 are 429: a little more may be chance, 600 are not."""
    counted = row(Claim.STICKS, {"pass": passed, "fail": 3000 - passed})

    assert expected == state([counted], "kind")
    assert (lower(600, 3000, SURE) > 0.143) is (lower(430, 3000, SURE) <= 0.143)


def test_a_trick_is_held_against_honest_work() -> None:
    """Twice the honest share in many commissionings is off; a smaller share than the honest one is held."""
    honest = row(Claim.STICKS, {"pass": 300, "fail": 2700}, "honest")
    for passed, expected in ((60, "OFF"), (34, "unclear"), (20, "held")):
        trick = row(Claim.TRICK, {"pass": passed, "fail": 300 - passed}, "trick")
        trick.honest = "honest"
        assert expected == state([honest, trick], "trick")


def test_a_false_repair_is_only_shown() -> None:
    """Who signs for a repair that was none may pass more often: no figure is made of it."""
    found = figures([row(Claim.REPAIR, {"pass": 10}, "repair")], whole=False, own_slips=True)

    assert not any(figure.name.startswith("repair") for figure in found)


def test_a_wrong_polarity_counts_without_slips_only() -> None:
    """More than one in a thousand of 20,000 is off, and who slips is not counted."""
    clean, clumsy = row(Claim.SHOWN, {"pass": 20_000}), row(Claim.SHOWN, {"pass": 1000})
    clumsy.slips, clumsy.wrong_polarity = True, 500

    assert "held" == state([clean, clumsy], "all kinds without slips")
    clean.wrong_polarity = 60
    assert "OFF" == state([clean, clumsy], "all kinds without slips")
    clean.wrong_polarity, clean.runs = 0, 19_999
    assert "too few" == state([clean], "all kinds without slips")


def test_a_procedure_that_breaks_down_is_off() -> None:
    """One crash of the procedure itself is one too many, in whatever kind."""
    assert "OFF" == state([row(Claim.SHOWN, {"pass": 99, "crashed": 1})], "all kinds: the procedure")


def test_given_slips_leave_the_safety_claims() -> None:
    """With the same slips for everybody sound units are no longer held to anything, unsafe ones still are."""
    rows = [row(Claim.SOUND, {"fail": 10}, "sound"), row(Claim.UNSAFE, {"pass": 1}, "unsafe")]
    found = [figure.name for figure in figures(rows, whole=False, own_slips=False)]

    assert "unsafe: passes" in found
    assert not any(name.startswith(("sound", "all kinds without slips")) for name in found)


def test_a_figure_prints_its_exact_bounds() -> None:
    """State, name, count, share, bounds and limit stand in one line."""
    figure = Figure("unheld: passes", 0, 3000, "none", "held")

    assert f"held     {'unheld: passes':68} {'0 of 3000 (0.00%; 0.00% to 0.10%)':42} none" == figure.line
