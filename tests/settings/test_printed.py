"""Numbers as printed: equal at the coarser precision, with the hidden digits shown."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.settings.printed import Printed, agree, agree_across_units, hidden_digits


@pytest.mark.parametrize(
    ("one", "other", "equal"),
    [
        ("80.00", "80.00", True),
        ("80", "80.00", True),
        ("20000", "20000.00", True),
        ("0.01", "0.013", True),
        ("0.01", "0.015", True),  # a tie is printed either way
        ("0.01", "0.016", False),
        ("0.01", "0.02", False),
        ("-0.6", "-0.61", True),
        ("-0.6", "0.6", False),
        ("0.00", "-0.00", True),
        ("93", "93.4", True),
        ("93", "93.6", False),
        ("nan", "NaN", True),
        ("nan", "0.00", False),
        ("inf", "inf", True),
        ("4294967295", "4294967295.00", True),
    ],
)
def test_agreement_at_the_coarser_precision(one: str, other: str, *, equal: bool) -> None:
    """Two numbers agree when the finer one can be printed as the coarser one, whichever comes first."""
    assert equal is agree(Printed.of(one), Printed.of(other))
    assert equal is agree(Printed.of(other), Printed.of(one))


@pytest.mark.parametrize(
    ("one", "other", "hidden"),
    [
        ("0.01", "0.013", "3"),
        ("0.20", "0.20125", "125"),
        ("80", "80.00", ""),
        ("80.00", "80.00", ""),
        ("93", "93.4", "4"),
        ("nan", "0.0", ""),
    ],
)
def test_hidden_digits(one: str, other: str, hidden: str) -> None:
    """The digits that only the finer number shows are named, unless they are zeros."""
    assert hidden == hidden_digits(Printed.of(one), Printed.of(other))


@given(value=st.decimals(-9999, 9999, places=6), coarse=st.integers(0, 3), more=st.integers(0, 3))
@settings(deadline=None, max_examples=100)
def test_one_value_printed_twice_agrees(value: Decimal, coarse: int, more: int) -> None:
    """A value printed with two different precisions agrees with itself."""
    assert agree(Printed.of(f"{value:.{coarse}f}"), Printed.of(f"{value:.{coarse + more}f}"))


@given(value=st.integers(-99999, 99999), decimals=st.integers(0, 5), steps=st.integers(1, 50))
@settings(deadline=None, max_examples=100)
def test_neighbours_do_not_agree(value: int, decimals: int, steps: int) -> None:
    """Two numbers of one precision that differ in a printed digit do not agree."""
    one, other = (f"{Decimal(number).scaleb(-decimals):.{decimals}f}" for number in (value, value + steps))

    assert not agree(Printed.of(one), Printed.of(other))


def test_rounding_in_two_units() -> None:
    """A length rounded in inches and in millimetres agrees with itself and not with another."""
    inches = Printed.of("0.39").converted(Decimal("25.4"))

    assert agree_across_units(Printed.of("10.00"), inches)  # 10 mm is 0.3937 in
    assert not agree_across_units(Printed.of("10.50"), inches)


@pytest.mark.parametrize("text", ["", "x", "1,5", "0x10", "--1"])
def test_what_is_no_number_is_refused(text: str) -> None:
    """Text that holds no decimal number raises."""
    with pytest.raises(ValueError, match="is no number"):
        Printed.of(text)


@pytest.mark.parametrize("text", ["1e999999", "-1e400", "9" * 400])
def test_numbers_beyond_floats_are_infinite(text: str) -> None:
    """A number that no float holds is kept as text and never computed with."""
    assert not Printed.of(text).finite
    assert text == Printed.of(text).text
