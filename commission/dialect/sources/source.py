"""One source of one identified printer: its question, and what an answer says of it."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from commission.dialect.commands import Command, Effect
from commission.dialect.family import Family, Identified
from commission.dialect.refusals import refusal_of
from commission.dialect.sources.reader import sources_of
from commission.dialect.sources.report import SourceKind, SourceReport
from commission.dialect.sources.spelling import is_reversed, kind_and_name, spelled
from commission.dialect.sources.status_model import model_answer_in
from commission.dialect.sources.ways import WAYS, Proves, Purity, Way
from commission.dialect.switches import switches_of
from commission.vocabulary import Reading

_OTHER = {
    Reading.ACTIVE: Reading.INACTIVE,
    Reading.INACTIVE: Reading.ACTIVE,
    Reading.UNKNOWN: Reading.UNKNOWN,
}


class CannotBeAsked(ValueError):
    """This printer cannot be asked for such a source, or not by this name."""


@dataclass(frozen=True)
class Source:
    """Where a reading is had on one printer.

    Attributes:
        printer: the printer, identified: without it no question can be built but the one that reads on every family.
        kind: how the reading is had.
        name: the name it is asked by: a switch's name, a drive's number, a sensor's name, a pin.
        reverse: an input that is read the other way round: it is active without filament. What the printer's own
            detection goes by is never turned: how that reads is what is tested.

    Raises:
        CannotBeAsked: its family knows no such source, or the name cannot be asked for.
    """

    printer: Identified | None
    kind: SourceKind
    name: str
    reverse: bool = False

    def __post_init__(self) -> None:
        if (self._family, self.kind) not in WAYS:
            whose = "that does not say what it is" if self._family is None else f"of family {self._family.value}"
            raise CannotBeAsked(f"A printer {whose} cannot be asked for {self.kind.meaning}.")
        if not self.way.named.match(self.name):
            raise CannotBeAsked(f"No {self.kind.meaning} can be asked for by the name {self.name!r}.")
        if self.reverse and self.proves is Proves.DETECTION:
            raise CannotBeAsked("What the printer's own detection goes by is not read the other way round.")

    @classmethod
    def called(cls, text: str, printer: Identified | None) -> "Source":
        """The source of this printer that goes by this text; see `spelling`.

        Raises:
            CannotBeAsked: the printer has none such.
        """
        return cls(printer, *kind_and_name(text), reverse=is_reversed(text))

    @property
    def _family(self) -> Family | None:
        return None if self.printer is None else self.printer.family

    @property
    def text(self) -> str:
        """What it is called in the record and on screen."""
        return spelled(self.kind, self.name, reverse=self.reverse)

    @property
    def way(self) -> Way:
        """How it is asked."""
        return WAYS[self._family, self.kind]

    @property
    def spare(self) -> bool:
        """Whether it looks like an input that nothing else needs: one by itself, or a switch at an axis' far end."""
        return self.kind is SourceKind.PIN or self.name.lower().endswith("_max")

    @property
    def proves(self) -> Proves:
        """What a reading of it is worth."""
        return Proves.DETECTION if self.way.detection.match(self.name) else Proves.INPUT

    @property
    def question(self) -> Command:
        """The command that asks for it; one that changes the input is no question and needs a release."""
        pure = self.way.purity is not Purity.SETS_INPUT
        return Command(
            self.way.text.replace("{name}", self.name),
            f"read {self.kind.meaning}: {self.name}",
            Effect.READ_ONLY if pure else Effect.SETTING,
            self.way.answer,
            caution="" if not self.way.purity.by_release else f"It {self.way.purity.value}.",
            asked_of=self.printer,
        )

    def rest(self, lines: Iterable[str]) -> Command | None:
        """The question for the rest of a list that an answer gave in part; None when it gave all."""
        answers = [answer for line in lines if (answer := model_answer_in(line))]
        if not answers or not answers[-1].next_index:
            return None
        return replace(self.question, text=f'{self.question.text} F"a{answers[-1].next_index}"')

    def read(self, lines: Iterable[str]) -> SourceReport:
        """What an answer says of it; unknown, with what went wrong, where it says nothing or contradicts itself."""
        report = self._read(list(lines))
        return replace(report, reading=_OTHER[report.reading]) if self.reverse else report

    def _read(self, answer: list[str]) -> SourceReport:
        if self.kind is SourceKind.SWITCH_LINE:
            return self._line_of(answer)
        named = self.way.reported_as.replace("{name}", self.name)
        found = [each for each in sources_of(answer) if each.kind is self.kind]
        fitting = {each for each in found if not named or each.name in ("", named)}
        if len(fitting) == 1:
            return fitting.pop()
        return self._unknown(answer, contradicts=bool(fitting))

    def _line_of(self, answer: list[str]) -> SourceReport:
        """The line of a switch report: asked for so often that nothing else is looked for in it."""
        states = {state for state in switches_of(answer) if state.name == self.name}
        if len(states) == 1:
            state = states.pop()
            return SourceReport(self.kind, state.name, state.reading, state.wire_word)
        return self._unknown(answer, contradicts=bool(states))

    def _unknown(self, answer: list[str], *, contradicts: bool) -> SourceReport:
        if contradicts:
            return SourceReport(self.kind, self.name, error="the answer contradicts itself")
        refusal = refusal_of(answer)
        return SourceReport(self.kind, self.name, error=refusal.text if refusal else None)
