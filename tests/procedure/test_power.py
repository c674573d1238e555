"""Power off, power on and the power cycle, whole, as they are printed."""

import pytest

from commission.procedure.message import Punch
from commission.procedure.power import HANDS, End, around, by_itself, hold_point, plug_in, power_cycle, unplug
from commission.procedure.request import Hold
from commission.procedure.response import HoldReleased, Interrupted, Interruption, InterruptionKind
from tests.support.scripted_phase import ScriptedPhase


def test_work_behind_the_cover_ends_with_the_printer_in_use() -> None:
    """Mains, then USB, then the cover; and all of it back, the cover first."""
    assert (
        "Switch the printer off and pull its mains plug, if it is not out yet. Pull the USB cable: it powers the board "
        "too.",
        "Let hot parts near your hands cool. Open the cover, if it is closed.",
        "Touch the frame, then plug the sensor's cable in at the main board, each terminal by its function.",
        "Close the cover, if it is open. Plug the mains plug and the USB cable in and switch the printer on.",
    ) == around(plug_in(End.BOARD))


def test_work_before_a_reading_ends_on_usb_alone() -> None:
    """The mains plug stays out, so that the cover may stay open; a board that USB does not power is told apart."""
    assert (
        "Switch the printer off and pull its mains plug, if it is not out yet. Pull the USB cable: it powers the board "
        "too.",
        "Let hot parts near your hands cool. Open the cover, if it is closed.",
        "Touch the frame, then unplug the sensor's cable at the main board.",
        "Leave the mains plug out. Plug only the USB cable in.",
        "Only where the USB cable does not power the board: close the cover, then plug the mains plug in too and "
        "switch the printer on.",
    ) == around(unplug(End.BOARD), mains_stays_out=True)


def test_what_is_done_outside_leaves_the_cover_alone() -> None:
    """Without hands behind it the cover is not opened; at the sensor it may be hot."""
    steps = around(unplug(End.SENSOR), opens=False)

    assert not any("Open the cover" in step for step in steps)
    assert (
        "Let hot parts near the sensor cool. Touch the frame, then unplug the sensor's cable at the sensor."
        == (steps[1])
    )


def test_a_power_cycle_takes_both_supplies_away_and_touches_nothing() -> None:
    """Off at the switch and USB out, or the logic stays powered; then both back."""
    steps = power_cycle("a.cycle")
    request = next(steps)

    assert isinstance(request, Hold)
    assert ("a.cycle", "Power off and on again", True) == (request.key, request.title, request.power)
    assert (
        "Switch the printer off at its power switch.",
        "Pull the USB cable: it powers the board too. Wait ten seconds.",
        "Plug the USB cable back in and switch the printer on.",
    ) == request.steps


def test_a_hold_point_at_the_wiring_carries_its_caution() -> None:
    """Whatever is done at it, hands are told when they may go there."""
    request = hold_point("a.hold", "unplug the sensor", around(), "Is it done?")

    assert ("Power off: unplug the sensor", (HANDS,), True) == (request.title, request.cautions, request.power)


def test_another_printer_behind_a_hold_point_is_asked_nothing() -> None:
    """What answers differently ends the run."""
    other = HoldReleased(port="/dev/example", same_identity=False)

    with pytest.raises(Interrupted, match="announces itself differently"):
        ScriptedPhase(other=lambda _request: other).play(power_cycle("a.cycle"))


def test_a_hold_point_that_is_broken_off_says_how_the_printer_may_stand() -> None:
    """Stopped at it, nobody knows how far the hands had come: an item says so until the hold point is released."""
    steps = by_itself(hold_point("a.hold", "unplug the sensor", around(), "Is it done?"))
    next(steps)
    item = steps.throw(Interrupted(Interruption(InterruptionKind.OPERATOR_STOP)))

    assert isinstance(item, Punch)
    assert "a.hold" == item.settled_by
    assert (
        "Broken off at the hold point 'Power off: unplug the sensor': the printer may stand open, without mains or USB."
        == item.text
    )
