"""The loop check against its plan."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.judge.acceptance import Acceptance, accept
from commission.judge.double_sampling import SECOND_SERIES
from commission.judge.evidence import LoopEvidence, PullResult, StartUp, WiggleResult
from commission.judge.exposure import Watched
from commission.judge.failsafe import UnpluggedResult, far_end_sentence
from commission.judge.plan import Plan
from commission.judge.power import PowerSeen
from commission.vocabulary import PullConclusion, Reading, SwitchBehaviour, Verdict

ON, OFF, LOST = Reading.ACTIVE, Reading.INACTIVE, Reading.UNKNOWN
SEEN = PowerSeen.POWER_OFF


def unplugged(*readings: Reading, watched: bool = True, power: PowerSeen = SEEN) -> UnpluggedResult:
    """One power-up with the sensor unplugged."""
    return UnpluggedResult(readings, watched, power)


def wiggle(
    readings: int, exposure_s: float, changes: int = 0, misreads: int = 0, planned_s: float = 60
) -> WiggleResult:
    """A wiggle of so many known readings, none more than 0.12 s after the one before it: 95 % of that is 0.114 s."""
    return WiggleResult(Watched(readings, planned_s, exposure_s, changes, 0.12, 0, shortest_glitch_s=0.114), misreads)


RESTS_OUT = unplugged(*(OFF,) * 105)
RESTS_IN = unplugged(*(ON,) * 105)
FLICKERS = unplugged(*(OFF, ON) * 10)
PLAN = Plan(seed=7)
CLEAN = LoopEvidence(
    polarity=SwitchBehaviour.DIRECT,
    in_trials=22,
    in_misreads=0,
    out_trials=22,
    out_misreads=0,
    unwanted_changes_in_dwells=0,
    leave_it_trials=14,
    leave_it_changes=0,
    wiggle=wiggle(612, 60.4),
    unplugged=(RESTS_OUT, RESTS_OUT),
    polarity_odds=2703,
    pull=PullResult(PullConclusion.PROVEN, "The pull is proven."),
)


def judged(plan: Plan = PLAN, **changes: object) -> Acceptance:
    """The verdict on the clean evidence with these changes."""
    return accept(plan, replace(CLEAN, **changes))  # type: ignore[arg-type]


def judged_with(changes: dict[str, object]) -> Verdict:
    """The verdict under the usual plan with these changes."""
    return accept(PLAN, replace(CLEAN, **changes)).verdict  # type: ignore[arg-type]


def test_clean_evidence_passes() -> None:
    """Twenty-two clean cycles with a clean wiggle and a safe rest are a pass in every criterion."""
    acceptance = judged()

    assert Verdict.PASS is acceptance.verdict
    assert {Verdict.PASS} == {criterion.verdict for criterion in acceptance.criteria}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"polarity": SwitchBehaviour.INVERTED}, Verdict.FAIL),
        ({"polarity": SwitchBehaviour.STUCK_ACTIVE}, Verdict.FAIL),
        ({"polarity": SwitchBehaviour.STUCK_INACTIVE}, Verdict.FAIL),
        ({"polarity": SwitchBehaviour.NO_RELATION}, Verdict.FAIL),
        ({"polarity": SwitchBehaviour.UNDECIDED}, Verdict.NOT_JUDGED),
        ({"polarity": SwitchBehaviour.NOT_REPORTED}, Verdict.NOT_JUDGED),
        ({"in_misreads": 1}, Verdict.CONDITIONAL),
        ({"out_misreads": 1}, Verdict.CONDITIONAL),
        ({"out_misreads": 1, "out_trials": 21}, Verdict.NOT_JUDGED),
        ({"out_misreads": 1, "out_trials": 37}, Verdict.CONDITIONAL),
        ({"out_misreads": 1, "out_trials": 38}, Verdict.PASS),
        ({"out_misreads": 1, "out_trials": 38, "in_misreads": 1, "in_trials": 38}, Verdict.PASS),
        ({"in_misreads": 2}, Verdict.FAIL),
        ({"out_misreads": 2, "out_trials": 80}, Verdict.FAIL),
        ({"in_set_aside": 1}, Verdict.CONDITIONAL),
        ({"in_set_aside": 1, "in_trials": 37}, Verdict.PASS),
        ({"in_set_aside": 1, "in_misreads": 1, "in_trials": 80}, Verdict.NOT_JUDGED),
        ({"in_set_aside": 2, "in_trials": 80}, Verdict.NOT_JUDGED),
        ({"sampling": SECOND_SERIES}, Verdict.CONDITIONAL),
        ({"sampling": SECOND_SERIES, "in_trials": 27, "out_trials": 27}, Verdict.PASS),
        ({"broken_off_changes": 1}, Verdict.FAIL),
        ({"broken_off_unplugged": 1}, Verdict.FAIL),
        ({"broken_off_open": 1}, Verdict.NOT_JUDGED),
        ({"broken_off_unplugged": 1, "broken_off_open": 1}, Verdict.FAIL),
        ({"failed_in": "bench-3/2031-03-14/1"}, Verdict.FAIL),
        ({"out_trials": 21}, Verdict.CONDITIONAL),
        ({"in_trials": 6, "out_trials": 6}, Verdict.CONDITIONAL),
        ({"in_trials": 5, "out_trials": 5}, Verdict.NOT_JUDGED),
        ({"out_trials": 0}, Verdict.NOT_JUDGED),
        ({"unwanted_changes_in_dwells": 1}, Verdict.FAIL),
        ({"leave_it_changes": 1}, Verdict.FAIL),
        ({"leave_it_trials": 0}, Verdict.NOT_JUDGED),
        ({"wiggle": None}, Verdict.NOT_JUDGED),
        ({"wiggle": wiggle(0, 0)}, Verdict.NOT_JUDGED),
        ({"wiggle": wiggle(2, 0.1)}, Verdict.NOT_JUDGED),
        ({"wiggle": wiggle(612, 59.9)}, Verdict.NOT_JUDGED),
        ({"wiggle": wiggle(400, 40.2, planned_s=40)}, Verdict.CONDITIONAL),
        ({"wiggle": wiggle(288, 60)}, Verdict.PASS),
        ({"wiggle": wiggle(288, 60 - 1e-9)}, Verdict.PASS),  # times that were added up, and where the watch itself ends
        ({"wiggle": wiggle(2, 0.1, changes=1)}, Verdict.FAIL),
        ({"wiggle": wiggle(2, 0, misreads=2)}, Verdict.FAIL),
        ({"wiggle": wiggle(612, 60.4, changes=1)}, Verdict.FAIL),
        ({"wiggle": wiggle(612, 60.4, misreads=612)}, Verdict.FAIL),
        ({"moving": wiggle(600, 60)}, Verdict.PASS),
        ({"moving": wiggle(600, 59.9)}, Verdict.NOT_JUDGED),
        ({"moving": wiggle(600, 60, changes=1)}, Verdict.FAIL),
        ({"moving": wiggle(600, 60, misreads=1)}, Verdict.FAIL),
        ({"moving": wiggle(0, 0)}, Verdict.NOT_JUDGED),
        ({"start_up": StartUp(Watched(21, 2, 2, 0, 0.1, 0), True, "As before.")}, Verdict.PASS),
        ({"start_up": StartUp(Watched(21, 2, 2, 0, 0.1, 0), True, "As before.", seen=False)}, Verdict.CONDITIONAL),
        ({"start_up": StartUp(Watched(21, 2, 2, 0, 0.1, 0), False, "Not as before.")}, Verdict.CONDITIONAL),
        ({"start_up": StartUp(Watched(21, 2, 2, 0, 0.1, 0), None, "Nothing was expected.")}, Verdict.NOT_JUDGED),
        ({"start_up": StartUp(Watched(2, 2, 0.1, 0, 0.1, 0), True, "Hardly read.")}, Verdict.NOT_JUDGED),
        ({"unplugged": ()}, Verdict.NOT_JUDGED),
        ({"unplugged": (RESTS_OUT,)}, Verdict.NOT_JUDGED),
        ({"unplugged": (RESTS_OUT, RESTS_IN)}, Verdict.FAIL),
        ({"unplugged": (RESTS_IN, RESTS_IN)}, Verdict.FAIL),
        ({"unplugged": (RESTS_OUT, FLICKERS)}, Verdict.FAIL),
        ({"unplugged": (RESTS_OUT, unplugged(*(OFF,) * 21, watched=False))}, Verdict.NOT_JUDGED),
        ({"unplugged": (RESTS_OUT, unplugged(*(OFF,) * 21, power=PowerSeen.RESTART))}, Verdict.CONDITIONAL),
        ({"unplugged": (unplugged(*(OFF,) * 21, power=PowerSeen.WORD), RESTS_OUT)}, Verdict.CONDITIONAL),
        ({"unplugged": (unplugged(*(ON,) * 21, power=PowerSeen.WORD), RESTS_OUT)}, Verdict.FAIL),
        ({"pull": None}, Verdict.CONDITIONAL),
        ({"pull": PullResult(PullConclusion.NOT_FITTED, "Nothing was fitted.")}, Verdict.CONDITIONAL),
        ({"pull": PullResult(PullConclusion.NOT_JUDGED, "Too little was read.")}, Verdict.CONDITIONAL),
        ({"pull": PullResult(PullConclusion.WEAK, "It gave way.")}, Verdict.FAIL),
        ({"voided_trials": 4}, Verdict.PASS),
        ({"voided_trials": 5}, Verdict.NOT_JUDGED),
        ({"voided_trials": 4, "unread_trials": 44}, Verdict.PASS),
        ({"unread_trials": 45}, Verdict.NOT_JUDGED),
        ({"unread_trials": 6, "given_up": True}, Verdict.NOT_JUDGED),
    ],
)
def test_one_departure_decides(changes: dict[str, object], expected: Verdict) -> None:
    """Each single departure from clean evidence has the verdict the plan gives it."""
    assert expected is judged_with(changes)


def test_in_short_only_what_kept_it_from_a_pass_is_whole() -> None:
    """Passed rules by name; each other one with what was observed, and what the count does not show."""
    clean, short = accept(PLAN, CLEAN), accept(PLAN, replace(CLEAN, wiggle=None))

    (passed, bound) = clean.in_short
    assert f"Passed: {', '.join(each.name for each in clean.criteria)}." == passed
    assert clean.reasons[-1] == bound
    (missing, passed, _) = short.in_short
    assert short.reasons[0] == missing
    assert missing.startswith("Wiggle, not judged: ")
    assert "wiggle" not in passed


def test_a_fail_outweighs_what_is_missing() -> None:
    """Two misreads fail the check even when other parts were not done."""
    assert Verdict.FAIL is judged(in_misreads=2, wiggle=None, unplugged=()).verdict


def test_a_larger_plan_must_be_carried_out() -> None:
    """With 59 cycles planned, 22 clean ones are conditional and 59 a pass."""
    plan = Plan(seed=7, cycles=59)

    assert Verdict.CONDITIONAL is judged(plan).verdict
    assert Verdict.PASS is judged(plan, in_trials=59, out_trials=59).verdict


def test_a_smaller_plan_cannot_pass() -> None:
    """A plan of six cycles, one power-up and no wiggle lowers none of the limits of a pass."""
    plan = Plan(seed=7, cycles=6, power_ups=1, wiggle_s=0, wiggle_readings=0)
    short = wiggle(10, 1, planned_s=1)

    assert Verdict.CONDITIONAL is judged(plan, in_trials=6, out_trials=6).verdict
    assert Verdict.NOT_JUDGED is judged(plan, unplugged=(RESTS_OUT,)).verdict
    assert Verdict.CONDITIONAL is judged(plan, wiggle=short).verdict


def test_a_failed_calculation_is_not_judged() -> None:
    """When a bound cannot be worked out, its criterion is not judged and says why."""
    acceptance = judged(wiggle=wiggle(612, 5e-324, planned_s=5e-324))
    found = next(c for c in acceptance.criteria if c.name == "wiggle")

    assert (Verdict.NOT_JUDGED, Verdict.NOT_JUDGED) == (acceptance.verdict, found.verdict)
    assert "The calculation failed: A watch of 5e-324 s is too short" in found.observed


def test_reasons_begin_with_what_keeps_it_from_a_pass() -> None:
    """The first reason is the failed criterion with its bound; the last says what counts cannot show."""
    reasons = judged(out_misreads=2, wiggle=None).reasons

    assert (
        "Reads out with filament out, fail: Read in with filament out: 2 of 22; at 95 % confidence the true share is "
        "at most 25.9 %. The second misread of a kind ends the series." == reasons[0]
    )
    assert "Wiggle, not judged: No wiggle was done." == reasons[1]
    assert "a clog, a tangle" in reasons[-1]


def test_a_pass_prints_its_bounds() -> None:
    """Even a pass says that up to 13.8 % misreads and 179 changes an hour remain possible."""
    read = Watched(612, 60.0, 60.4, changes=0, largest_gap_s=0.12, unread=0, shortest_glitch_s=0.114)
    text = " ".join(judged(wiggle=WiggleResult(read)).reasons)

    assert 2 == text.count("at most 13.8 %")
    assert "still allows up to 179 an hour" in text
    assert "1.0 min watched, which at 95 % confidence allows up to 179 an hour." in _observed(
        "reads in with filament in"
    )
    assert "allows up to" not in _observed("reads out with filament out")
    assert "shorter than 114 ms" in text


def _observed(name: str) -> str:
    return next(criterion.observed for criterion in judged().criteria if criterion.name == name)


@settings(deadline=None, max_examples=100)
@given(
    st.sampled_from(SwitchBehaviour),
    st.lists(
        st.builds(
            UnpluggedResult,
            st.lists(st.sampled_from(Reading), max_size=25).map(tuple),
            st.booleans(),
            st.sampled_from(PowerSeen),
        ),
        max_size=3,
    ),
)
def test_only_a_steady_rest_at_out_ever_passes(behaviour: SwitchBehaviour, results: list[UnpluggedResult]) -> None:
    """A pass has two power-ups, each after a power-off that was seen, watched in full, without one reading of in."""
    verdict = judged(polarity=behaviour, unplugged=tuple(results)).verdict

    supported = (
        behaviour is SwitchBehaviour.DIRECT
        and len(results) >= 2
        and all(ON not in r.readings and OFF in r.readings and r.watched and r.power is SEEN for r in results)
    )
    assert supported == (verdict is Verdict.PASS)


def test_impossible_evidence_is_refused() -> None:
    """More misreads than trials, negative counts and more changes than readings allow cannot be written down."""
    for changes in ({"in_misreads": 23}, {"out_misreads": -1}, {"leave_it_changes": 15}):
        with pytest.raises(ValueError, match="There cannot be"):
            replace(CLEAN, **changes)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="begin at 0"):
        replace(CLEAN, voided_trials=-1)
    with pytest.raises(ValueError, match="cannot hold 5 changes"):
        wiggle(5, 10, changes=5)
    with pytest.raises(ValueError, match="cannot hold 6 misreads"):
        wiggle(5, 10, misreads=6)


def test_a_reading_that_misreads_while_the_machine_stands_or_moves_says_so() -> None:
    """Steady and wrong is no unwanted change, and still fails the hands-off wiggle with its reason."""
    moving = wiggle(21, 2.0, misreads=21)
    criterion = accept(PLAN, replace(CLEAN, moving=moving)).criteria[-1]

    assert Verdict.FAIL is criterion.verdict
    assert "21 readings did not show the filament as it was." in criterion.observed


def test_what_is_read_the_wrong_way_round_has_no_share_of_misreads() -> None:
    """With an inverted reading no count of trips or missed runouts is a pass: it is not judged, and the whole fails."""
    accepted = accept(PLAN, replace(CLEAN, polarity=SwitchBehaviour.INVERTED))
    verdicts = {criterion.name: criterion.verdict for criterion in accepted.criteria}

    assert (Verdict.NOT_JUDGED, Verdict.NOT_JUDGED) == (
        verdicts["reads in with filament in"],
        verdicts["reads out with filament out"],
    )
    assert Verdict.FAIL is accepted.verdict


@pytest.mark.parametrize(
    ("readings", "verdict"),
    [
        ([OFF] * 21, Verdict.PASS),
        ([ON] * 21, Verdict.FAIL),
        ([OFF, ON] * 10, Verdict.FAIL),
        ([LOST] * 3, Verdict.NOT_JUDGED),
    ],
)
def test_the_far_end_is_judged_only_where_it_was_tried(readings: list[Reading], verdict: Verdict) -> None:
    """Unplugged at the sensor it must read steadily out, with enough readings; left out, it is no criterion at all."""
    tried = accept(PLAN, replace(CLEAN, at_sensor=unplugged(*readings)))
    name = "unplugged at the sensor"

    assert [verdict] == [criterion.verdict for criterion in tried.criteria if criterion.name == name]
    assert name not in {criterion.name for criterion in accept(PLAN, CLEAN).criteria}


def test_a_far_end_after_an_unseen_power_off_is_conditional() -> None:
    """That the power was off rests on the operator's word there too, and the criterion says so."""
    tried = accept(PLAN, replace(CLEAN, at_sensor=unplugged(OFF, power=PowerSeen.WORD)))

    assert Verdict.CONDITIONAL is tried.verdict
    assert "rests on the operator's word" in tried.criteria[-1].observed


