"""Which sources of the filament sensor a printer has, and which is tested: found out by questions that only read."""

from collections.abc import Generator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TypeVar

from commission.asking.message import Tell, Weight
from commission.asking.request import Choose, Confirm, Enter, Option
from commission.asking.response import Interrupted, Interruption, InterruptionKind
from commission.asking.steps import Steps, ask, choose, confirm, enter, establish
from commission.dialect.commands import Command
from commission.dialect.family import Identified
from commission.dialect.runout import RunoutControl
from commission.dialect.sources.monitors import ACTIVE_TOOL
from commission.dialect.sources.report import SourceKind, SourceReport
from commission.dialect.sources.search import Found, Searched, ask_for, search
from commission.dialect.sources.source import CannotBeAsked, Source
from commission.dialect.sources.spelling import spelled
from commission.dialect.sources.ways import Proves
from commission.dialect.states import state_question
from commission.dialect.switches import SwitchState
from commission.evidence.findings.reported import SourceLine, SourcesFound
from commission.vocabulary import Reading

_T = TypeVar("_T")
WHICH, NAME, PRESENCE = "source.which", "source.name", "source.presence"
BY_NAME, NONE = "by name", "none"
FILAMENT_IN = "source.filament_in"
NAME_TRIES = 5
NOTHING_MORE = "Beside its switch report nothing on this console tells of a filament sensor."


@dataclass(frozen=True)
class Looked:
    """What a printer was found to have.

    Attributes:
        printer: as identified; None where its family is not known.
        lines: of the switch report, each as a source.
        searched: everything that was found besides.
    """

    printer: Identified | None
    lines: tuple[Found, ...]
    searched: Searched

    @property
    def everything(self) -> tuple[Found, ...]:
        """What tells of the filament by itself, then the lines of the switch report."""
        return (*self.searched.found, *self.lines)

    @property
    def best(self) -> tuple[Found, ...]:
        """What the printer's own detection goes by, each sensor once."""
        own = [each for each in self.everything if each.testable and each.source.proves is Proves.DETECTION]
        monitors = {each.source.name for each in own if each.source.kind is SourceKind.MONITOR}
        lines = any(each.source.kind is SourceKind.SWITCH_LINE for each in own)
        return tuple(each for each in own if not _again(each.source, monitors, lines=lines))

    @property
    def inputs(self) -> tuple[Found, ...]:
        """What shows an input only, where nothing else seems to need it."""
        own = (each for each in self.everything if each.testable and each.source.spare)
        return tuple(each for each in own if each.source.proves is Proves.INPUT)

    @property
    def moving(self) -> tuple[Found, ...]:
        """What senses that filament moves, and not that it is there."""
        return tuple(each for each in self.everything if each.moving)


def _again(source: Source, monitors: set[str], *, lines: bool) -> bool:
    """Whether it tells of a sensor that another source tells of better."""
    if source.kind is SourceKind.MONITOR_STATUS:
        return source.name in monitors
    return source.kind is SourceKind.RUNOUT_WORD and lines


def asked(questions: Generator[Command, Sequence[str], _T]) -> Steps[_T]:
    """Put the questions of a search to the printer."""
    lines: Sequence[str] | None = None
    while True:
        try:
            command = next(questions) if lines is None else questions.send(lines)
        except StopIteration as end:
            result: _T = end.value
            return result
        lines = (yield from ask(command)).lines


def serves(printer: Identified | None) -> Steps[None]:
    """Ask for the printer's state where its family tells it; one that does not serve ends the run there."""
    question = None if printer is None else state_question(printer)
    if question is not None:
        yield from ask(question)


def looked(printer: Identified | None, states: Sequence[SwitchState]) -> Steps[Looked]:
    """Find out what the printer has besides the switches that it reports."""
    searched = yield from asked(search(printer))
    # the monitor of a fork tells how the sensor behind the filament lines is set
    moves = any(each.moving and each.source.name == ACTIVE_TOOL for each in searched.found)
    lines = (replace(each, moving=moves and each.source.proves is Proves.DETECTION) for each in _of(printer, states))
    return Looked(printer, tuple(lines), searched)


