"""The unplugged reading, and the table of what polarity and rest ask for together."""

from dataclasses import replace

import pytest

from commission.judge.advice import Advice, advice, deed
from commission.judge.failsafe import FailSafeFinding, UnpluggedResult, fail_safe
from commission.judge.power import PowerSeen
from commission.vocabulary import FailSafe, Reading, SwitchBehaviour, Verdict

ON, OFF, LOST = Reading.ACTIVE, Reading.INACTIVE, Reading.UNKNOWN
DIRECT, INVERTED = SwitchBehaviour.DIRECT, SwitchBehaviour.INVERTED
RESTS_OUT = UnpluggedResult((OFF,) * 105, watched=True, power=PowerSeen.POWER_OFF)
RESTS_IN = replace(RESTS_OUT, readings=(ON,) * 105)
FLICKERS = replace(RESTS_OUT, readings=(OFF,) * 104 + (ON,))
UNREAD = UnpluggedResult((OFF,) * 4, watched=False)


@pytest.mark.parametrize(
    ("results", "expected"),
    [
        ((RESTS_OUT, RESTS_OUT), FailSafe.SAFE),
        ((RESTS_OUT,), FailSafe.SAFE),
        ((RESTS_IN, RESTS_IN), FailSafe.DANGER),
        ((RESTS_OUT, RESTS_IN), FailSafe.DANGER),
        ((RESTS_OUT, FLICKERS), FailSafe.UNSTEADY),
        ((RESTS_IN, FLICKERS), FailSafe.DANGER),
        ((), FailSafe.NOT_TESTED),
        ((UNREAD,), FailSafe.NOT_TESTED),
        ((RESTS_OUT, UNREAD), FailSafe.NOT_TESTED),
        ((replace(RESTS_OUT, readings=(OFF, LOST) * 20),), FailSafe.SAFE),
        ((replace(RESTS_OUT, readings=(LOST,) * 21),), FailSafe.NOT_TESTED),
        ((replace(UNREAD, readings=(OFF, ON)),), FailSafe.UNSTEADY),
        ((replace(UNREAD, readings=(ON,) * 4),), FailSafe.NOT_TESTED),
    ],
)
@pytest.mark.parametrize("behaviour", SwitchBehaviour)
def test_unplugged_is_safe_only_when_steadily_out_every_time(
    results: tuple[UnpluggedResult, ...], expected: FailSafe, behaviour: SwitchBehaviour
) -> None:
    """Every power-up must read steadily out and be watched in full, whatever the polarity; one in is dangerous."""
    assert expected is fail_safe(results, behaviour).fail_safe


def finding(*results: UnpluggedResult, behaviour: SwitchBehaviour = DIRECT) -> FailSafeFinding:
    """The fail-safe finding for these power-ups."""
    return fail_safe(results, behaviour)


def test_a_dangerous_rest_says_what_stands_beside_it() -> None:
    """Power-ups that differ, or a switch that reads right all the same; a switch that does not says no more."""
    same, differ = finding(RESTS_IN, RESTS_IN), finding(RESTS_OUT, RESTS_IN)

    assert same.sentence.endswith(
        "a broken wire would pass for filament in. The switch reads right all the same: two errors that cancel."
    )
    assert differ.sentence.endswith(
        "in 1 of 2 power-ups: a broken wire would pass for filament in. "
        "The power-ups differ: nothing holds the input when unplugged."
    )
    assert same.power_seen, "only a safe rest hangs on it"
    assert finding(RESTS_IN, behaviour=INVERTED).sentence.endswith("a broken wire would pass for filament in.")