def test_the_plan_describes_its_own_limits() -> None:
    """The sentences of a plan carry the numbers it judges by."""
    text = " ".join(Plan(seed=41, cycles=30, confidence=0.9, needed_odds=500).describe())

    for stated in (
        "30 cycles",
        "seed 41",
        "500 to 1",
        "30 trials without a misread, or 52 with one",
        "27 trials without a misread, or 44 with one",
        "at 90 % confidence",
        "at most 7.4 %",
        "1 kΩ changes the reading and 220 kΩ does not",
    ):
        assert stated in text
    assert 14 == len(Plan(seed=1).describe())


def test_a_plan_in_short_is_soon_read() -> None:
    """How often what is done, and what few cycles cannot come to; not a tenth of the words of the whole plan."""
    usual, few = (Plan(seed=1, cycles=cycles) for cycles in (22, 6))

    assert "22 cycles of filament in and filament out, then 1.0 min of wiggle, then 2 power-ups" in usual.in_short()[0]
    assert "So few cycles are a conditional pass at best." in few.in_short()
    assert len(" ".join(usual.in_short()).split()) < 40
    assert 400 < len(" ".join(usual.describe()).split())
    assert few.describe()[1:] == few.rules()


@pytest.mark.parametrize(
    "broken",
    [
        {"cycles": 5},
        {"cycles": 101},
        {"countdown_s": -1},
        {"readings_per_dwell": 20},
        {"readings_per_dwell": 3},
        {"dwell_s": 0},
        {"leave_it_share": 0},
        {"leave_it_share": 0.5},
        {"wiggle_s": -1},
        {"power_ups": 0},
        {"confidence": 1},
        {"needed_odds": 1},
        {"dwell_s": float("nan")},
    ],
)
def test_a_plan_that_cannot_be_carried_out_is_refused(broken: dict[str, float]) -> None:
    """Each limit of a plan is checked when it is made."""
    with pytest.raises(ValueError, match="cannot be carried out"):
        replace(PLAN, **broken)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("result", "said"),
    [
        (RESTS_OUT, "steadily out."),
        (RESTS_IN, "read in, steadily: the cable holds it"),
        (FLICKERS, "changed, and not as the filament moved: nothing holds the input"),
        (unplugged(OFF, watched=False), "too little could be read."),
    ],
)
def test_a_plug_pulled_at_the_sensor_is_told_by_what_was_read(result: UnpluggedResult, said: str) -> None:
    """Steadily out, steadily in, changing and hardly read are four sentences."""
    assert said in far_end_sentence(result)


def test_each_criterion_says_what_was_seen() -> None:
    """Of the clean check: the odds, every dwell of 22, 22 and 14, and how many trials may be left out of the count."""
    said = {each.name: each for each in judged().criteria}

    assert "The finding is: direct, 2703 to 1 against the next explanation." == said["polarity"].observed
    assert "0 unwanted changes in 58 dwells." == said["steadiness in dwells"].observed
    assert "At most 4 voided and 44 unread" == said["trials set aside"].rule
    assert "0 voided, 0 unread." == said["trials set aside"].observed


def test_one_trial_of_a_kind_is_a_trial() -> None:
    """It decides nothing, and what it read is told; of none it is told that none could be read."""
    for trials, said in (
        (0, "Read out with filament in: no trial could be read."),
        (1, "Read out with filament in: 0 of 1;"),
    ):
        seen = next(each for each in judged(in_trials=trials).criteria if each.name == "reads in with filament in")

        assert Verdict.NOT_JUDGED is seen.verdict
        assert seen.observed.startswith(said)