def _of(printer: Identified | None, states: Sequence[SwitchState]) -> tuple[Found, ...]:
    """The lines of the switch report, each with what it read; a name that no line can have is damage, and left out."""
    kind = SourceKind.SWITCH_LINE
    found = []
    for state in states:
        with suppress(CannotBeAsked):
            report = SourceReport(kind, state.name, state.reading, state.wire_word)
            found.append(Found(Source(printer, kind, state.name), report))
    return tuple(found)


def switch_lines(printer: Identified | None, states: Sequence[SwitchState]) -> Looked:
    """The switch report alone."""
    return Looked(printer, _of(printer, states), Searched())


def of_presence(found: Found) -> Steps[Found]:
    """Ask whether it tells of presence, where no reply does; a sensor of movement is tested for nothing else."""
    lines = ("A wheel or an encoder tells that filament moves. At rest it says nothing of whether filament is there.",)
    question = "Is this sensor a switch that tells whether filament is there (and no sensor of movement)?"
    return replace(found, moving=not (yield from confirm(Confirm(PRESENCE, question, lines))))


def chosen_source(
    found: Looked, wanted: str = "", on_record: str = "", *, unattended: bool = False
) -> Steps[Found | None]:
    """The source to test; None where there is none, or nobody to say which is meant.

    Args:
        found: what the printer has.
        wanted: what the operator named beforehand; empty for nothing.
        on_record: what was tested last; empty for nothing.
        unattended: nobody is there: nothing is asked.

    Raises:
        Interrupted: what the operator named cannot be read.
    """
    known = (yield from _wanted(found, wanted or on_record)) if wanted or on_record else None
    if known is not None:
        return known
    if wanted:
        why = f"'{wanted}' was named and gives no reading; nothing else is read in its place. Name another, or none."
        raise Interrupted(Interruption(InterruptionKind.NO_SOURCE, why))
    if len(found.best) == 1 and not found.searched.by_name:
        return found.best[0]
    if unattended:
        return None
    if not found.best and found.searched.by_name:
        return (yield from _by_name(found))
    return (yield from _one_of(found))


def _wanted(found: Looked, wanted: str) -> Steps[Found | None]:
    try:
        source = Source.called(wanted, found.printer)
        named = next((turned(each, source) for each in found.everything if _same_input(each.source, source)), None)
    except CannotBeAsked as cannot:
        yield Tell((f"'{wanted}' is not read: {cannot}",), weight=Weight.CAUTION)
        return None
    if named is None and source.way.purity.by_release:
        said = f"'{wanted}' is not tested: each question for it {source.way.purity.value.partition(':')[0]}."
        yield Tell((said, "It is read again and again in a test, so only what asking leaves alone is tested."))
        return None
    if named is None and source.kind is not SourceKind.SWITCH_LINE:
        named = yield from asked(ask_for(source))
    if named is not None and named.testable:
        return named
    yield Tell((_untestable(source, named),), weight=Weight.CAUTION)
    return None


def _same_input(one: Source, other: Source) -> bool:
    return (one.kind, one.name) == (other.kind, other.name)


def turned(found: Found, source: Source) -> Found:
    """It, read the way that this source of the same input is read."""
    if found.source.reverse is source.reverse:
        return found
    other = {Reading.ACTIVE: Reading.INACTIVE, Reading.INACTIVE: Reading.ACTIVE}
    reading = other.get(found.report.reading, found.report.reading)
    return replace(found, source=source, report=replace(found.report, reading=reading))


def which_way(found: Found) -> Steps[Found]:
    """Ask where the filament is, which tells which way an input is read; the trials then prove or disprove it."""
    lines = (
        f"{found.source.text} is an input alone and counts either way. It reads {found.report.reading.value} now.",
        "So where the filament is now tells which way it is read.",
    )
    present = yield from confirm(Confirm(FILAMENT_IN, "Is filament in the sensor now?", lines))
    if present is (found.report.reading is Reading.ACTIVE):
        return found
    return turned(found, replace(found.source, reverse=not found.source.reverse))


