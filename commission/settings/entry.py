"""One value of one settings line, under a key that is the same in every generation of reply."""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass

from commission.dialect.settings_lines import SettingsLine
from commission.settings.meaning import CommandMeaning, Fallback, LetterMeaning, Renaming
from commission.settings.printed import Printed
from commission.settings.snapshot import words_of

NO_NUMBER = re.compile(r"[-+]?(?:nan|inf(?:inity)?)", re.IGNORECASE)

Selector = str | int | float
Key = tuple[str, tuple[tuple[str, Selector], ...], str | None, int]


@dataclass(frozen=True)
class Entry:
    """One value, or one line that is compared as text.

    Attributes:
        line: the line it stands in.
        letter: today's letter; None for a line as text.
        selectors: which one is meant, in today's form; part of the key.
        order: the how-manieth value of its kind, from 0, where nothing else tells them apart.
        written: the letter as printed.
        number: the number as printed; None for text.
        base: the number in millimetres or degrees Celsius.
        meaning: what the letter means; None for one that is not described.
        command_meaning: what the command means; None for an unknown one.
        foreign: its line is another command of the same name: a probing form, or another family's.
        stand_in: another letter stands for this one too, which is not printed.
        note: why it does not stand there as written, one sentence; empty when it does.
        index_base: the number from which the points of a mesh are counted; None for anything else.
    """

    line: SettingsLine
    letter: str | None
    selectors: Mapping[str, Selector]
    order: int = 0
    written: str | None = None
    number: Printed | None = None
    base: Printed | None = None
    meaning: LetterMeaning | None = None
    command_meaning: CommandMeaning | None = None
    foreign: bool = False
    stand_in: bool = False
    note: str = ""
    index_base: int | None = None

    @property
    def command(self) -> str:
        """The command word."""
        return self.line.command

    @property
    def key(self) -> Key:
        """The place of the value, the same in every way of writing it."""
        return (self.command, tuple(sorted(self.selectors.items())), self.letter, self.order)

    @property
    def text(self) -> str:
        """The value as printed: its digits, or the words of the line."""
        return words_of(self.line) if self.number is None else self.number.text

    @property
    def value(self) -> float | None:
        """The value in millimetres or degrees Celsius; None when there is no finite one."""
        number = math.nan if self.base is None else float(self.base.value)
        return number if math.isfinite(number) else None

    @property
    def slack(self) -> float:
        """How far the true value may lie from the printed one, in the unit of `value`."""
        return 0.0 if self.base is None else float(self.base.step) / 2


def no_numbers(line: SettingsLine) -> dict[str, Printed]:
    """Words whose number is none, such as a damaged store prints: by letter."""
    found = {}
    for word in line.unread_words:
        letter, digits = word[:1], word[1:]
        if letter.isupper() and letter not in line.number_texts and NO_NUMBER.fullmatch(digits):
            found[letter] = Printed.of(digits)
    return found


def unreadable(line: SettingsLine) -> bool:
    """Whether the line has words that cannot be read at all: nothing of it may be put back."""
    return len(no_numbers(line)) < len(line.unread_words)


def lost_numbers(line: SettingsLine, meaning: CommandMeaning) -> tuple[str, ...]:
    """The letters that stand there without a number and never do in this command: they lost it on the way."""
    return tuple(flag for flag in line.flags if flag not in meaning.flags)


def renaming_of(line: SettingsLine, meaning: CommandMeaning) -> Renaming | None:
    """The letters of another build in which the line is written, if any."""
    there = set(line.values)
    return next((each for each in meaning.renamed if set(each.present) <= there and not set(each.absent) & there), None)


def stands_for_both(line: SettingsLine, form: Fallback, meaning: CommandMeaning) -> bool:
    """Whether it is the whole line of an older build, in which one letter stands for two."""
    renaming = renaming_of(line, meaning)
    letters = renaming.letters if renaming else {}
    there = {letters.get(letter, letter) for letter in line.values}
    return there == {form.by, *form.beside} and not line.flags and not line.unread_words


def torn(line: SettingsLine, meaning: CommandMeaning) -> bool:
    """Whether a letter is missing without which no build prints the line: it was damaged into another, or lost."""
    return any(
        form.by in line.values and form.letter not in line.values and not stands_for_both(line, form, meaning)
        for form in meaning.fallback
    )


def selectors_of(line: SettingsLine) -> dict[str, Selector]:
    """The selectors of a line as printed, whole numbers as integers."""
    return {letter: _plain(value) for letter, value in line.selectors.items()}


def _plain(value: str | float) -> Selector:
    return int(value) if isinstance(value, float) and value.is_integer() else value
