"""The sensor as it is met: what the printer reports, which source of it is read from now on, or why there is none."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from commission.asking.message import Punch
from commission.asking.steps import Steps, ask
from commission.dialect.commands import RUNOUT_CONTROL
from commission.dialect.family import Family, Identified, printer_of
from commission.dialect.identity import Identity
from commission.dialect.runout import RunoutControl, runout_of
from commission.dialect.sources.report import SourceKind
from commission.dialect.sources.search import Found, Searched, ask_for, words_on_filament
from commission.dialect.sources.source import Source
from commission.dialect.sources.spelling import kind_and_name
from commission.dialect.sources.ways import Proves
from commission.procedure.meeting.several_sources import chosen_sources
from commission.procedure.meeting.sources import (
    Looked,
    asked,
    control_of,
    keep_sources,
    looked,
    of_presence,
    serves,
    switch_lines,
    which_way,
)
from commission.procedure.meeting.switch_name import Reported, ask_switches, keep_name, keep_source
from commission.vocabulary import PunchClass


@dataclass(frozen=True)
class SensorMet:
    """What the printer reports of its sensor.

    Attributes:
        identity: as announced.
        reported: the switch report, settled over several replies.
        runout: what is told of the printer's own detection.
        found: every source, where more than the switch report was asked; else None.
        chosen: the source that is tested; None where there is none.
        several: every source that is tested, where this run tests more than one; `chosen` is the first of them.
    """

    identity: Identity | None
    reported: Reported
    runout: RunoutControl
    found: Looked | None
    chosen: Found | None
    several: tuple[Found, ...] = ()

    def of(self, source: Found) -> "SensorMet":
        """It, as far as one of several sensors goes."""
        runout = self.runout if source.source.kind is SourceKind.SWITCH_LINE else control_of(source)
        return replace(self, chosen=source, runout=runout, several=())

    @property
    def reports(self) -> tuple[str, ...]:
        """What the sources of every sensor are called that the printer's own detection goes by, as far as it tells."""
        lines = (state.name for state in self.reported.states if state.is_filament)
        return tuple(lines) if self.found is None else tuple(each.source.text for each in self.found.best)

    @property
    def switch(self) -> str | None:
        """What the source is called."""
        return None if self.chosen is None else self.chosen.source.text

    @property
    def share(self) -> str:
        """How often the source was told of, in words."""
        if self.chosen is None or self.chosen.source.kind is not SourceKind.SWITCH_LINE:
            return "asked for by itself"
        return f"in {self.reported.share(self.chosen.source.name)}"

    @property
    def printer(self) -> Identified | None:
        """The printer, where its identity proves its family."""
        return printer_of(self.identity)

    @property
    def input_only(self) -> bool:
        """Whether the source shows an input, and nothing of the printer's own detection."""
        return self.chosen is not None and self.chosen.source.proves is Proves.INPUT


def meet_sensor(
    identity: Identity | None,
    wanted: str = "",
    on_record: str = "",
    *,
    unattended: bool = False,
    together: Sequence[str] | None = None,
    of_movement: bool = False,
) -> Steps[SensorMet]:
    """Ask what there is and choose the source to test; only questions that read on this printer's family go out.

    Args:
        identity: as announced.
        wanted: the source that the operator named beforehand; empty for none.
        on_record: the one that was tested last; empty for none.
        unattended: nobody is there: nothing is asked of a person.
        together: the sensors that were tested together last, and may be so now; None in a job that tests one.
        of_movement: the job is about a sensor of movement: what kind it is is not asked.
    """
    printer = printer_of(identity)
    several = None if together is None else tuple(together)
    how = _How(wanted, on_record, several, unattended=unattended, of_movement=of_movement)
    if printer is None or printer.family is Family.A:
        return (yield from _widespread(identity, printer, how))
    yield from serves(printer)
    reported = yield from ask_switches()
    found = yield from looked(printer, reported.states)
    chosen = yield from chosen_sources(found, wanted, on_record, together, unattended=unattended)
    chosen = yield from _settled(chosen, how, SourceKind.NAMED_SENSOR)
    return _met(identity, reported, control_of(next(iter((*chosen, *found.moving)), None)), found, chosen)


@dataclass(frozen=True)
class _How:
    """How the sensor is looked for: see `meet_sensor`."""

    wanted: str
    on_record: str
    together: tuple[str, ...] | None
    unattended: bool
    of_movement: bool = False

    def known(self, source: Found) -> bool:
        """Whether it was tested before, so that nothing is to be asked of it."""
        return self.unattended or source.source.text in (self.on_record, *(self.together or ()))


