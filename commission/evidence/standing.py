"""What stands of what was recorded: the one rule, fed the records in the order of the book.

Of every trial, watch, series of test moves, power-up and finding it says whether it counts, and why not. Who judges,
compares, diagnoses or reports reads this and decides nothing of it again, so that two of them cannot differ. A later
record can change what was decided: a phase that is carried out again takes back all that it had shown before.

The series of trials has its place here too, in `Standing`: which of a printer's runs are counted together needs the
records of all of them, and the number of their wiring.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import TypeVar, cast

from commission.evidence.entry import AnyRecord, Entry, Record
from commission.evidence.exposed import MOVING, WIGGLE, exposed_of
from commission.evidence.findings import loop
from commission.evidence.findings.base import Finding
from commission.evidence.findings.meeting import IdentityAfterReflash, Repair
from commission.evidence.findings.several import SensorBegun, SensorsJudged
from commission.evidence.found import Established
from commission.evidence.measured import Moves, Trial, Watch
from commission.evidence.runs import REWIRING, Note, PhaseStarted, RunResumed, RunStarted, tag_in
from commission.evidence.soaked import SoakStretch
from commission.evidence.stands import Item, PowerUp, Why
from commission.evidence.talk import HoldReleased
from commission.judge.nuisance import Exposed
from commission.judge.power import PowerSeen
from commission.judge.trial import Came, came_to
from commission.vocabulary import Reading, Spoken

_E = TypeVar("_E", bound=Entry)
_F = TypeVar("_F", bound=Finding)
LOOK = ".before"
"""How the key of a watch ends that only looks before something is begun."""
AT_BOARD, AT_SENSOR, MOVED = "unplugged", "far_end", "still_plugged"
"""What the keys of watches begin with while the sensor is unplugged: hands off, and while the filament is moved."""
TAKEN_BACK: tuple[tuple[type[Finding], str, Why], ...] = (
    (loop.WiggleSetAside, WIGGLE, Why.FILAMENT_OUT),
    (loop.WiggleLeftOut, WIGGLE, Why.LEFT_OUT),
    (loop.MovingWiggleSetAside, MOVING, Why.FILAMENT_OUT),
    (loop.MovingWiggleLeftOut, MOVING, Why.LEFT_OUT),
)
"""Findings that take back the watches, or the test moves, of this key before them in their phase."""

WHY = {Came.SET_ASIDE: Why.VOIDED, Came.DROPPED: Why.VOIDED, Came.UNREAD: Why.UNREAD, Came.LATE: Why.LATE}
"""Why the readings of a trial do not count that came to this."""


class RunStanding:
    """What stands of one run so far.

    Attributes:
        number: of the run.
        tag: the owner's name for the printer.
        wiring: how often the printer's wiring is known to have been changed before, or during, the run.
        power_ups: with the sensor unplugged, in order.
    """

    def __init__(self, number: str) -> None:
        self.number = number
        self.tag = tag_in(number)
        self.wiring = 0
        self.power_ups: list[PowerUp] = []
        self._items: list[Item[Entry]] = []
        self._phase = ""
        self._sensor = ""
        self._power = PowerSeen.WORD
        self._moves_filament = False

    def of(self, kind: type[_E]) -> list[Item[_E]]:
        """Everything of this kind, in order: trials, watches, test moves, or what was established."""
        return [cast("Item[_E]", item) for item in self._items if isinstance(item.entry, kind)]

    def newest(self, kind: type[_F]) -> _F | None:
        """The newest finding of this kind that counts; None where there is none."""
        found = [item.entry.finding for item in self.of(Established) if item.counts]
        return next((finding for finding in reversed(found) if isinstance(finding, kind)), None)

    def of_sensor(self, sensor: str) -> "RunStanding":
        """What stands of one of several sensors, and of what concerns them all."""
        part = RunStanding(self.number)
        part.tag, part.wiring = self.tag, self.wiring
        part._items = [item for item in self._items if item.sensor in ("", sensor)]
        part.power_ups = [each for each in self.power_ups if each.rest.sensor in ("", sensor)]
        return part

    def take(self, record: AnyRecord) -> None:
        """Take the run's next record; one that cannot be read shows nothing."""
        match record.entry:
            case RunStarted(tag=tag):
                self.tag = tag
            case RunResumed():
                self._sensor = ""
            case PhaseStarted(name=name):
                self._begin(name)
            case HoldReleased(power=power):
                self._power = power
            case Trial() as trial:
                if trial.void_before:
                    self._set_before_aside()
                self._keep(record, _why_not(trial, self._trials()))
            case Moves() | SoakStretch():
                self._keep(record)
            case Watch() as watch:
                why = Why.VOIDED if watch.void_reason else Why.LOOK if watch.key.endswith(LOOK) else None
                self._unplugged(cast("Item[Watch]", self._keep(record, why)))
            case Established(finding=finding):
                self._turn_to(finding)
                self._establish(finding)
                self._keep(record)

    def _turn_to(self, finding: Finding) -> None:
        """Several sensors are tested one after the other: what belongs to one takes nothing of another back."""
        match finding:
            case SensorBegun(sensor=sensor):
                self._sensor = sensor
            case SensorsJudged():
                self._sensor = ""

    def _keep(self, record: AnyRecord, why: Why | None = None) -> Item[Entry]:
        self._items.append(Item(cast("Record[Entry]", record), self._phase, why, self._sensor))
        return self._items[-1]

    def _begin(self, phase: str) -> None:
        """A phase that is carried out again is carried out whole; what it showed before is not pooled with it."""
        for item in self._inside(phase):
            item.take_back(Why.DONE_AGAIN)
        for power_up in self.power_ups:
            if power_up.rest.phase == phase:
                power_up.take_back(Why.DONE_AGAIN)
        self._phase = phase

    def _trials(self) -> list[Item[Trial]]:
        """Those of this phase so far, the newest last."""
        return [cast("Item[Trial]", item) for item in self._inside(self._phase) if isinstance(item.entry, Trial)]

    def _set_before_aside(self) -> None:
        """The newest trial was set aside during the next one; what read wrong counts all the same."""
        before = [item.entry.timed for item in self._trials()[-2:]]
        if before and self._trials()[-1].counts:
            aside = replace(before.pop(), spoken=Spoken.LATER)
            if came_to(aside, *before) is Came.DROPPED:
                self._trials()[-1].take_back(Why.VOIDED)

    def _inside(self, phase: str) -> list[Item[Entry]]:
        return [item for item in self._items if item.phase == phase]

    def _unplugged(self, watch: Item[Watch]) -> None:
        """A watch may begin a power-up, or be one of its moves."""
        if watch.entry.key.startswith((AT_BOARD, AT_SENSOR)):
            power_up = PowerUp(watch, watch.entry.key.startswith(AT_BOARD), self._power)
            if power_up.at_board and not self._moves_filament:
                power_up.conclude_as_before()
            self.power_ups.append(power_up)
        elif watch.entry.key.startswith(MOVED):
            self._conclusions_follow()
            if self.power_ups:
                self.power_ups[-1].moves.append(watch)

    def _conclusions_follow(self) -> None:
        """In this run a power-up is concluded by a finding: what its rest alone seemed to show is none yet."""
        if not self._moves_filament:
            self._moves_filament = True
            for power_up in self.power_ups:
                power_up.reopen()

    def _establish(self, finding: Finding) -> None:
        for kind, key, why in TAKEN_BACK:
            if isinstance(finding, kind):
                self._take_back(key, why)
        if finding.newest_stands:
            self._replace(type(finding))
        match finding:
            case loop.WiggleMisread() | loop.MovingWiggleMisread():
                self._look_counts()
            case loop.UnpluggedSetAside(key=key) if power_up := self._open(key):
                power_up.take_back(Why.FOLLOWED)
            case loop.UnpluggedAtBoard(readings=readings, watched=watched) if readings and watched:
                self._conclude(AT_BOARD, readings[-1], watched=watched[-1])
            case loop.UnpluggedAtSensor(reading=reading):
                self._conclude(AT_SENSOR, reading, watched=True)

    def _replace(self, kind: type[Finding]) -> None:
        for item in self.of(Established):
            if type(item.entry.finding) is kind and item.sensor == self._sensor:
                item.take_back(Why.REPLACED)

    def _conclude(self, key: str, reading: Reading, *, watched: bool) -> None:
        self._conclusions_follow()
        if power_up := self._open(key):
            power_up.conclude(reading, watched=watched)

    def _take_back(self, key: str, why: Why) -> None:
        for item in self._inside(self._phase):
            if isinstance(item.entry, Watch | Moves) and item.entry.key == key:
                item.take_back(why)

    def _look_counts(self) -> None:
        """Filament was in, so that what the look read is a misread."""
        looks = [item for item in self._inside(self._phase) if item.why is Why.LOOK]
        if looks:
            looks[-1].why = None

    def _open(self, key: str) -> PowerUp | None:
        """The newest power-up, if its key begins so and it was not concluded yet."""
        newest = self.power_ups[-1] if self.power_ups else None
        is_open = newest is not None and newest.why is Why.NOT_CONCLUDED and newest.rest.entry.key.startswith(key)
        return newest if is_open else None


