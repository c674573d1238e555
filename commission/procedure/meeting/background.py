"""What is known of a printer before a run begins: handed to the procedure, which reads no book beyond its findings."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from commission.evidence.sensor_phase import phase_of, plain_phase
from commission.judge.trial_series import NOTHING_SO_FAR, SeriesSoFar
from commission.procedure.meeting.identity import PrinterMarks, Surroundings
from commission.procedure.meeting.next_check import Calendar
from commission.procedure.meeting.unsafe import NOTHING_STANDS, OnRecord, RaisedBefore


@dataclass(frozen=True)
class Continuation:
    """The run that is taken up again.

    Attributes:
        run: its number.
        broken_off_at: wall time of its last entry, ISO 8601.
        why: what became of it.
        done: the phases that came to their own end, in order.
        marks: of the printer it was done on; None when it did not get so far.
        settings_digest: of its last settings report; empty when none was read, or the run changed settings after it.
        unsafe: the open items of class A that it raised.
    """

    run: str
    broken_off_at: str
    why: str
    done: Collection[str]
    marks: PrinterMarks | None = None
    settings_digest: str = ""
    unsafe: tuple[RaisedBefore, ...] = ()


@dataclass(frozen=True)
class SeriesOnRecord:
    """The series of trials that a run goes on with.

    Attributes:
        now: as it stands.
        at_start: as it stood when a done phase of the run that is taken up began, by the phase's name.
        by_sensor: as it stands, of each sensor that has a series of its own.
    """

    now: SeriesSoFar = NOTHING_SO_FAR
    at_start: Mapping[str, SeriesSoFar] = field(default_factory=dict)
    by_sensor: Mapping[str, SeriesSoFar] = field(default_factory=dict)

    def of_sensor(self, sensor: str) -> "SeriesOnRecord":
        """The same of one of several sensors."""
        plain = {name: plain_phase(name) for name in self.at_start}
        at_start = {plain[name]: self.at_start[name] for name in plain if name == phase_of(plain[name], sensor)}
        return SeriesOnRecord(self.by_sensor.get(sensor, NOTHING_SO_FAR), at_start)

    def for_phase(self, name: str, *, stands: bool) -> SeriesSoFar:
        """What the trials of that phase are counted with: of one that stands, as it was then."""
        return self.at_start.get(name, self.now) if stands else self.now


NO_SERIES = SeriesOnRecord()


@dataclass(frozen=True)
class Background:
    """What a run begins with.

    Attributes:
        surroundings: tag, port and neighbours, for telling the printer from others.
        calendar: what the next date is worked out from.
        continuation: the broken-off run that is taken up again; None for one from the start.
        series: of the printer's trials, as the record has them.
        on_record: what earlier runs found unsafe, and this one does not clear.
        prove: show the tag on the printer's display first.
        sensors: the printer's sensors, where several were tested together last; else empty.
    """

    surroundings: Surroundings
    calendar: Calendar
    continuation: Continuation | None = None
    series: SeriesOnRecord = NO_SERIES
    on_record: OnRecord = NOTHING_STANDS
    prove: bool = False
    sensors: tuple[str, ...] = ()
