"""Which sensor belongs to which filament path: what each may do when one filament is moved.

The rule is held against the truth of made-up looms: which sensor each path's filament really moves, by which the
readings are made. Nobody's rule is used for that.
"""

from itertools import permutations, product

import pytest

from commission.judge.paths import PathMoved, paths_verdict, worst
from commission.vocabulary import Reading, Verdict

A, N, U = Reading.ACTIVE, Reading.INACTIVE, Reading.UNKNOWN
SENSORS = ("one", "two")


def moved(path: int, *moves: str, inverted: bool = False, unread: tuple[str, ...] = ()) -> PathMoved:
    """The filament of this path was moved in and out; it really moves these sensors; the other path is empty."""
    out, inside = (A, N) if inverted else (N, A)
    rest = {name: U if name in unread else out for name in SENSORS}
    seen = {name: inside if name in moves and name not in unread else rest[name] for name in SENSORS}
    return PathMoved(f"path {path + 1}", SENSORS[path], rest, seen, rest)


@pytest.mark.parametrize("inverted", [False, True])
@pytest.mark.parametrize("order", list(permutations(SENSORS)))
def test_a_crossed_loom_fails_and_a_right_one_passes(order: tuple[str, str], *, inverted: bool) -> None:
    """Two plugs in each other's places; the way round that a sensor reads has no say in it."""
    seen = [moved(path, order[path], inverted=inverted) for path in (0, 1)]

    assert (Verdict.PASS if order == SENSORS else Verdict.FAIL) is paths_verdict(seen)


def test_nothing_but_both_alone_passes() -> None:
    """Every set of sensors that two filaments can move, all sixteen: a pass takes each path its own one, alone."""
    sets = [(), ("one",), ("two",), ("one", "two")]
    passed = [
        (first, second)
        for first, second in product(sets, repeat=2)
        if Verdict.PASS is paths_verdict([moved(0, *first), moved(1, *second)])
    ]

    assert [(("one",), ("two",))] == passed
    assert Verdict.NOT_JUDGED is paths_verdict([])


@pytest.mark.parametrize(
    ("seen", "sentence"),
    [
        (moved(0, "one"), "The filament of path 1 moves one, and no other sensor."),
        (moved(0, "two"), "The filament of path 1 moves two, and NOT one, which belongs to it."),
        (moved(0, "one", "two"), "The filament of path 1 moves one and two: they are not told apart."),
        (moved(0), "No sensor follows the filament of path 1."),
        (moved(0, "one", unread=("two",)), "path 1: two could not be read steadily."),
        (moved(1, "one", unread=("two",)), "path 2: two could not be read steadily."),
    ],
)
def test_each_outcome_is_said_in_a_sentence(seen: PathMoved, sentence: str) -> None:
    """The sensor is named in each of them; one that was not read is never called crossed."""
    assert sentence == seen.sentence
    assert seen.proven is (sentence.endswith("and no other sensor."))


def test_a_reading_that_stays_changed_has_not_followed() -> None:
    """In, it read otherwise, and out again it did not come back: that was something else than this filament."""
    stays = PathMoved("path 1", "one", {"one": N}, {"one": A}, {"one": A})

    assert () == stays.followed
    assert Verdict.NOT_JUDGED is paths_verdict([stays])


@pytest.mark.parametrize(
    ("verdicts", "whole"),
    [
        ((Verdict.PASS, Verdict.FAIL, Verdict.NOT_JUDGED), Verdict.FAIL),
        ((Verdict.CONDITIONAL, Verdict.NOT_JUDGED), Verdict.NOT_JUDGED),
        ((Verdict.PASS, Verdict.CONDITIONAL), Verdict.CONDITIONAL),
        ((Verdict.PASS, Verdict.PASS), Verdict.PASS),
        ((), Verdict.NOT_JUDGED),
    ],
)
def test_the_worst_verdict_is_that_of_the_whole(verdicts: tuple[Verdict, ...], whole: Verdict) -> None:
    """Of no verdict at all it is not judged."""
    assert whole is worst(verdicts)