def _why_not(trial: Trial, before: Sequence[Item[Trial]]) -> Why | None:
    """Why its readings do not count; one set aside later counts if it read wrong."""
    if trial.void_reason and trial.spoken is None:  # as runs wrote it before it was known when
        return Why.VOIDED
    came = came_to(trial.timed, before[-1].entry.timed if before else None)
    return WHY.get(came)


class Standing:
    """What stands of every run, over all printers of a book."""

    def __init__(self, records: Iterable[AnyRecord] = ()) -> None:
        self._runs: dict[str, RunStanding] = {}
        self._wirings: Counter[str] = Counter()
        self._changed: dict[str, int] = {}
        for record in records:
            self.take(record)

    def take(self, record: AnyRecord) -> None:
        """Take the next record of the book."""
        if isinstance(record.entry, Note):
            if record.entry.what == REWIRING:
                self._wirings[record.entry.tag_of_printer] += 1
                self._changed[record.entry.tag_of_printer] = record.sequence
            return
        run = self.run(record.run)
        run.take(record)
        match record.entry:
            case Established(finding=Repair()):
                self._wirings[run.tag] += 1
                self._changed[run.tag] = record.sequence
            case Established(finding=IdentityAfterReflash()):
                self._changed[run.tag] = record.sequence
        run.wiring = self._wirings[run.tag]

    def run(self, number: str) -> RunStanding:
        """The run of that number."""
        return self._runs.setdefault(number, RunStanding(number))

    def wiring(self, tag: str) -> int:
        """How often the printer's wiring is known to have been changed: by repairs, and as noted."""
        return self._wirings[tag]

    def changed_at(self, tag: str) -> int:
        """Place of the last recorded change of the printer's wiring or firmware; 0 for none."""
        return self._changed.get(tag, 0)

    def exposed(self, tag: str, sensor: str = "") -> list[Exposed]:
        """What was watched of a printer since the last recorded change of its wiring or firmware, as far as it counts.

        Watches without a wanted change, the machine moving, and soaks; see `judge.nuisance` for what may be added up.
        What was watched of one of several sensors is told of that one only.
        """
        since = self.changed_at(tag)
        return [
            each
            for run in self._runs.values()
            if run.tag == tag
            for item in run.of(Entry)
            if item.counts
            and item.sensor == sensor
            and item.record.sequence > since
            and (each := exposed_of(item.entry)) is not None
        ]
