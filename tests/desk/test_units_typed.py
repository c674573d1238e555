"""A figure may be typed with the unit that is asked for, and with a comma."""

import pytest

from commission.asking.request import Enter, EntryKind
from commission.desk.answers import NotAnAnswer, entered, entered_and_said


@pytest.mark.parametrize(
    ("unit", "typed", "taken"),
    [
        ("V", "3.3 V", "3.3"),
        ("V", "3,3v", "3.3"),
        ("mm", "15 mm", "15"),
        ("mm", "0,5", "0.5"),
        ("g", "150 g", "150"),
        ("°C", "200°C", "200"),
        ("", "7", "7"),
        ("V", "3300 mV", "3.3"),
        ("ohm", "10k", "10000"),
        ("ohm", "4,7 kΩ", "4700"),
        ("ohm", "0.4 Ω", "0.4"),
        ("µA", "0.05 mA", "50"),
    ],
)
def test_the_unit_that_is_asked_for_may_be_typed(unit: str, typed: str, taken: str) -> None:
    """The figure alone is taken, with a point."""
    assert taken == entered(Enter("any", "How much?", EntryKind.NUMBER, unit, 0, 100_000), typed)


@pytest.mark.parametrize("typed", ["15 cm", "mm", "3.3 V mm"])
def test_another_unit_is_no_answer(typed: str) -> None:
    """A length in another unit is not taken for millimetres."""
    with pytest.raises(NotAnAnswer, match="A number is needed"):
        entered(Enter("any", "How long?", EntryKind.NUMBER, "mm", 0, 1000), typed)


def test_what_was_understood_is_said() -> None:
    """A number that is not typed as it is taken is said in the unit that is asked for."""
    volts = Enter("any", "How much?", EntryKind.NUMBER, "V", 0, 60)

    assert ("3.3", ["Understood: 3.3 V"]) == entered_and_said(volts, "3300 mV")
    assert ("3.3", []) == entered_and_said(volts, "3.3")
