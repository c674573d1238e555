"""What one settings command means: the frozen records that `commands.toml` is read into.

Every record checks itself, so a table that loads is a table that can be trusted; `table.py` reads the file.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum

COMMAND = re.compile(r"[A-Z]\d{1,4}")
LETTER = re.compile(r"[A-Z]")


class RestoreClass(Enum):
    """Whether a value may be put back after a reflash."""

    SAFE = "safe"
    REVIEW = "review"
    REFUSE = "refuse"


class Dimension(Enum):
    """How a unit follows the report's own choice of units."""

    LENGTH = "length"
    PER_LENGTH = "per length"
    TEMPERATURE = "temperature"
    NONE = "none"


@dataclass(frozen=True)
class Span:
    """A range, both ends included."""

    low: float
    high: float

    def __post_init__(self) -> None:
        """Refuse an empty range.

        Raises:
            ValueError: the low end lies above the high end, or an end is no number.
        """
        if not self.low <= self.high:
            raise ValueError(f"the range {self.low:g} to {self.high:g} is empty")

    def holds(self, value: float, slack: float = 0.0) -> bool:
        """Whether the value, known to within the slack, may lie inside."""
        return self.low - slack <= value <= self.high + slack

    def covers(self, other: "Span") -> bool:
        """Whether the other range lies inside, ends included."""
        return self.low <= other.low and other.high <= self.high

    def __str__(self) -> str:
        return f"{self.low:g} to {self.high:g}"


@dataclass(frozen=True)
class Band:
    """A range in which a number has a meaning of its own."""

    name: str
    span: Span


@dataclass(frozen=True)
class LetterMeaning:
    """One value of a command, in millimetres and degrees Celsius where it has such a unit.

    Attributes:
        letter: the word's letter.
        of: what it is.
        unit: its unit, empty for a bare number.
        dimension: how the unit follows the report's choice.
        plausible: where sound machines lie; None when nothing is known.
        hard: outside of this it is never sent; None for a value that is never sent.
        whole: an integer.
        more: what a greater value does, one sentence; empty when unknown.
        less: what a smaller value does.
        jump_factor: a change by this ratio is worth a finding; None for none.
        jump_step: a change by this much is worth a finding; None for none.
        sign: a change of sign is worth a finding.
        bands: ranges with meanings of their own.
    """

    letter: str
    of: str
    unit: str
    dimension: Dimension
    plausible: Span | None = None
    hard: Span | None = None
    whole: bool = False
    more: str = ""
    less: str = ""
    jump_factor: float | None = None
    jump_step: float | None = None
    sign: bool = False
    bands: tuple[Band, ...] = ()

    def __post_init__(self) -> None:
        """Refuse a description that contradicts itself.

        Raises:
            ValueError: what is wrong with it.
        """
        if not LETTER.fullmatch(self.letter):
            raise ValueError(f"{self.letter!r} is no letter of a command")
        if not self.of:
            raise ValueError(f"letter {self.letter} does not say what it is")
        if self.jump_factor is not None and self.jump_factor <= 1:
            raise ValueError(f"letter {self.letter}: a jump factor must be above 1")
        if self.jump_step is not None and self.jump_step <= 0:
            raise ValueError(f"letter {self.letter}: a jump step must be above 0")
        if self.plausible and self.hard and not self.hard.covers(self.plausible):
            raise ValueError(f"letter {self.letter}: the plausible range reaches beyond the hard one")

    def band(self, value: float) -> Band | None:
        """The band a value lies in, if any."""
        return next((band for band in self.bands if band.span.holds(value)), None)


@dataclass(frozen=True)
class Renaming:
    """Letters that other builds write for the same values.

    It applies to a line that has all of `present` and none of `absent`.
    """

    present: tuple[str, ...]
    absent: tuple[str, ...]
    letters: Mapping[str, str]
    note: str


@dataclass(frozen=True)
class Fallback:
    """A letter that older builds left out because another one stood for both.

    Attributes:
        letter: the one that is left out.
        by: the one that stands for both.
        beside: the others of that line; a line that lacks the letter and has not just these is damaged.
    """

    letter: str
    by: str
    beside: tuple[str, ...]


@dataclass(frozen=True)
class ZeroSwitch:
    """An older form: a further line with zero in a letter switches off what has a letter of its own now."""

    letter: str
    switch: str
    note: str


@dataclass(frozen=True)
class CommandMeaning:
    """One settings command. The head of `commands.toml` explains each field."""

    command: str
    purpose: str
    source: str
    restore: RestoreClass
    reason: str = ""
    trap: str = ""
    letters: Mapping[str, LetterMeaning] = field(default_factory=dict)
    selectors: tuple[str, ...] = ()
    tool: str | None = None
    per_tool: tuple[str, ...] | None = None
    flags: tuple[str, ...] = ()
    needs_flag: str | None = None
    axis_flags: bool = False
    together: tuple[tuple[str, ...], ...] = ()
    alien: tuple[str, ...] = ()
    fallback: tuple[Fallback, ...] = ()
    renamed: tuple[Renaming, ...] = ()
    zero_switch: ZeroSwitch | None = None
    last: bool = False
    mesh: bool = False

    def __post_init__(self) -> None:
        """Refuse a description that contradicts itself.

        Raises:
            ValueError: every complaint, each with the command's name.
        """
        complaints = list(self._complaints())
        if complaints:
            raise ValueError("; ".join(f"{self.command}: {complaint}" for complaint in complaints))

    def _complaints(self) -> list[str]:
        known = set(self.letters)
        named = [letter for group in self.together for letter in group]
        named += [letter for form in self.fallback for letter in (form.letter, form.by, *form.beside)]
        named += [letter for renaming in self.renamed for letter in renaming.letters.values()]
        named += [self.zero_switch.letter, self.zero_switch.switch] if self.zero_switch else []
        named += self.per_tool or ()
        checks = (
            (not COMMAND.fullmatch(self.command), "is no command word"),
            (not self.purpose, "does not say what it is for"),
            (not self.source, "does not say where its ranges come from"),
            (self.restore is not RestoreClass.SAFE and not self.reason, "is not safe but gives no reason"),
            (bool(set(named) - known), f"speaks of letters it does not describe: {sorted(set(named) - known)}"),
            (self.tool is not None and self.tool not in self.selectors, "names a tool selector it does not list"),
            (bool(known & set(self.selectors)), "has a letter both as a value and as a selector"),
            (self.needs_flag is not None and self.needs_flag not in self.flags, "needs a flag it does not list"),
            (bool(known & set(self.alien)), "describes a letter that it calls alien"),
            (
                self.restore is not RestoreClass.REFUSE and self._unbounded(),
                "may be sent but has a letter without bounds",
            ),
        )
        return [complaint for broken, complaint in checks if broken]

    def _unbounded(self) -> bool:
        return not self.letters or any(
            letter.hard is None or letter.plausible is None for letter in self.letters.values()
        )

    def belongs_to_tool(self, letter: str) -> bool:
        """Whether the value is one of a hotend or extruder, not of the machine."""
        return self.tool is not None and (self.per_tool is None or letter in self.per_tool)