@pytest.mark.parametrize(
    ("behaviour", "unplugged", "expected"),
    [
        (DIRECT, RESTS_OUT, Advice.NONE),
        (DIRECT, RESTS_IN, Advice.CHANGE_BOTH),
        (INVERTED, RESTS_OUT, Advice.CHANGE_CONTACT),
        (INVERTED, RESTS_IN, Advice.INVERT_LOGIC),
        (SwitchBehaviour.STUCK_ACTIVE, RESTS_IN, Advice.CHECK_INPUT),
        (SwitchBehaviour.STUCK_INACTIVE, RESTS_OUT, Advice.CHECK_INPUT),
        (SwitchBehaviour.STUCK_ACTIVE, RESTS_OUT, Advice.FIND_FAULT),
        (SwitchBehaviour.STUCK_INACTIVE, RESTS_IN, Advice.FIND_FAULT),
        (SwitchBehaviour.NO_RELATION, RESTS_OUT, Advice.FIND_FAULT),
        (SwitchBehaviour.NOT_REPORTED, RESTS_OUT, Advice.CHECK_BUILD),
        (SwitchBehaviour.UNDECIDED, RESTS_OUT, Advice.TEST_AGAIN),
    ],
)
def test_polarity_and_rest_decide_together(
    behaviour: SwitchBehaviour, unplugged: UnpluggedResult, expected: Advice
) -> None:
    """Each pair of findings has its one instruction."""
    assert expected is advice(behaviour, finding(unplugged, unplugged))[0]


# What the firmware concludes from a level: filament in when it differs from the level it takes for absent.
CONTACTS = {"closed by filament": ("low", "high"), "opened by filament": ("high", "low")}
OTHER = {"low": "high", "high": "low", "closed by filament": "opened by filament"}
OTHER["opened by filament"] = "closed by filament"


def reads(contact: str, absent: str, rest: str) -> tuple[bool, bool, bool]:
    """Whether filament in, filament out and an unplugged two-wire switch to ground are each concluded to be *in*."""
    with_filament, without = CONTACTS[contact]
    return with_filament != absent, without != absent, rest != absent


def test_a_deed_begins_with_what_is_to_be_done() -> None:
    """Short, with the warning that goes with it; where the advice has no deed of its own, all of it."""
    told = {kind: deed(kind, "Find the fault.") for kind in Advice}

    assert told[Advice.CHANGE_CONTACT].startswith("Change the contact: ")
    assert "Do not invert the logic" in told[Advice.CHANGE_CONTACT]
    assert "mains and USB both out" in told[Advice.TEST_UNPLUGGED]
    assert "Find the fault." == told[Advice.FIND_FAULT]
    assert max(len(said.split()) for said in told.values()) <= 30


@pytest.mark.parametrize("contact", CONTACTS)
@pytest.mark.parametrize("absent", ["low", "high"])
def test_following_the_advice_ends_right_and_safe(contact: str, absent: str) -> None:
    """On a two-wire switch to ground with a pull-up, doing what is advised gives a direct and fail-safe input."""
    when_in, when_out, unplugged = reads(contact, absent, rest="high")
    assert when_in is not when_out
    behaviour = DIRECT if when_in else INVERTED
    result = RESTS_IN if unplugged else RESTS_OUT

    kind, _ = advice(behaviour, finding(result, result, behaviour=behaviour))
    if kind in {Advice.CHANGE_CONTACT, Advice.CHANGE_BOTH}:
        contact = OTHER[contact]
    if kind in {Advice.INVERT_LOGIC, Advice.CHANGE_BOTH}:
        absent = OTHER[absent]

    assert (True, False, False) == reads(contact, absent, rest="high")


@pytest.mark.parametrize("behaviour", [DIRECT, INVERTED, SwitchBehaviour.NO_RELATION, SwitchBehaviour.STUCK_ACTIVE])
def test_an_input_that_nothing_holds_is_a_fault_first(behaviour: SwitchBehaviour) -> None:
    """A flickering rest, or one that differs between power-ups, asks for a pull resistor before anything else."""
    for results in ((RESTS_OUT, FLICKERS), (RESTS_OUT, RESTS_IN), (FLICKERS, FLICKERS)):
        kind, sentence = advice(behaviour, finding(*results, behaviour=behaviour))
        assert Advice.FIND_FAULT is kind
        assert "nothing holds the input" in sentence


