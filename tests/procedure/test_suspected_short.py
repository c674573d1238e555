"""A supply that may be shorted: the meter decides first, and nothing is plugged in before."""

import pytest

from commission.evidence.findings.cause import Diagnosis
from commission.judge.diagnosis import Observation
from commission.judge.plan import Plan
from commission.procedure.cautions import SUPPLY_SHORT
from commission.procedure.diagnose import diagnose
from commission.procedure.loop_check import loop_check
from commission.procedure.response import Interrupted
from commission.procedure.suspected_short import may_be_plugged_in, shorted, undecided
from commission.procedure.wiring import assessed, wiring
from commission.procedure.wiring_walk import explained
from tests.procedure.unit_hands import ScriptedHands

PLAN = Plan(seed=20, cycles=6, wiggle_s=20, wiggle_readings=200)
THREE_WIRES = {
    "sensor": "switch",
    "wires": "3",
    "common": "signal",
    "no-side": "ground",
    "nc-side": "supply",
    "pressed-when": "in",
    "pull": "up",
    "pull-by": "board",
    "absent": "high",
    "logic": "3.3",
    "supply": "3.3",
}
RESTART = Observation("filament in", 0, 5, restarted=True)
SUPPLY_IN, SUPPLY_OUT = "meter, supply to ground, filament in", "meter, supply to ground, filament out"


def metered(test: str, *, joined: bool) -> Observation:
    """What the meter showed."""
    return Observation(test, int(joined), 1)


@pytest.mark.parametrize(
    ("seen", "left"),
    [
        ([], ()),
        ([RESTART], (SUPPLY_IN, SUPPLY_OUT)),
        ([RESTART, metered(SUPPLY_IN, joined=False)], (SUPPLY_OUT,)),
        ([RESTART, metered(SUPPLY_IN, joined=False), metered(SUPPLY_OUT, joined=False)], ()),
        ([metered(SUPPLY_IN, joined=False), metered(SUPPLY_OUT, joined=False), RESTART], (SUPPLY_IN, SUPPLY_OUT)),
    ],
)
def test_a_restart_stands_until_the_meter_has_cleared_it(seen: list[Observation], left: tuple[str, ...]) -> None:
    """Both readings are wanted, and they have to come after it: what was sound before may be chafed through now."""
    assert left == undecided(seen)
    assert (not left) is may_be_plugged_in(seen)


def test_the_newest_reading_of_the_meter_counts() -> None:
    """A supply that was joined and is apart after the repair forbids nothing any more."""
    joined, apart = metered(SUPPLY_IN, joined=True), metered(SUPPLY_IN, joined=False)

    assert shorted([joined])
    assert not shorted([joined, apart])


def test_a_board_that_goes_down_in_the_trials_is_told_one_order() -> None:
    """The screen says once what to do, and the diagnosis behind it names the same reading of the meter and no other."""
    known = {f"wiring.{name}": answer for name, answer in THREE_WIRES.items()}
    hands = ScriptedHands("supply-short", known.get)
    hands.carry_out(wiring())
    hands.told.clear()

    with pytest.raises(Interrupted):
        hands.carry_out(explained(loop_check(PLAN, "filament")))

    screen = [*hands.told, *hands.findings[Diagnosis].sentences]
    stop = screen.index("Stop")
    assert ("Stop", *SUPPLY_SHORT) == tuple(screen[stop : stop + 4])
    assert (
        "Next test: meter, supply to ground, filament in. After a restart the meter decides first: from supply to "
        "ground, with filament in and with filament out." in screen
    )
    assert not [said for said in screen[stop + 4 :] if "first, then" in said or "Power switch off" in said]


def test_after_a_restart_the_meter_is_asked_for_first_and_a_short_is_never_plugged_in() -> None:
    """Taken up on another day the first test is the meter's; joined, the printer is closed without the sensor."""
    hands = ScriptedHands("supply-short")
    hands.carry_out(diagnose(assessed(THREE_WIRES), [RESTART], PLAN, "filament"))

    assert "diagnose.meter.hold" == next(key for key in hands.asked if key.endswith(".hold"))
    assert 1 == hands.asked.count("diagnose.next")
    assert any("nothing is plugged in before that is put right" in said for said in hands.findings[Diagnosis].sentences)


def test_without_a_meter_the_sensor_stays_off_the_board_after_a_restart() -> None:
    """No test is asked for that would plug it in again."""
    hands = ScriptedHands("supply-short")
    questions: list[str] = []

    def answer(key: str) -> str | None:
        if key == "diagnose.next":
            questions.append(hands.question)
            return "cannot" if "meter" in hands.question else None
        return None

    hands.answer_with(answer)
    hands.carry_out(diagnose(assessed(THREE_WIRES), [RESTART], PLAN, "filament"))

    allowed = ("meter", "unplugged at the board", "bridged")
    assert all(any(word in question for word in allowed) for question in questions), questions
    assert "diagnose.filament_out" not in hands.asked
