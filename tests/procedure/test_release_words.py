"""A release is asked for in the tone of what it does."""

import pytest

from commission.asking.message import Weight
from commission.asking.request import Release
from commission.dialect.commands import Effect
from commission.procedure.function.plan import FunctionPlan, Mode


@pytest.mark.parametrize(
    ("effects", "weight"),
    [
        ({Effect.MOTION, Effect.SETTING}, Weight.DANGER),
        ({Effect.HEAT}, Weight.DANGER),
        ({Effect.SETTING}, Weight.CAUTION),
        ({Effect.ERASE}, Weight.CAUTION),
        ({Effect.SAVE}, Weight.NOTE),
        ({Effect.READ_ONLY}, Weight.NOTE),
    ],
)
def test_danger_is_for_what_moves_or_heats(effects: set[Effect], weight: Weight) -> None:
    """A pin report and a save hurt nobody; settings may crash a head, moves and heat a hand."""
    assert weight is Release("any", "do it", ("It is done.",), frozenset(effects)).weight


def test_the_function_test_is_asked_for_by_what_it_does() -> None:
    """The question says that axes move, and how hot it gets; any other release names its title."""
    dry, warm = FunctionPlan(), FunctionPlan(Mode.WARM, celsius=210, material="PLA")

    assert "The axes will move. Start the dry test?" == dry.release().asked
    assert "The axes will move, and the nozzle is heated to 210 °C. Start the warm test?" == warm.release().asked
    assert "Release: save?" == Release("any", "save", ("It is done.",), frozenset({Effect.SAVE})).asked
