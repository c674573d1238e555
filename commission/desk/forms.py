"""A sheet in a person's hands: its rows with their numbers, what one line of typing does to it, and when it is closed.

Pure: a desk shows the rows, hands over what was typed, and asks alone for what the person wants to answer otherwise.
"""

import re
from collections.abc import Awaitable, Callable, Iterator, Sequence
from typing import Protocol

from commission.asking.form import Answer, Closing, Form, FormRow, Question
from commission.asking.request import Choose, Confirm, Enter
from commission.desk.answers import NotAnAnswer, chosen, entered, yes_or_no
from commission.desk.wording import bounds, choice_labels, clean

MISSING = "?"
MOST_IN_A_HINT = 4
MOST_SHOWN_AGAIN = 4
"""So many rows that are as the person saw them last are shown once more; of a longer sheet, only what is new."""
ALL = "all"
_YES = ("y", "yes")
_SEPARATORS = (r";", r",\s", r",", r"[\s,;]+")
"""In this order: a comma may be the decimal sign of a number."""
_NUMBERS = re.compile(r"\d+([\s,;]+\d+)*", re.ASCII)


class Filling:
    """One sheet while it is filled in; `closed` once it is done."""

    def __init__(self, sheet: Form) -> None:
        self.sheet = sheet
        self._given: dict[str, Answer] = {}
        self._seen: tuple[tuple[str, str], ...] = ()
        self.closed = False

    @property
    def title(self) -> str:
        """Its title."""
        return clean(self.sheet.title)

    @property
    def notes(self) -> list[str]:
        """What goes with it, while it is shown for the first time."""
        return [] if self._given else [clean(line) for line in self.sheet.lines]

    @property
    def lines(self) -> list[str]:
        """All of it as plain lines."""
        return [self.title, *self.notes, *(f"{place} {text}" for place, text in self.rows), self.asked]

    @property
    def understood(self) -> list[str]:
        """What was understood of a line that closed it; nothing where the person has seen that on the sheet."""
        if self.sheet.closing is not Closing.FILLED:
            return []
        given = [f"{clean(row.label)}: {self._shown(row)}" for row in self._rows if row.question.key in self._given]
        return [f"Understood: {', '.join(given)}."] if given else []

    @property
    def answers(self) -> dict[str, Answer]:
        """All answers on it, by their keys; what has none yet is left out."""
        return {row.question.key: value for row in self._rows if (value := self._value(row)) is not None}

    @property
    def rows(self) -> list[tuple[str, str]]:
        """The rows to be shown now, of each its number with a full stop, and what stands in it."""
        return [line for line, known in self._numbered() if not known]

    def _numbered(self) -> list[tuple[tuple[str, str], bool]]:
        """Every row, and whether it may be left out: it is as the person saw it last, and that is enough of them."""
        rows = self._rows
        lines = [(f"{place}.", f"{clean(row.label)}: {self._shown(row)}") for place, row in enumerate(rows, 1)]
        as_seen = len(lines) == len(self._seen)
        known = [
            as_seen and line == self._seen[place] and self._value(row) is not None
            for place, (line, row) in enumerate(zip(lines, rows, strict=True))
        ]
        short = MOST_SHOWN_AGAIN < sum(known) < len(lines)
        return [(line, short and each) for line, each in zip(lines, known, strict=True)]

    @property
    def _left_out(self) -> int:
        return sum(known for _, known in self._numbered())

    @property
    def missing(self) -> list[FormRow]:
        """The rows that are still to be filled in."""
        return [row for row in self._rows if self._value(row) is None]

    @property
    def asked(self) -> str:
        """What the person is asked now."""
        rest = f"The other {self._left_out} rows are as before. " if self._left_out else ""
        if missing := self.missing:
            hints = [_hint(row.question) for row in missing]
            alike = [hint if hint not in hints[place + 1 :] else "" for place, hint in enumerate(hints)]
            names = ", ".join(f"{clean(row.label)}{hint}" for row, hint in zip(missing, alike, strict=True))
            order = "Type in one line, with commas (- for none): " if len(missing) > 1 else "Type: "
            return rest + order + names
        return rest + (clean(self.sheet.asked) or "Does it stand?")

    @property
    def prompt(self) -> str:
        """What stands before the line being typed."""
        if self.missing:
            return "> "
        keeps = "y if all of it is so" if self.sheet.closing is Closing.YES else "Enter to keep"
        return f"{keeps}, number to change{f', {ALL} to see all rows' if self._left_out else ''}: "

    def give(self, question: Question, answer: Answer) -> None:
        """Take an answer that was asked for alone."""
        self._given[question.key] = answer

    def take(self, typed: str) -> tuple[Question, ...]:
        """Take a line; what comes back is to be asked alone now. The rows were shown before.

        Raises:
            NotAnAnswer: it is none here; the text says what would be.
        """
        missing, shortened = self.missing, self._left_out > 0
        self._seen = tuple(line for line, _ in self._numbered())
        if shortened and not missing and typed.strip().lower() == ALL:
            self._seen = ()
            return ()
        if missing and not _NUMBERED.fullmatch(typed.strip()):
            self._given |= _filled(missing, typed)
            self.closed = self.sheet.closing is Closing.FILLED and not self.missing
            return ()
        word = typed.strip().lower().removeprefix(_CHANGE)
        if self._keeps(word):
            self.closed = True
            return ()
        rows = self._rows
        places = [int(number) for number in re.split(r"[\s,;]+", word)] if _NUMBERS.fullmatch(word) else []
        if not places or not all(1 <= place <= len(rows) for place in places):
            raise NotAnAnswer(f"Type {self._keeping}, or the numbers of what is to be answered otherwise, as in 1,3.")
        return tuple(rows[place - 1].question for place in dict.fromkeys(places))

    @property
    def _keeping(self) -> str:
        return "y" if self.sheet.closing is Closing.YES else "Enter alone"

    def _keeps(self, word: str) -> bool:
        return word in _YES or (word == "" and self.sheet.closing is not Closing.YES)

    @property
    def _rows(self) -> tuple[FormRow, ...]:
        return self.sheet.rows(self._given)

    def _value(self, row: FormRow) -> Answer | None:
        return self._given.get(row.question.key, row.usual)

    def _shown(self, row: FormRow) -> str:
        value = self._value(row)
        if value is None:
            return MISSING
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(row.question, Choose):
            return next(clean(option.label) for option in row.question.options if option.key == value)
        unit = getattr(row.question, "unit", "")
        return clean(row.empty) if value == "" else f"{clean(value)} {clean(unit)}".rstrip()


