"""In which units a report is written, and what its numbers are in millimetres and degrees Celsius.

A printer that was told to think in inches or in Fahrenheit prints its settings so, and takes them so. Comparing and
judging is done in one unit; a value is put back only in the unit mode it was read in, with the digits it was read with.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum

from commission.dialect.settings_lines import SettingsLine
from commission.settings.meaning import Dimension
from commission.settings.printed import Printed
from commission.settings.table import ReportUnits

MILLIMETRES_PER_INCH = Decimal("25.4")
"""Exact by definition (international yard and pound agreement, 1959)."""


class LengthUnit(Enum):
    """The unit of lengths in a report."""

    MILLIMETRE = "mm"
    INCH = "in"


class TemperatureUnit(Enum):
    """The unit of temperatures in a report, by the letter that states it."""

    CELSIUS = "C"
    FAHRENHEIT = "F"
    KELVIN = "K"

    @property
    def sign(self) -> str:
        """As it is written behind a number."""
        return "K" if self is TemperatureUnit.KELVIN else f"°{self.value}"


AS_IT_IS = (Decimal(1), Decimal(0))
"""Factor and offset of a number that is in the base unit already."""
TO_CELSIUS = {
    TemperatureUnit.CELSIUS: AS_IT_IS,
    TemperatureUnit.FAHRENHEIT: (1 / Decimal("1.8"), -32 / Decimal("1.8")),
    TemperatureUnit.KELVIN: (Decimal(1), Decimal("-273.15")),
}
"""Factor and offset from each unit to degrees Celsius; exact by definition."""


@dataclass(frozen=True)
class UnitMode:
    """The units of one report.

    Attributes:
        length: of lengths; millimetres when nothing is stated, as every build begins.
        temperature: of temperatures; Celsius when nothing is stated.
        length_stated: whether the report says so itself.
        temperature_stated: whether the report says so itself.
        unclear: what the report contradicts itself in, or states without sense; empty when all is clear.
    """

    length: LengthUnit = LengthUnit.MILLIMETRE
    temperature: TemperatureUnit = TemperatureUnit.CELSIUS
    length_stated: bool = False
    temperature_stated: bool = False
    unclear: str = ""

    def factors(self, dimension: Dimension) -> tuple[Decimal, Decimal]:
        """Factor and offset from a printed number to millimetres or degrees Celsius."""
        if dimension is Dimension.TEMPERATURE:
            return TO_CELSIUS[self.temperature]
        inches = self.length is LengthUnit.INCH
        if dimension is Dimension.LENGTH and inches:
            return MILLIMETRES_PER_INCH, Decimal(0)
        if dimension is Dimension.PER_LENGTH and inches:
            return 1 / MILLIMETRES_PER_INCH, Decimal(0)
        return AS_IT_IS

    def in_base(self, number: Printed, dimension: Dimension) -> Printed:
        """The number in millimetres or degrees Celsius."""
        factors = self.factors(dimension)
        return number if factors == AS_IT_IS else number.converted(*factors)

    def name(self, unit: str, dimension: Dimension) -> str:
        """How a unit of the table is called in this report: `mm/s` becomes `in/s` in one written in inches."""
        if dimension is Dimension.TEMPERATURE:
            return self.temperature.sign
        if dimension is Dimension.NONE:
            return unit
        return unit.replace("mm", self.length.value)

    def agrees(self, other: "UnitMode", dimension: Dimension) -> bool:
        """Whether numbers of this dimension mean the same in both reports."""
        one, other_one = self.factors(dimension), other.factors(dimension)
        return one is other_one or one == other_one


def unit_mode(lines: Iterable[SettingsLine], stating: ReportUnits) -> UnitMode:
    """The units that a report states, or the defaults."""
    lengths: list[LengthUnit] = []
    temperatures: list[TemperatureUnit] = []
    unclear: list[str] = []
    for line in lines:
        if line.command in (stating.millimetres, stating.inches):
            lengths.append(LengthUnit.INCH if line.command == stating.inches else LengthUnit.MILLIMETRE)
        elif line.command == stating.temperature:
            letters = {unit.value: unit for unit in TemperatureUnit}
            stated = [letters[word] for word in (*line.flags, *line.values, *line.selectors) if word in letters]
            temperatures += stated
            unclear += [] if len(stated) == 1 else [f"{line.command} states no known unit of temperature"]
    if len(set(lengths)) > 1:
        unclear.append("it states millimetres and inches")
    if len(set(temperatures)) > 1:
        unclear.append("it states two units of temperature")
    return UnitMode(
        length=lengths[-1] if lengths else LengthUnit.MILLIMETRE,
        temperature=temperatures[-1] if temperatures else TemperatureUnit.CELSIUS,
        length_stated=bool(lengths),
        temperature_stated=bool(temperatures),
        unclear="; ".join(unclear),
    )
