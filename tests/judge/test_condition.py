"""A check held against the checks before it."""

from dataclasses import replace

import pytest
from scipy import stats

from commission.judge.acceptance import Criterion
from commission.judge.condition import (
    Measured,
    baseline_of,
    comparable,
    condition_criteria,
    left_open,
    misread_criteria,
    nuisance_criterion,
    overall,
    pause_criterion,
    settle_criterion,
    settle_limit_s,
    steadiness_criterion,
)
from commission.judge.measuring import Circumstances, TimedWatch, measure
from commission.judge.stability import Sample
from commission.judge.trial import TimedTrial
from commission.vocabulary import Presence, Reading, SwitchBehaviour, Verdict

A, I = Reading.ACTIVE, Reading.INACTIVE  # noqa: E741 - the letters of the tables


def check(label: str = "now", *, misreads: int = 0, trials: int = 12, settle: float = 0.0, **more: object) -> Measured:
    """A check with as many trials in as out, all of which settle alike."""
    facts = {"in_trials": trials // 2, "out_trials": trials // 2, "out_misreads": misreads, "watched_s": 60.0}
    return Measured(**({"label": label, "settle_s": (settle,) * trials} | facts | more))  # type: ignore[arg-type]


NEEDED = ("misreads", "steadiness")
INSTALLED = check("2031-03-14", trials=40)


def test_a_steady_switch_passes_every_comparison() -> None:
    """Nothing misread, nothing slower, nothing unasked: every criterion that can be judged passes."""
    criteria = condition_criteria([INSTALLED], check())

    assert {"time to pause"} == {each.name for each in criteria if each.verdict is Verdict.NOT_JUDGED}
    assert Verdict.PASS is overall(criteria, NEEDED, ("time to pause",))


def test_the_second_misread_of_a_kind_fails() -> None:
    """One may be a slip of the hand and leaves the check open; the second one fails it, however large the record is."""
    own, share = misread_criteria([check(trials=400)], check(misreads=1))
    second, _ = misread_criteria([check(trials=400)], check(misreads=2))

    assert (Verdict.NOT_JUDGED, Verdict.FAIL) == (own.verdict, second.verdict)
    assert Verdict.PASS is share.verdict, "one of 12 is not yet a change of the share (exact test)"
    assert "1 of 6" in own.observed


def test_a_kind_without_a_trial_is_not_judged() -> None:
    """Clean trials with filament in say nothing of missed runouts."""
    own, _ = misread_criteria([], Measured("now", in_trials=12))

    assert Verdict.NOT_JUDGED is own.verdict
    assert "Read in with filament out: no trial could be read." in own.observed


def test_a_larger_share_is_found_by_the_exact_test() -> None:
    """Eight of ten against one of six has p = (45 x 6 + 10) / 11440 = 0.0245 one-sided, and one in a hundred counts.

    The table is that of the documentation of scipy.stats.fisher_exact; the sum is by hand.
    """
    baseline = check(trials=6)
    baseline = Measured(**(vars(baseline) | {"in_trials": 6, "out_trials": 0, "in_misreads": 1, "out_misreads": 0}))
    now = Measured("now", in_trials=10, in_misreads=8)
    _, share = misread_criteria([baseline], now)

    assert "p = 0.0245" in share.observed
    assert Verdict.PASS is share.verdict


def test_without_a_record_there_is_nothing_to_compare() -> None:
    """The first check judges itself, and leaves the comparisons not judged."""
    verdicts = {each.name: each.verdict for each in condition_criteria([], check())}

    assert Verdict.PASS is verdicts["misreads"]
    assert Verdict.NOT_JUDGED is verdicts["misreads against the record"]
    assert Verdict.NOT_JUDGED is verdicts["settle time"]


@pytest.mark.parametrize(
    ("before_s", "gap_s", "limit_s"),
    [(0.0, 0.1, 0.2), (0.05, 0.1, 0.2), (0.2, 0.1, 0.6), (0.2, 0.5, 1.0)],
)
def test_the_settle_limit_follows_record_and_poll(before_s: float, gap_s: float, limit_s: float) -> None:
    """Three times the record, and never below two poll gaps: nothing finer was measured."""
    assert pytest.approx(limit_s) == settle_limit_s([check(settle=before_s)], gap_s)


def test_a_grown_settle_time_is_wear() -> None:
    """Beyond the limit in most moves the switch still reads right, and is conditional."""
    assert Verdict.CONDITIONAL is settle_criterion([INSTALLED], check(settle=0.6)).verdict
    assert Verdict.PASS is settle_criterion([INSTALLED], check(settle=0.2)).verdict


def test_one_slow_hand_is_no_wear() -> None:
    """A mean beyond the limit that comes from a single move is not enough."""
    now = Measured(**(vars(check()) | {"settle_s": (4.0, *([0.0] * 11))}))

    assert Verdict.PASS is settle_criterion([INSTALLED], now).verdict


def test_another_wiring_or_firmware_has_no_record() -> None:
    """Checks before a rewiring, a reflash or a fail do not count as the record, nor are they pooled."""
    for other in ({"wiring": "1"}, {"firmware": "ExampleFW 3"}, {"passed": False}):
        before = check("2031-02-01", **other)
        assert [] == baseline_of([before], check())
        assert [INSTALLED] == baseline_of([before, INSTALLED], check())
        assert 2 == comparable([before, INSTALLED], check())[1].checks


def test_the_record_runs_on_to_this_check() -> None:
    """Every check since the rewiring stands beside this one, oldest first."""
    before, second = check("2031-02-01", wiring="1"), check("2031-04-14")
    history = [before, INSTALLED, second]

    assert [INSTALLED, second] == baseline_of(history, check())
    assert [INSTALLED, second] == comparable(history, check())[0]


def test_a_check_without_trials_does_not_end_the_record() -> None:
    """An unattended check between two others takes nothing away."""
    unattended = Measured("2031-03-20", watched_s=30.0)

    assert [INSTALLED] == baseline_of([INSTALLED, unattended], check())


def test_a_probability_of_one_in_a_hundred_is_no_fail() -> None:
    """One of 1 beside none of 99 has p = 1 / 100 exactly, by counting, and only what lies below it counts."""
    before, now = (Measured(day, in_trials=trials) for day, trials in (("2031-03-14", 99), ("now", 1)))
    misread = replace(now, in_misreads=1)
    slow, quick = replace(now, settle_s=(0.6,)), replace(before, settle_s=(0.0,) * 99)
    share, settled = misread_criteria([before], misread)[1], settle_criterion([quick], slow)

    assert all("(p = 0.01)" in each.observed for each in (share, settled))
    assert (Verdict.PASS, Verdict.PASS) == (share.verdict, settled.verdict)
    assert share.observed.endswith("It is a hint and no fail: that takes p below 0.01.")


def test_slow_moves_are_counted_beside_the_record() -> None:
    """Two of 40 were slow before and 8 of 12 are now: the exact test is that of a reference library (scipy)."""
    before = replace(INSTALLED, settle_s=(0.5,) * 2 + (0.0,) * 38)
    found = settle_criterion([before], replace(check(), settle_s=(0.5,) * 8 + (0.0,) * 4))
    chance = stats.fisher_exact([[8, 4], [2, 38]], alternative="greater").pvalue

    assert f"8 slower than the limit now, 2 of 40 before (p = {chance:.3g})." in found.observed
    assert Verdict.CONDITIONAL is found.verdict


def test_a_mean_at_the_limit_is_no_wear() -> None:
    """Eight moves of 0.625 s and four of 0.25 s have a mean of 0.5 s, which is two gaps of 0.25 s."""
    now = replace(check(poll_gap_s=0.25), settle_s=(0.625,) * 8 + (0.25,) * 4)
    found = settle_criterion([INSTALLED], now)

    assert "Mean 500 ms over 12 moves, limit 500 ms" in found.observed
    assert Verdict.PASS is found.verdict


def test_without_a_record_two_gaps_are_the_limit() -> None:
    """Where no move was ever timed before, the polling alone sets it."""
    assert 0.5 == settle_limit_s([], 0.25)


def test_a_first_check_passes_without_a_record() -> None:
    """There is nothing to compare with yet: that alone makes a check no worse."""
    assert Verdict.PASS is overall(condition_criteria([], check()), NEEDED, ("time to pause",))


def test_a_watch_cut_short_is_told() -> None:
    """Half a second is a watch, and one that could not be read as planned is named beside its bound."""
    half, short = (steadiness_criterion(Measured("now", watched_s=0.5, cut_short=cut)) for cut in (0, 1))
    left_out = " Not every watch could be read for as long as it was planned."

    assert (Verdict.PASS, Verdict.NOT_JUDGED) == (half.verdict, short.verdict)
    assert half.observed.startswith("0 unwanted changes in 500 ms")
    assert half.observed + left_out == short.observed


def test_a_check_without_readings_has_no_gap() -> None:
    """Nothing was read, so nothing lay between two readings: that is a check too."""
    assert 0 == Measured("now", poll_gap_s=0).poll_gap_s


def test_steadiness_counts_every_unwanted_change() -> None:
    """One change fails; nothing watched, or one watch of several cut short, is not judged."""
    assert Verdict.FAIL is steadiness_criterion(check(unwanted_changes=1)).verdict
    assert Verdict.FAIL is steadiness_criterion(Measured("now", unwanted_changes=1, cut_short=1)).verdict
    assert Verdict.PASS is steadiness_criterion(check()).verdict
    assert Verdict.NOT_JUDGED is steadiness_criterion(check(cut_short=1)).verdict
    assert Verdict.NOT_JUDGED is steadiness_criterion(Measured("now")).verdict


@pytest.mark.parametrize(
    ("trips", "hours", "verdict"),
    [
        (0, None, Verdict.PASS),
        (1, 100.0, Verdict.PASS),
        (2, 100.0, Verdict.CONDITIONAL),
        (2, 200.0, Verdict.PASS),
        (1, None, Verdict.NOT_JUDGED),
        (1, 0.0, Verdict.NOT_JUDGED),
        (1, 0.5, Verdict.CONDITIONAL),
    ],
)
def test_nuisance_trips_are_held_against_the_hours(trips: int, hours: float | None, verdict: Verdict) -> None:
    """More than one in 100 hours calls for service (common practice, no source); unknown hours judge nothing."""
    assert verdict is nuisance_criterion(trips, hours).verdict


@pytest.mark.parametrize(
    ("now_s", "verdict"), [(None, Verdict.NOT_JUDGED), (17.0, Verdict.PASS), (17.1, Verdict.CONDITIONAL)]
)
def test_the_pause_may_not_come_much_later(now_s: float | None, verdict: Verdict) -> None:
    """With 10 s on record the limit is 1.5 times that and 2 s."""
    assert verdict is pause_criterion([check(time_to_pause_s=10.0)], check(time_to_pause_s=now_s)).verdict


def criterion(name: str, verdict: Verdict, *, no_record: bool = False) -> Criterion:
    """A part of a check with this verdict."""
    return Criterion(name, "rule", "seen", verdict, no_record)


@pytest.mark.parametrize(
    ("others", "expected"),
    [
        ((), Verdict.PASS),
        ((criterion("settle time", Verdict.CONDITIONAL),), Verdict.CONDITIONAL),
        ((criterion("settle time", Verdict.CONDITIONAL), criterion("wiggle", Verdict.FAIL)), Verdict.FAIL),
        ((criterion("watching", Verdict.NOT_JUDGED),), Verdict.CONDITIONAL),
        ((criterion("pause", Verdict.NOT_JUDGED),), Verdict.PASS),
        ((criterion("settings", Verdict.NOT_JUDGED, no_record=True),), Verdict.PASS),
        ((criterion("pause", Verdict.FAIL),), Verdict.FAIL),
    ],
)
def test_no_part_a_check_stands_for_is_dropped(others: tuple[Criterion, ...], expected: Verdict) -> None:
    """What was not judged makes it conditional; only what lies beyond it, or has no record, may stand beside a pass."""
    judged = [criterion(name, Verdict.PASS) for name in NEEDED]

    assert expected is overall([*judged, *others], NEEDED, ("pause",))


def test_what_was_not_judged_is_left_open_unless_it_has_no_record() -> None:
    """A criterion is no comparison unless it says so."""
    plain = Criterion("wiggle", "rule", "seen", Verdict.NOT_JUDGED)

    assert ("wiggle",) == left_open([plain, replace(plain, name="settle time", no_record=True)])


@pytest.mark.parametrize("name", NEEDED)
@pytest.mark.parametrize("there", [True, False])
def test_a_needed_part_without_a_judgement_leaves_no_verdict(name: str, *, there: bool) -> None:
    """Not judged or not even there, it leaves the whole not judged; a fail beside it still fails."""
    rest = [criterion(other, Verdict.PASS) for other in (*NEEDED, "wiggle") if other != name]
    open_part = [criterion(name, Verdict.NOT_JUDGED)] if there else []

    assert Verdict.NOT_JUDGED is overall([*rest, *open_part], NEEDED, NEEDED)
    assert Verdict.FAIL is overall([*rest, *open_part, criterion("pause", Verdict.FAIL)], NEEDED)


def test_nothing_at_all_is_no_pass() -> None:
    """Without a single judgement there is no verdict, whatever is needed."""
    assert Verdict.NOT_JUDGED is overall([], ())


@pytest.mark.parametrize(
    "wrong", [{"in_trials": 1, "in_misreads": 2}, {"settle_s": (-0.1,)}, {"unwanted_changes": -1}, {"poll_gap_s": -1}]
)
def test_counts_that_cannot_be_are_refused(wrong: dict[str, object]) -> None:
    """More misreads than trials, and times or counts below zero, are refused."""
    with pytest.raises(ValueError, match="check now"):
        Measured("now", **wrong)  # type: ignore[arg-type]


def samples(readings: list[Reading], start_s: float = 0.0) -> tuple[Sample, ...]:
    """Readings every tenth of a second."""
    return tuple(Sample(start_s + 0.1 * i, reading) for i, reading in enumerate(readings))


def test_a_measurement_is_read_off_the_trials() -> None:
    """Counts, settle times, changes and the time watched follow from the readings, by hand."""
    trials = [
        TimedTrial(Presence.IN, True, samples([I, A, I, A]), samples([A] * 5, 0.4)),
        TimedTrial(Presence.OUT, True, samples([A, A]), samples([A] * 5, 0.2)),
        TimedTrial(Presence.OUT, False, samples([A, I]), samples([A] * 5, 0.2)),
    ]
    found = measure(trials, [TimedWatch(samples([I, I, I]), 0.2)], SwitchBehaviour.DIRECT, Circumstances("now"))

    assert (1, 0, 1, 1) == (found.in_trials, found.in_misreads, found.out_trials, found.out_misreads)
    assert [0.2] == pytest.approx(found.settle_s)
    assert 2 == found.unwanted_changes
    assert pytest.approx(0.4 + 0.4 + 0.6 + 0.2) == found.watched_s
    assert 0 == found.cut_short


def test_an_unread_trial_and_time_without_readings_count_for_nothing() -> None:
    """Four of five readings known are too few (19 of 21 are five of five); a watch with a long gap is cut short."""
    lost = Reading.UNKNOWN
    trials = [TimedTrial(Presence.IN, True, samples([I, A]), samples([A, I, A, lost, A], 0.2))]
    watch = (*samples([I, I]), *samples([I, I], 0.7))
    found = measure(trials, [TimedWatch(watch, 0.8)], SwitchBehaviour.DIRECT, Circumstances("now"))

    assert (0, 0, (), 0) == (found.in_trials, found.in_misreads, found.settle_s, found.unwanted_changes)
    assert (pytest.approx(0.2), 1) == (found.watched_s, found.cut_short)
    assert pytest.approx(0.1) == found.poll_gap_s


def test_an_inverted_switch_is_measured_by_its_own_polarity() -> None:
    """What is right for an inverted switch is no misread."""
    trials = [TimedTrial(Presence.IN, True, (), samples([I] * 5))]

    assert 0 == measure(trials, (), SwitchBehaviour.INVERTED, Circumstances("now")).misreads
    assert 1 == measure(trials, (), SwitchBehaviour.DIRECT, Circumstances("now")).misreads


@pytest.mark.parametrize("stuck", [SwitchBehaviour.STUCK_ACTIVE, SwitchBehaviour.STUCK_INACTIVE])
def test_a_stuck_switch_has_no_settle_time(stuck: SwitchBehaviour) -> None:
    """It reads alike before and after every move: that is not a settle time of 0 ms, but none."""
    level = A if stuck is SwitchBehaviour.STUCK_ACTIVE else I
    trials = [TimedTrial(Presence.IN, True, samples([level] * 3), samples([level] * 5, 0.3))]

    assert () == measure(trials, (), stuck, Circumstances("now")).settle_s


def test_a_difference_that_is_no_fail_is_called_a_hint() -> None:
    """Eight of 24 beside none of 12 is too different to be added up and still passes: the sentence says why."""
    criterion = misread_criteria([check("before", trials=12)], check(trials=24, misreads=8))[1]

    assert Verdict.PASS is criterion.verdict
    assert "differs from those after it at 95 % confidence" in criterion.observed
    assert criterion.observed.endswith("It is a hint and no fail: that takes p below 0.01.")


def test_only_a_difference_that_is_no_fail_is_a_hint() -> None:
    """Like counts are no hint, and a share that has surely grown is more than one."""
    alike = misread_criteria([check("before")], check())[1]
    grown = misread_criteria([check("before", trials=100)], check(misreads=5))[1]

    assert (Verdict.PASS, Verdict.FAIL) == (alike.verdict, grown.verdict)
    assert not any("hint" in each.observed for each in (alike, grown))


def test_unwanted_changes_of_trials_and_watches_add_up() -> None:
    """Two in a dwell and three in a watch are five; where nothing was watched there is no gap between readings."""
    trials = [TimedTrial(Presence.IN, True, (), samples([A, A, I, A, A]))]
    found = measure(trials, [TimedWatch(samples([I, A, I, A]), 0.3)], SwitchBehaviour.DIRECT, Circumstances("now"))

    assert (5, True) == (found.unwanted_changes, found.passed)
    assert 0 == measure([], (), SwitchBehaviour.DIRECT, Circumstances("now")).poll_gap_s
