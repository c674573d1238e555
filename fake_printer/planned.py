"""Deeds that wait for a line from the host: hands that act in the very moment, where a person would come too late."""

import re
from dataclasses import dataclass

_NUMBER = re.compile(r"^\s*N\s*-?\d+\s*")


@dataclass(frozen=True)
class Deed:
    """What hands are to do: the verb and its words, as they are said at the bench."""

    verb: str
    words: tuple[str, ...]


class Planned:
    """Deeds, each kept until a line comes that begins as it says."""

    def __init__(self) -> None:
        self._waiting: list[tuple[str, Deed]] = []
        self._due: list[Deed] = []

    def plan(self, start: str, deed: Deed) -> None:
        """Have it done once, at the next line that begins so; a line number in front of it does not count."""
        self._waiting.append((start, deed))

    def heard(self, line: str) -> None:
        """A line has come."""
        text = _NUMBER.sub("", line)
        due = [(start, deed) for start, deed in self._waiting if text.startswith(start)]
        self._waiting = [each for each in self._waiting if each not in due]
        self._due += [deed for _, deed in due]

    def take_due(self) -> list[Deed]:
        """What has to be done now, in the order it was planned in."""
        due, self._due = self._due, []
        return due

    @property
    def waiting(self) -> list[str]:
        """The deeds that wait, as they were planned."""
        return [" ".join((start, deed.verb, *deed.words)) for start, deed in self._waiting]