_CHANGE = "change "
_NUMBERED = re.compile(r"change [\d\s,;]+", re.ASCII)
"""How a row that has its answer is changed while others are still to be filled in."""


class Alone(Protocol):
    """Who asks a question of a sheet alone."""

    async def confirm(self, request: Confirm) -> bool:
        """Yes or no."""
        ...

    async def choose(self, request: Choose) -> str:
        """One of a list."""
        ...

    async def enter(self, request: Enter) -> str:
        """A value."""
        ...


async def fill(sheet: Form, desk: Alone, take: Callable[[Filling], Awaitable[tuple[Question, ...]]]) -> Filling:
    """Have a sheet filled in until it is closed.

    Args:
        sheet: what is filled in.
        desk: asks what the person wants to answer alone.
        take: shows the sheet as it stands and has it take one line.
    """
    filling = Filling(sheet)
    while not filling.closed:
        for question in await take(filling):
            filling.give(question, await _alone(desk, question))
    return filling


async def _alone(desk: Alone, question: Question) -> Answer:
    match question:
        case Confirm():
            return await desk.confirm(question)
        case Choose():
            return await desk.choose(question)
        case Enter():
            return await desk.enter(question)


def _hint(question: Question) -> str:
    """What may be typed for it."""
    if isinstance(question, Confirm):
        return " (y or n)"
    if isinstance(question, Choose):
        if len(question.options) > MOST_IN_A_HINT:
            return " (its number)"
        listed = zip(choice_labels(question), question.options, strict=True)
        return f" ({', '.join(f'{label} {clean(option.label)}' for label, option in listed)})"
    limits = bounds(question)
    return f" ({limits})" if limits else ""


def _filled(missing: Sequence[FormRow], typed: str) -> dict[str, Answer]:
    """What a line gives to the rows that are missing, in their order.

    Raises:
        NotAnAnswer: it does not give each of them its value.
    """
    wrong = None
    for parts in _split(typed, len(missing)):
        try:
            return {row.question.key: read(row.question, part) for row, part in zip(missing, parts, strict=True)}
        except NotAnAnswer as error:
            wrong = wrong or error
    if wrong is not None:
        raise wrong
    raise NotAnAnswer(f"{len(missing)} values are needed, in this order: {', '.join(row.label for row in missing)}.")


def _split(typed: str, count: int) -> Iterator[list[str]]:
    if count == 1:
        yield [typed]
        return
    for separator in _SEPARATORS:
        parts = re.split(separator, typed.strip())
        if len(parts) == count:
            yield parts


def read(question: Question, typed: str) -> Answer:
    """What was typed, as an answer to this question; `-` is an empty one.

    Raises:
        NotAnAnswer: it is none.
    """
    if isinstance(question, Confirm):
        return yes_or_no(typed)
    if isinstance(question, Choose):
        return chosen(question, typed)
    return entered(question, "" if typed.strip() == "-" else typed)
