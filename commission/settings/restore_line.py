"""One line that may be sent to put a value back: built from parsed values, and unable to exist when it is not allowed.

What a saved report says never travels to the printer as text. A line is put together anew, from a command that the
table calls restorable, letters that the table describes and numbers inside their hard bounds; anything else raises.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from commission.settings.meaning import CommandMeaning, LetterMeaning, RestoreClass
from commission.settings.printed import Printed
from commission.settings.unit_mode import UnitMode

MOST_DECIMALS = 6
"""As many as any build prints, and more than a float of the firmware carries."""
MOST_SELECTOR = 255
LONGEST_LINE = 90
"""Characters. Boards take 96 with number and checksum; what is longer is cut without a word."""


class NotSendable(ValueError):
    """The value must not be sent; the text says why."""


@dataclass(frozen=True)
class RestoreLine:
    """One line to send.

    Attributes:
        meaning: what its command means.
        selectors: which one is meant, as the printer at hand writes it.
        flags: words without a number.
        numbers: the values by letter, as they were printed.
        units: the units in which they were printed, and in which the printer at hand must be.
    """

    meaning: CommandMeaning
    selectors: Mapping[str, int]
    flags: tuple[str, ...]
    numbers: Mapping[str, Printed]
    units: UnitMode

    def __post_init__(self) -> None:
        """Refuse a line that must not be sent.

        Raises:
            NotSendable: why it must not.
        """
        meaning = self.meaning
        if meaning.restore is RestoreClass.REFUSE:
            raise NotSendable(meaning.reason)
        if self.units.unclear:
            raise NotSendable(f"The units of the report are not clear: {self.units.unclear}.")
        if not self.numbers:
            raise NotSendable("No value is left to send.")
        if not set(self.selectors) <= set(meaning.selectors) or not set(self.flags) <= set(meaning.flags):
            raise NotSendable("It carries a word that is not known for this command.")
        if meaning.needs_flag is not None and meaning.needs_flag not in self.flags:
            raise NotSendable(meaning.reason)
        if not all(0 <= number <= MOST_SELECTOR for number in self.selectors.values()):
            raise NotSendable("It names a part that no printer has.")
        for letter, number in self.numbers.items():
            check_number(meaning, letter, number, self.units)
        if len(self.text) > LONGEST_LINE:
            raise NotSendable(f"The line is longer than {LONGEST_LINE} characters.")

    @property
    def text(self) -> str:
        """The line without its end."""
        words = [f"{letter}{number}" for letter, number in self.selectors.items()]
        values = [f"{letter}{_digits(number, self.meaning.letters[letter])}" for letter, number in self.numbers.items()]
        return " ".join([self.meaning.command, *self.flags, *words, *values])

    def __str__(self) -> str:
        return self.text


def check_number(meaning: CommandMeaning, letter: str, number: Printed, units: UnitMode) -> None:
    """Refuse a number that must not be sent in this letter.

    Raises:
        NotSendable: the letter is not described, or the number is none, is no integer where one is due, or lies
            outside the hard bounds.
    """
    known = meaning.letters.get(letter)
    if known is None or known.hard is None:
        raise NotSendable(f"The letter {letter} is not known for this command.")
    if not number.finite:
        raise NotSendable(f"{letter} is {number.text}: no number.")
    if known.whole and number.value != number.value.to_integral_value():
        raise NotSendable(f"{letter} is {number.text}, where an integer is due.")
    if not known.hard.holds(float(units.in_base(number, known.dimension).value)):
        raise NotSendable(
            f"{letter} is {number.text}; it is never sent outside {known.hard} {known.unit}".rstrip() + "."
        )


def _digits(number: Printed, known: LetterMeaning) -> str:
    decimals = 0 if known.whole else min(number.decimals, MOST_DECIMALS)
    text = f"{number.value:.{decimals}f}"
    return text.removeprefix("-") if not text.strip("-0.") else text