def _untestable(source: Source, found: Found | None) -> str:
    if found is not None and found.moving:
        return f"{source.text} senses that filament moves, not that it is there: it is never judged as presence."
    why = found.report.error if found is not None else None
    return (
        f"{source.text} gives no reading: {why.rstrip('.')}."
        if why
        else f"{source.text} gives no reading. {source.way.unknown}"
    )


def _one_of(found: Looked) -> Steps[Found | None]:
    """Ask which; where the printer's own detection tells of none, an input that somebody may have borrowed."""
    return (yield from meant(found, (yield from which(found))))


def which(found: Looked, *more: Option) -> Steps[str]:
    """Ask which sensor is tested, with further answers behind them; empty where there is none to choose."""
    offered = found.best or found.inputs
    if not offered and not found.searched.by_name:
        return ""
    options = [Option(each.source.text, _described(each), each.source.proves.value) for each in offered]
    options += more
    if found.searched.by_name:
        options.append(Option(BY_NAME, "another sensor, by its name", "the console cannot list them"))
    if not found.best:
        options.append(Option(NONE, "none of these", "the sensor is plugged in elsewhere"))
    question = "Which of these is the filament sensor that is tested?"
    return (yield from choose(Choose(WHICH, question, tuple(options))))


def meant(found: Looked, answer: str) -> Steps[Found | None]:
    """The source that an answer to `which` means."""
    if answer == BY_NAME:
        return (yield from _by_name(found))
    return next((each for each in (*found.best, *found.inputs) if each.source.text == answer), None)


def _described(found: Found) -> str:
    return f"{found.source.text} (now reads {found.report.reading.value})"


def _by_name(found: Looked) -> Steps[Found | None]:
    """Have a sensor named until one of that name answers; an empty name gives up."""
    lines = (
        "This console cannot list its sensors. The name stands in the host computer's configuration.",
        "Small and capital letters count. Empty: there is none.",
    )
    for _ in range(NAME_TRIES):
        name = (yield from enter(Enter(NAME, "Name of the filament sensor", optional=True, lines=lines))).strip()
        if not name:
            return None
        known = yield from _wanted(found, spelled(SourceKind.NAMED_SENSOR, name))
        if known is not None:
            return known
    return None


def control_of(found: Found | None) -> RunoutControl:
    """What a source tells of the printer's own detection; nothing where there is none."""
    if found is None or found.source.proves is not Proves.DETECTION:
        return RunoutControl()
    report = found.report
    return RunoutControl(supported=True, enabled=report.enabled, absent_level=report.absent_level)


def keep_sources(found: Looked, chosen: Found | None, several: Sequence[Found] = ()) -> Steps[None]:
    """Put what was found into the record, and which of it is tested."""
    shown = [each for each in found.everything if each.moving or each.source.kind is not SourceKind.SWITCH_LINE]
    tested = several or ([] if chosen is None else [chosen])
    shown += [each for each in tested if each not in shown]
    said = [sentence_of(each) for each in shown] or [NOTHING_MORE]
    said += [f"Tested is {each.source.text}: {each.source.proves.value}." for each in tested]
    yield from establish(
        SourcesFound(
            sentences=tuple(said),
            sources=tuple(SourceLine.of(each) for each in shown),
            tested=None if chosen is None else chosen.source.text,
        )
    )


def sentence_of(found: Found) -> str:
    """One source in words: what it is, what it read, and what is to be known of it."""
    report, text = found.report, found.source.text
    if found.moving:
        read = "it senses movement, not presence"
    elif not found.told:
        read = f"no reading: {found.source.way.unknown[0].lower()}{found.source.way.unknown[1:].rstrip('.')}"
    else:
        read = f"reads {report.reading.value} (the printer's words: {report.wire_word})"
    watched = {True: ", watched", False: ", not watched", None: ""}[report.enabled]
    return f"{text}: {found.source.kind.meaning}; {read}{watched}."
