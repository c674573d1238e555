"""Supply and input pin."""

import pytest

from fake_printer.board import Board, FreeInput
from fake_printer.specs import BoardSpec, InputSpec
from tests.fake_printer.line import chance

SHORT = [("board.supply", "board.ground")]


def test_short_is_ridden_through_for_a_while() -> None:
    """A short ends the supply only after the hold-up time, and its end brings the supply back."""
    board = Board(BoardSpec(hold_up_ms=2.0), "0")
    board.look(SHORT)
    board.advance(0.0015)

    assert board.alive

    board.advance(0.0006)

    assert not board.alive

    board.look([])

    assert board.alive


@pytest.mark.parametrize(
    ("mains", "usb", "alive"), [(True, True, True), (True, False, True), (False, True, True), (False, False, False)]
)
def test_either_feeds_the_logic(mains: bool, usb: bool, alive: bool) -> None:
    """Mains or the USB plug alone keeps the logic supply up; without both there is none."""
    board = Board(BoardSpec(), "0")
    board.mains_on, board.usb_in = mains, usb

    assert alive == board.alive


def test_free_input_flips_at_its_rate() -> None:
    """A free input flips as often as its rate says: 2000 expected in 1000 s at 2 a second, within five deviations."""
    free = FreeInput(InputSpec(flips_per_s=2.0), chance(3))
    flips, level = 0, free.high
    left_s = 1000.0
    while left_s > 0:
        step_s = free.until_next_s()
        free.advance(step_s)
        left_s -= step_s
        flips += free.high != level
        level = free.high

    assert abs(flips - 2000) < 5 * 2000**0.5


def test_free_input_may_keep_its_level() -> None:
    """An input that always sticks keeps one level for as long as the power is on, and not always the same one."""
    levels = set()
    for seed in range(20):
        free = FreeInput(InputSpec(sticks_per_power_up=1.0), chance(seed))
        before = free.high
        free.advance(100)
        levels.add(before)

        assert before == free.high

    assert {True, False} == levels


def test_seed_decides_the_free_input() -> None:
    """The same seed gives the same levels at every power-up."""
    spec = BoardSpec(input=InputSpec(pull="none", sticks_per_power_up=1.0))

    def levels(seed: str) -> list[bool]:
        board = Board(spec, seed)
        seen = []
        for _ in range(16):
            board.power_up()
            seen.append(board.pin_high)
        return seen

    assert levels("7") == levels("7")
    assert levels("7") != levels("8")


def test_driven_input_ignores_the_sensor() -> None:
    """An input that another part drives keeps that level whatever the wiring does."""
    board = Board(BoardSpec(input=InputSpec(driven="high")), "0")
    board.look([("board.signal", "board.ground")])

    assert board.level == "high"
