"""A person at the plain desk who reads what is printed, does what it says with the hands, and types an answer.

The desk is the real one, at a real pseudo-terminal. Nothing is known here of requests and their keys: an answer is
found by the words on the screen, as a person finds it, also where a line ends between them. `typed` holds every answer
with the words it was given to, so that a test can count them.
"""

import io
import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass

ASKS = (
    "Type yes or no, then Enter.",
    "Type the number or word of your answer, then Enter.",
    "Type the numbers or words of all that fit, with commas between them, then Enter.",
    "Type it, then Enter.",
    "Type yes, then Enter, to release; Enter alone shows the steps again.",
    "> ",
    "Enter to keep, number to change: ",
    "Enter to keep, number to change, all to see all rows: ",
    "y if all of it is so, number to change: ",
    "y if all of it is so, number to change, all to see all rows: ",
)
"""The last line of a question: now the desk waits for a line."""
REFUSED = ("Type one of", "Type y", "A number is needed", "It must be", "Something must be", "values are needed")
"""How the desk begins when a line was no answer."""
MORE_THAN_ANY_RUN = 200


@dataclass(frozen=True)
class Rule:
    """What is done and typed where these words are read; `typed` is None where only the hands are wanted."""

    words: str
    typed: str | None = None
    hands: tuple[str, ...] = ()


class FakeReader(io.StringIO):
    """The screen in front of that person, as a stream that says it is a terminal.

    Args:
        rules: the first one whose words stand in what was printed since the last answer is followed.
        hands: does one thing at the bench.
    """

    def __init__(self, rules: Sequence[Rule], hands: Callable[[str], object]) -> None:
        super().__init__()
        self._rules = rules
        self._hands = hands
        self._block: list[str] = []
        self.keyboard = -1
        self.typed: list[tuple[str, str]] = []

    def isatty(self) -> bool:
        """Yes, always."""
        return True

    def write(self, text: str) -> int:
        """Read what is printed and, where it asks, answer."""
        for line in text.split("\n"):
            if line in ASKS:
                self._answer()
            elif line:
                self._read(line)
        return super().write(text)

    def _read(self, line: str) -> None:
        if line.startswith(REFUSED):
            raise AssertionError(f"not taken for an answer: {self.typed[-1:]}\n{line}")
        before = self._block[-1] if self._block else ""
        self._block.append(line)
        for rule in self._rules:
            if rule.typed is None and rule.words in f"{before} {line}" and rule.words not in before:
                self._do(rule)
                return

    def _answer(self) -> None:
        asked = " ".join(self._block)
        rule = next((rule for rule in self._rules if rule.typed is not None and rule.words in asked), None)
        if rule is None or len(self.typed) >= MORE_THAN_ANY_RUN:
            raise AssertionError(f"nobody knows what to say to this, after {len(self.typed)} answers:\n{asked}")
        self._do(rule)
        self.typed.append((self._block[-1], rule.typed or ""))
        self._block.clear()
        os.write(self.keyboard, f"{rule.typed}\n".encode())

    def _do(self, rule: Rule) -> None:
        for deed in rule.hands:
            self._hands(deed)
