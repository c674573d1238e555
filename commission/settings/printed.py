"""Numbers as a printer writes them: a value that is known only to its last printed digit.

A firmware computes in binary and prints two to five decimals, or none. Two reports of one value may therefore differ
in their digits without differing in the value, and arithmetic on the parsed floats would see differences that nobody
set. All comparing is done on the decimal digits as printed.
"""

from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

HALF = Decimal("0.5")
LARGEST_EXPONENT = 300
"""Beyond this a number is taken as infinite: no setting is as large, and floats end soon after."""


@dataclass(frozen=True)
class Printed:
    """One number with the size of its last digit.

    Attributes:
        text: the digits as printed.
        value: the number; not a number and infinities are kept as such.
        step: what one more in the last printed digit would add; zero for a value that is no finite number.
    """

    text: str
    value: Decimal
    step: Decimal

    def __post_init__(self) -> None:
        """Refuse a step without a size.

        Raises:
            ValueError: the step is negative or no finite number.
        """
        if not self.step.is_finite() or self.step < 0:
            raise ValueError(f"the last digit of {self.text!r} has no size: {self.step}")

    @classmethod
    def of(cls, text: str) -> "Printed":
        """The number that stands in this text.

        Raises:
            ValueError: no number stands there.
        """
        try:
            value = Decimal(text.strip())
        except InvalidOperation as unreadable:
            raise ValueError(f"{text!r} is no number") from unreadable
        if value.is_finite() and value.adjusted() > LARGEST_EXPONENT:
            value = Decimal("Infinity").copy_sign(value)
        if not value.is_finite():
            return cls(text.strip(), value, Decimal(0))
        exponent = value.as_tuple().exponent
        assert isinstance(exponent, int)  # noqa: S101 - only a number that is not finite has a letter there
        return cls(text.strip(), value, Decimal(1).scaleb(max(-LARGEST_EXPONENT, min(exponent, 0))))

    @property
    def finite(self) -> bool:
        """Whether it can be computed with."""
        return self.value.is_finite()

    @property
    def decimals(self) -> int:
        """How many digits are printed after the point."""
        exponent = self.step.as_tuple().exponent
        return max(0, -exponent) if self.finite and isinstance(exponent, int) else 0

    def converted(self, factor: Decimal, offset: Decimal = Decimal(0)) -> "Printed":
        """The same quantity in another unit: `value x factor + offset`, as exact as it was."""
        if not self.finite:
            return self
        return Printed(self.text, self.value * factor + offset, abs(self.step * factor))


def agree(one: Printed, other: Printed) -> bool:
    """Whether both may be one value, printed to the coarser of the two precisions.

    The finer one must round to the coarser one; a tie counts as agreement in either direction, since a binary value
    on a tie is printed either way. Two that are no numbers agree when they are printed alike.
    """
    if not (one.finite and other.finite):
        return one.text.lower() == other.text.lower()
    return abs(one.value - other.value) <= max(one.step, other.step) * HALF


def agree_across_units(one: Printed, other: Printed) -> bool:
    """As `agree`, for two that were rounded in different units: each may be off by half its own last digit."""
    if not (one.finite and other.finite):
        return one.text.lower() == other.text.lower()
    return abs(one.value - other.value) <= (one.step + other.step) * HALF


def hidden_digits(one: Printed, other: Printed) -> str:
    """The digits of the finer one that the coarser one does not show; empty when nothing is hidden."""
    finer, coarser = sorted((one, other), key=lambda number: number.step)
    if not finer.finite or finer.step == coarser.step:
        return ""
    hidden = finer.text.lower()[len(finer.text) - (finer.decimals - coarser.decimals) :]
    return hidden if hidden.strip("0") else ""
