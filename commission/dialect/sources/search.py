"""Which sources a printer has, found out by questions that only read: command out, the lines of its answer in.

A search is a generator: it yields one question after the other, is sent the lines of each answer, and returns what it
found. It begins behind the switch report and the question for runout control, which every job asks first.
"""

import re
from collections.abc import Generator, Iterable, Sequence
from dataclasses import dataclass

from commission.dialect.commands import Command
from commission.dialect.family import Family, Identified
from commission.dialect.refusals import Fault, refusal_of
from commission.dialect.sources.monitors import ACTIVE_TOOL, NOT_FITTED, monitor_in
from commission.dialect.sources.named_sensors import tells_movement
from commission.dialect.sources.reader import sources_of
from commission.dialect.sources.report import SourceKind, SourceReport
from commission.dialect.sources.source import Source
from commission.dialect.sources.status_model import moving_monitors_in
from commission.vocabulary import Reading

MOST_DRIVES, MOST_INPUTS = 8, 4
"""More drives are not asked for, and more spare inputs neither."""
USUAL_NAMES = ("filament_sensor", "runout_sensor", "switch_sensor", "encoder_sensor", "runout", "e1_sensor")
"""Names that are often given to sensors that no console can list; to ask for a name that is not there is harmless."""
_OLDER_MAKE = re.compile(r"\bon endstop \d|\bextruder drive \d", re.IGNORECASE)
"""Words of builds that have no model of themselves, and would run a user's file for the question."""

Search = Generator[Command, Sequence[str], "Searched"]
_Part = Generator[Command, Sequence[str], list["Found"]]


@dataclass(frozen=True)
class Found:
    """One source that a printer has.

    Attributes:
        source: how it is asked.
        report: what it read when it was found.
        moving: it senses that filament moves, not that it is there.
    """

    source: Source
    report: SourceReport
    moving: bool = False

    @property
    def told(self) -> bool:
        """Whether it gave a reading."""
        return self.report.reading is not Reading.UNKNOWN

    @property
    def testable(self) -> bool:
        """Whether it can be tested for presence."""
        return self.told and not self.moving


@dataclass(frozen=True)
class Searched:
    """What a search found.

    Attributes:
        found: every source.
        by_name: more may be there, which answer to their names only.
    """

    found: tuple[Found, ...] = ()
    by_name: bool = False


def search(printer: Identified | None) -> Search:
    """Ask for everything this printer can be asked for by itself."""
    family = None if printer is None else printer.family
    if printer is None or family not in _SEARCHES:
        return Searched()
    return (yield from _SEARCHES[family](printer))


def words_on_filament(printer: Identified | None, lines: Iterable[str]) -> tuple[Found, ...]:
    """The sources that a reply of runout control is, where it tells of the filament; most builds say nothing there."""
    if printer is None:
        return ()
    told = (each for each in sources_of(lines) if each.kind is SourceKind.RUNOUT_WORD and each.presence is not None)
    return tuple(Found(Source(printer, each.kind, each.name), each) for each in told)


def ask_for(source: Source) -> Generator[Command, Sequence[str], Found]:
    """Ask for one source, whose name somebody gave."""
    lines = yield source.question
    return Found(source, source.read(lines), _moves(source, lines))


def _moves(source: Source, lines: Iterable[str]) -> bool:
    said = list(lines)
    match source.kind:
        case SourceKind.PULSE_COUNTER:
            return True
        case SourceKind.MONITOR:
            monitors = [monitor for line in said if (monitor := monitor_in(line))]
            return any(monitor.kind.moving and not monitor.with_switch for monitor in monitors)
        case SourceKind.MONITOR_STATUS:
            numbers = {number for line in said for number in moving_monitors_in(line)}
            return source.name.isdigit() and int(source.name) in numbers
        case SourceKind.NAMED_SENSOR:
            return any(tells_movement(line) for line in said)
    return False


def _forks(printer: Identified) -> Search:
    """A fork has a monitor of its own for the active tool, and tells only how it is set."""
    found = yield from ask_for(Source(printer, SourceKind.MONITOR, ACTIVE_TOOL))
    return Searched((found,) if found.report.enabled is not None else ())


def _monitors(printer: Identified) -> Search:
    """Each drive's monitor as it describes itself; then the model, where the build has one."""
    found: list[Found] = []
    has_model = True
    for drive in range(MOST_DRIVES):
        source = Source(printer, SourceKind.MONITOR, str(drive))
        lines = yield source.question
        report = source.read(lines)
        has_model = has_model and not any(_OLDER_MAKE.search(line) for line in lines)
        if report.enabled is not None:
            found.append(Found(source, report, _moves(source, lines)))
        elif not (report.error or "").startswith(NOT_FITTED):
            break  # there is no such drive
    if has_model:
        found += yield from _model(printer, [each.source.name for each in found])
    return Searched(tuple(found))


def _model(printer: Identified, drives: Sequence[str]) -> _Part:
    """The status of each monitor, and the spare inputs that are set up."""
    found: list[Found] = []
    if drives:
        status = Source(printer, SourceKind.MONITOR_STATUS, drives[0])
        lines = [*(yield status.question)]
        while (rest := status.rest(lines)) is not None and len(lines) < MOST_DRIVES:
            lines += yield rest
        sources = [Source(printer, SourceKind.MONITOR_STATUS, drive) for drive in drives]
        found += [Found(each, each.read(lines), _moves(each, lines)) for each in sources]
    for number in range(MOST_INPUTS):
        spare = yield from ask_for(Source(printer, SourceKind.PIN, f"gpIn[{number}]"))
        if not spare.told:
            break
        found.append(spare)
    return found


def _named(printer: Identified) -> Search:
    """Sensors by the usual names; where the question itself is not known, none is set up and no name is tried."""
    found: list[Found] = []
    for name in USUAL_NAMES:
        source = Source(printer, SourceKind.NAMED_SENSOR, name)
        lines = yield source.question
        refused = refusal_of(lines)
        if refused is not None and refused.fault is Fault.UNKNOWN_COMMAND:
            return Searched()
        report = source.read(lines)
        if report.presence is not None:
            found.append(Found(source, report, _moves(source, lines)))
    return Searched(tuple(found), by_name=True)


def _pulses(printer: Identified) -> Search:
    """The counter of pulses, where there is one."""
    found = yield from ask_for(Source(printer, SourceKind.PULSE_COUNTER, "filament detector"))
    return Searched((found,) if found.report.enabled is not None else ())


_SEARCHES = {Family.A: _forks, Family.B: _monitors, Family.C: _named, Family.E: _pulses}
"""Family D has nothing that can be asked without changing it."""