def _settled(chosen: Sequence[Found], how: _How, untold: SourceKind | None) -> Steps[tuple[Found, ...]]:
    """Each as it is tested: asked whether it tells of presence, where its kind does not, and which way it is read."""
    settled: list[Found] = []
    for each in chosen:
        if how.known(each):
            settled.append(each)
        elif each.source.kind is untold:
            settled.append(replace(each, moving=True) if how.of_movement else (yield from of_presence(each)))
        else:
            settled.append((yield from _either_way(each)))
    return tuple(settled)


def _met(
    identity: Identity | None,
    reported: Reported,
    runout: RunoutControl,
    found: Looked | None,
    settled: Sequence[Found],
) -> SensorMet:
    """The sensor as met; one of movement is not chosen, and stands among what was found."""
    still = tuple(each for each in settled if not each.moving)
    if len(still) == len(settled):
        return SensorMet(identity, reported, runout, found, next(iter(still), None), still if still[1:] else ())
    rest = Looked(None, (), Searched()) if found is None else found
    moving = tuple(each for each in settled if each.moving)
    named = {each.source for each in moving}
    others = tuple(each for each in rest.searched.found if each.source not in named)
    lines = tuple(each for each in rest.lines if each.source not in named)
    looked_at = Looked(rest.printer, lines, replace(rest.searched, found=(*others, *moving)))
    return SensorMet(identity, reported, runout, looked_at, next(iter(still), None), still if still[1:] else ())


def control_now(identity: Identity | None, switch: str) -> Steps[RunoutControl]:
    """What the printer tells now of its own detection, in the way of its family.

    Args:
        identity: as announced.
        switch: what the source of the sensor is called.
    """
    printer = printer_of(identity)
    if printer is None or printer.family is Family.A:
        return runout_of((yield from ask(RUNOUT_CONTROL)).lines)
    return control_of((yield from asked(ask_for(Source.called(switch, printer)))))


def _widespread(identity: Identity | None, printer: Identified | None, how: _How) -> Steps[SensorMet]:
    """The switch report and the runout control; more is asked only where these name no filament sensor."""
    reported = yield from ask_switches()
    told = (yield from ask(RUNOUT_CONTROL)).lines
    runout = runout_of(told)
    on_record = how.on_record
    by_itself = bool(on_record) and kind_and_name(on_record)[0] is not SourceKind.SWITCH_LINE
    by_record = on_record if by_itself or kind_and_name(on_record)[1] in reported.names else ""
    plain = bool(reported.filament) and not (how.wanted or by_itself) and runout.supported is not False
    found = switch_lines(printer, reported.states) if plain else (yield from looked(printer, reported.states))
    if not plain:
        more = (*found.searched.found, *words_on_filament(printer, told))
        found = replace(found, searched=replace(found.searched, found=more))
    chosen = yield from chosen_sources(found, how.wanted, by_record, how.together, unattended=how.unattended)
    untold = SourceKind.SWITCH_LINE if runout.motion_distance_mm is not None else None
    known = replace(how, unattended=how.unattended or bool(by_record))
    chosen = yield from _settled(chosen, known, untold)
    return _met(identity, reported, runout, None if plain else found, chosen)


def _either_way(chosen: Found) -> Steps[Found]:
    """An input alone is read the way that fits the filament; what the printer's detection goes by, as it is."""
    return (yield from which_way(chosen)) if chosen.source.proves is Proves.INPUT else chosen


def keep_met(met: SensorMet, on_record: str) -> Steps[None]:
    """Put into the record what was found, and by what name the sensor is read from now on."""
    if met.found is not None:
        yield from keep_sources(met.found, met.chosen, met.several)
    if met.several:  # each is named when its turn comes
        return
    source = None if met.chosen is None else met.chosen.source
    if source is None or (source.kind is SourceKind.SWITCH_LINE and not source.reverse):
        yield from keep_name(met.reported, None if source is None else source.name, on_record)
    else:
        yield from keep_source(source.text, on_record)
    if met.input_only:
        yield Punch(
            PunchClass.INCOMPLETE,
            f"Only an input is read ({met.switch}): nothing shows that the printer acts on it.",
            "Have the printer's own detection watch this input, then run this again by its own source.",
        )
