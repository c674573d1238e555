"""A printer's settings memory, as small as the restore tests need it."""

from commission.dialect.settings_lines import SettingsLine
from tests.support.settings_lines import settings_of


class FakeMemory:
    """Takes settings lines and prints its settings again; it knows words and numbers, and nothing of their meaning.

    Steer it by the report it starts with: it prints the same lines in the same form, with as many decimals as they had.
    A line that it does not print itself is refused with an error, as is a letter.
    """

    def __init__(self, report: str) -> None:
        self._lines = list(settings_of(report.splitlines()))
        self._values = [dict(line.values) for line in self._lines]

    def take(self, sent: str) -> None:
        """Carry out one line.

        Raises:
            LookupError: no such setting is here.
        """
        (line,) = settings_of([f"  {sent}"])
        place = next(i for i, own in enumerate(self._lines) if own.key == line.key)
        for letter, value in line.values.items():
            if letter not in self._values[place]:
                raise LookupError(f"{line.command} has no {letter} here")
            self._values[place][letter] = value

    def report(self) -> str:
        """The settings as this printer prints them."""
        return "\n".join(self._printed(line, values) for line, values in zip(self._lines, self._values, strict=True))

    def _printed(self, line: SettingsLine, values: dict[str, float]) -> str:
        decimals = {letter: len(text.partition(".")[2]) for letter, text in line.number_texts.items()}
        words = [f"{letter}{value}" for letter, value in line.selectors.items()]
        words += [f"{letter}{value:.{decimals[letter]}f}" for letter, value in values.items()]
        return "  " + " ".join([line.command, *line.flags, *words])
