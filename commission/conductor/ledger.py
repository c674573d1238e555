"""What a run has switched on or changed at the printer, and what it was before: from this the way out is planned.

It is fed every command that is sent and every answer that is read, so that no procedure has to remember anything. After
a run that was killed it is rebuilt from the book.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from commission.dialect.changes import SwitchedOn, change_of
from commission.dialect.commands import (
    ABSOLUTE_EXTRUSION,
    ABSOLUTE_MOVES,
    COLD_EXTRUSION,
    FAN_OFF,
    KEEPALIVE,
    STOP_JOB,
    Command,
    Effect,
    cold_extrusion_limit,
    keepalive_interval,
    permit_cold_extrusion,
    temperature_reports,
)
from commission.dialect.jobs import CARD, STOP_CARD_JOB, CardJob, CardState, card_of
from commission.dialect.reports import ColdExtrusion, cold_extrusion_of, keepalive_interval_of
from commission.evidence.entry import Entry, Record
from commission.evidence.measured import MovesBegan
from commission.evidence.runs import MadeSafe, WayOut
from commission.evidence.talk import HoldReleased
from commission.evidence.wire import Intent, Result

BY_CARD_JOB = frozenset(
    {SwitchedOn.CARD_JOB, SwitchedOn.COLD_EXTRUSION, SwitchedOn.RELATIVE_MOVES, SwitchedOn.RELATIVE_EXTRUSION}
)
"""What the small job file of the card test changes; it puts that back itself only where it runs to its end."""


@dataclass
class Ledger:
    """The open accounts of one run.

    Attributes:
        effects: every effect that went out in this run.
        active: it moved or heated, and was not made safe since.
        changes: what the commands that went out leave to be put back.
        cold: the cold extrusion limit as found; None when it was never read.
        keepalive_s: the interval of busy lines as found, in seconds; None when it was never read.
        card: what was last said of a job from the card; None when nothing was.
    """

    effects: set[Effect] = field(default_factory=set)
    active: bool = False
    changes: set[SwitchedOn] = field(default_factory=set)
    cold: ColdExtrusion | None = None
    keepalive_s: float | None = None
    card: CardState | None = None

    def sent(self, command: Command) -> None:
        """A command goes out; one that only reads leaves no account open."""
        self.note(command.text, command.effect)

    def note(self, text: str, effect: Effect) -> None:
        """The same, from the record."""
        if effect is Effect.READ_ONLY:
            return
        self.effects.add(effect)
        self.active = self.active or effect in (Effect.HEAT, Effect.MOTION)
        change = change_of(text)
        if change:
            self.changes.add(change)

    def read(self, text: str, lines: Iterable[str]) -> None:
        """An answer came; the first one before any change is what was found."""
        if text == COLD_EXTRUSION.text and self.cold is None and SwitchedOn.COLD_EXTRUSION not in self.changes:
            self.cold = cold_extrusion_of(lines)
        if text == KEEPALIVE.text and self.keepalive_s is None and SwitchedOn.KEEPALIVE not in self.changes:
            self.keepalive_s = keepalive_interval_of(lines)
        if text == CARD.text:
            self._hear_of_card(card_of(lines))

    def _hear_of_card(self, job: CardJob | None) -> None:
        """A job that began while the run was on is this run's; one that ran before is somebody's print."""
        if job is None:
            return
        if job.state is CardState.AT_WORK and self.card not in (None, CardState.AT_WORK):
            self.changes |= BY_CARD_JOB
            self.active = True
        elif job.state is not CardState.AT_WORK:
            self.changes.discard(SwitchedOn.CARD_JOB)
        self.card = job.state

    @property
    def needs_make_safe(self) -> bool:
        """Whether anything is left to be switched off or put back: settings that were restored are not."""
        return bool(self.active or self.put_back())

    def close_accounts(self) -> None:
        """Everything is made safe, or the board has restarted: the accounts are closed."""
        self.changes.clear()
        self.active = False
        self.cold = self.keepalive_s = None

    def set_aside(self) -> "Ledger":
        """Close the accounts here and hand them over, until it is known whose they are."""
        aside = replace(self, effects=set(self.effects), changes=set(self.changes))
        self.effects.clear()
        self.close_accounts()
        return aside

    def take_over(self, other: "Ledger") -> None:
        """Answer for the open accounts of another run."""
        self.effects |= other.effects
        self.active = self.active or other.active
        self.changes |= other.changes
        self.cold = other.cold if self.cold is None else self.cold
        self.keepalive_s = other.keepalive_s if self.keepalive_s is None else self.keepalive_s

    @property
    def may_be_hot(self) -> bool:
        """Whether this run heated, and that was not made safe since."""
        return Effect.HEAT in self.effects and self.active

    def put_back(self) -> list[Command]:
        """The commands that put back what was changed, heaters and emergency words apart."""
        commands: list[Command] = [STOP_CARD_JOB] if SwitchedOn.CARD_JOB in self.changes else []
        if SwitchedOn.COLD_EXTRUSION in self.changes and self.cold is not None:
            commands += [cold_extrusion_limit(self.cold.limit_c), permit_cold_extrusion(self.cold.allowed)]
        if SwitchedOn.KEEPALIVE in self.changes and self.keepalive_s is not None:
            commands.append(keepalive_interval(self.keepalive_s))
        if SwitchedOn.TEMPERATURE_REPORTS in self.changes:
            commands.append(temperature_reports(0))
        if SwitchedOn.JOB_TIMER in self.changes:
            commands.append(STOP_JOB)
        if SwitchedOn.RELATIVE_MOVES in self.changes:
            commands.append(ABSOLUTE_MOVES)
        if SwitchedOn.RELATIVE_EXTRUSION in self.changes:
            commands.append(ABSOLUTE_EXTRUSION)
        if SwitchedOn.PART_FAN in self.changes:
            commands.append(FAN_OFF)
        return commands

    @classmethod
    def from_record(cls, records: Iterable[Record[Entry]]) -> "Ledger":
        """The open accounts of a run that never came to its end, from its records in order."""
        ledger = cls()
        for record in records:
            match record.entry:
                case Intent(command=command, effect=effect):
                    ledger.note(command, effect)
                case Result(command=command, lines=lines):
                    ledger.read(command, lines)
                case MovesBegan(sends=True):
                    ledger.effects.add(Effect.MOTION)
                    ledger.active = True
                case MadeSafe(way_out=WayOut(complete=True)) | HoldReleased(restarted=True):
                    ledger = cls()  # what was switched on does not survive a restart either
        return ledger