@pytest.mark.parametrize(
    ("behaviour", "unplugged", "said"),
    [
        (SwitchBehaviour.STUCK_ACTIVE, RESTS_OUT, "look for a lever that does not move, a welded contact, a short"),
        (SwitchBehaviour.STUCK_INACTIVE, RESTS_IN, "look for a lever that does not move, a welded contact, a short"),
        (SwitchBehaviour.NO_RELATION, RESTS_OUT, "look for a loose connection, a lever that is not reached"),
        (SwitchBehaviour.NO_RELATION, RESTS_IN, "look for a loose connection, a lever that is not reached"),
    ],
)
def test_a_fault_is_looked_for_where_it_is(behaviour: SwitchBehaviour, unplugged: UnpluggedResult, said: str) -> None:
    """What always reads the same is held by something; what follows nothing is loose."""
    kind, sentence = advice(behaviour, finding(unplugged, unplugged, behaviour=behaviour))

    assert Advice.FIND_FAULT is kind
    assert said in sentence


@pytest.mark.parametrize("behaviour", [DIRECT, INVERTED, SwitchBehaviour.STUCK_ACTIVE, SwitchBehaviour.NO_RELATION])
def test_nothing_is_changed_before_the_unplugged_reading_is_known(behaviour: SwitchBehaviour) -> None:
    """Without an unplugged reading the advice is to take one."""
    assert Advice.TEST_UNPLUGGED is advice(behaviour, finding())[0]


@pytest.mark.parametrize("result", [RESTS_IN, RESTS_OUT])
def test_an_inverted_finding_admits_reversed_words(result: UnpluggedResult) -> None:
    """Advice on an inverted finding says that the words of the reply may be reversed."""
    assert "reversed words" in advice(INVERTED, finding(result, result, behaviour=INVERTED))[1]


@pytest.mark.parametrize(
    ("results", "verdict"),
    [
        ((RESTS_OUT, RESTS_OUT), Verdict.PASS),
        ((RESTS_OUT, replace(RESTS_OUT, power=PowerSeen.WORD)), Verdict.CONDITIONAL),
        ((RESTS_OUT,), Verdict.NOT_JUDGED),
        ((RESTS_OUT, UNREAD), Verdict.NOT_JUDGED),
        ((RESTS_IN,), Verdict.FAIL),
        ((RESTS_OUT, FLICKERS), Verdict.FAIL),
    ],
)
def test_a_safe_rest_takes_both_power_ups(results: tuple[UnpluggedResult, ...], verdict: Verdict) -> None:
    """Where two are needed two are enough and one is not judged; a single dangerous one fails."""
    assert verdict is finding(*results).verdict(2)


def test_two_errors_that_cancel_are_named() -> None:
    """A direct switch that rests at in is called two errors that cancel, in finding and advice."""
    found = finding(RESTS_IN, RESTS_IN)

    assert "two errors that cancel" in found.sentence
    assert advice(DIRECT, found)[1].startswith("Two errors cancel")


def test_one_power_up_is_said_to_be_too_few() -> None:
    """A safe rest in a single power-up carries its own warning."""
    assert "power up once more" in finding(RESTS_OUT).sentence
    assert "Unplugged, the input read steadily out in 2 power-ups." == finding(RESTS_OUT, RESTS_OUT).sentence


def test_a_power_off_nobody_saw_is_named() -> None:
    """Which power-ups rest on the operator's word stands in the finding."""
    told = replace(RESTS_OUT, power=PowerSeen.RESTART)

    assert (
        "Unplugged, the input read steadily out in 2 power-ups. That the power was off before power-up 2 was not seen: "
        "it rests on the operator's word."
    ) == finding(RESTS_OUT, told).sentence
    assert "before power-up 1 and power-up 2" in finding(told, told).sentence
