"""What every known settings command means, and how the commands belong together."""

from collections.abc import Mapping
from dataclasses import dataclass

from commission.settings.meaning import CommandMeaning, RestoreClass


class BadTable(ValueError):
    """The description of the commands is badly written; the text lists every complaint at once."""


@dataclass(frozen=True)
class ReplacedSide:
    """One of two ways of saying a similar thing: it is in use when every mark is printed."""

    command: str
    letters: tuple[str, ...]
    marks: tuple[str, ...]


@dataclass(frozen=True)
class Replacement:
    """Two ways of saying a similar thing, between which no value carries over."""

    one: ReplacedSide
    other: ReplacedSide
    note: str


@dataclass(frozen=True)
class ReportUnits:
    """The lines that say in which units a report is written."""

    millimetres: str
    inches: str
    temperature: str

    def __contains__(self, command: object) -> bool:
        return command in (self.millimetres, self.inches, self.temperature)


@dataclass(frozen=True)
class Checks:
    """Cross-checks between the values of one report."""

    probe: str
    home: str
    letter: str
    probe_and_home_note: str
    mesh_spread_mm: float


@dataclass(frozen=True)
class SettingsTable:
    """What every known settings command means.

    Attributes:
        commands: the meaning by command word.
        report_units: the lines that say in which units a report is written.
        replaced: pairs between which no value carries over.
        checks: cross-checks between the values of one report.
        never: what a command does that is never sent, by command word.
        expected: what every report states, in words, with the commands of which one states it.
    """

    commands: Mapping[str, CommandMeaning]
    report_units: ReportUnits
    replaced: tuple[Replacement, ...]
    checks: Checks
    never: Mapping[str, str]
    expected: Mapping[str, tuple[str, ...]]

    def __post_init__(self) -> None:
        """Refuse a table that would let a forbidden command out.

        Raises:
            BadTable: a command is both restorable and never to be sent, or a reference leads nowhere.
        """
        complaints = [
            f"{name}: it {self.never[name]} and must not be restorable"
            for name, meaning in self.commands.items()
            if meaning.restore is not RestoreClass.REFUSE and self.is_never(name)
        ]
        for side in (side for pair in self.replaced for side in (pair.one, pair.other)):
            meaning = self.commands.get(side.command)
            if meaning is None or not {*side.letters, *side.marks} <= set(meaning.letters):
                complaints.append(f"replaced: {side.command} or one of its letters is not described")
        complaints += [
            f"checks: {name} is not described"
            for name in (self.checks.probe, self.checks.home)
            if name not in self.commands
        ]
        if complaints:
            raise BadTable("; ".join(complaints))

    def is_never(self, command: str) -> bool:
        """Whether the command must not be sent from a saved report, whatever else is known of it."""
        return command in self.never or command[:1] in self.never

    def replacement(self, command: str, letter: str) -> Replacement | None:
        """The pair a value belongs to, if any."""
        return next(
            (
                pair
                for pair in self.replaced
                for side in (pair.one, pair.other)
                if side.command == command and letter in side.letters
            ),
            None,
        )
