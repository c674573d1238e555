"""What was done, phase by phase, with times."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field

from commission.asking.message import Weight
from commission.evidence import runs, talk, wire
from commission.evidence.entry import Entry, Record
from commission.evidence.findings.base import Finding
from commission.evidence.findings.meeting import TakenOver
from commission.evidence.found import Established
from commission.evidence.measured import Moves, Trial, Watch
from commission.judge.wording import counted
from commission.report.document import Block, Paragraph, Section, Table
from commission.report.in_words import shown, words
from commission.report.record import RunFacts, clock_of

NOBODY_NAMED = "someone not named"
ESTABLISHED = "Established: "


HEAD = ("Phase", "Time, in the run's own zone", "Answers", "Commands", "What it came to")
ZONE = Paragraph("Times are those of the run's own zone.", "quiet")


def work_section(run: RunFacts) -> Section:
    """The run as it went, step by step; the trials are told once and stand in a table of their own."""
    parts = tuple(Section(f"work-{index}", stage.heading, stage.blocks) for index, stage in enumerate(_stages(run), 1))
    return Section("work", "What was done", (ZONE,), parts)


def work_in_short(run: RunFacts) -> Section:
    """The same with one line a phase."""
    rows = tuple(stage.line for stage in _stages(run) if stage.tells)
    return Section("work", "What was done", (Table("", HEAD, rows),) if rows else ())


def steps(run: RunFacts) -> Iterator[tuple[str, str, str]]:
    """Every step: its phase or what it lies between, its wall time, and what was done."""
    for stage in _stages(run):
        yield from ((stage.title, at, what) for at, what in stage.rows)


def _stages(run: RunFacts) -> list["_Stage"]:
    """Every phase, and what was done before, between and after them; each has its own name."""
    course = _Course()
    for record in run.records:
        course.take(record)
    told = [stage for stage in course.stages if stage.rows or stage.began]
    phases = [stage.title if stage.began else "" for stage in told]
    for place, stage in enumerate(told):
        if not stage.began:
            before = next(filter(None, reversed(phases[:place])), "")
            after = next(filter(None, phases[place + 1 :]), "")
            stage.title = _between(before, after)
    return told


def _between(before: str, after: str) -> str:
    """What it is called by the phases before and after it, each without what its title explains."""
    if before and after:
        return f"Between {_named(before)} and {_named(after)}"
    if after or not before:
        return "Before the first phase"
    return f"After {_named(before)}"


def _named(title: str) -> str:
    return f"'{_without_explanation(title)}'"


def _without_explanation(title: str) -> str:
    return title.partition(": ")[0]


@dataclass
class _Stage:
    """A phase with the time from its beginning to its end, or what lies between two, with neither."""

    title: str
    began: str = ""
    ended: str = ""
    rows: list[tuple[str, str]] = field(default_factory=list)
    trials: int = 0
    answers: int = 0
    commands: int = 0
    established: list[str] = field(default_factory=list)
    events: list[str] = field(default_factory=list)

    @property
    def heading(self) -> str:
        """The title with the time it took."""
        if not self.began:
            return self.title
        until = f" to {self.ended}" if self.ended else ", without an end"
        return f"{self.title} ({self.began}{'' if self.ended == self.began else until})"

    @property
    def tells(self) -> bool:
        """Whether it is worth a line: a phase, or something that came to more than answers to what to do next."""
        return bool(self.began or self.commands or self.established or self.events)

    @property
    def line(self) -> tuple[str, str, str, str, str]:
        """The whole of it in one row of a table."""
        first, last = (self.rows[0][0], self.rows[-1][0]) if self.rows else (self.began, self.ended)
        began, ended = self.began or first, self.ended or ("" if self.began else last)
        when = f"{began} to {ended}" if ended and ended != began else began if ended else f"{began}, without an end"
        said = [f"{counted(self.trials, 'trial')}"] if self.trials else []
        said += [", ".join(dict.fromkeys(self.established))] if self.established else []
        title = _without_explanation(self.title) if self.began else self.title
        return title, when, str(self.answers), str(self.commands), "; ".join([*said, *self.events]) or "nothing"

    @property
    def blocks(self) -> tuple[Block, ...]:
        """What was done in it."""
        if not self.rows:
            return (Paragraph("Nothing was asked, sent or found in it.", "quiet"),)
        return (Table("", ("Time", "What was done"), tuple(self.rows)),)

    def count(self, entry: Entry) -> None:
        """What its one line tells of an entry."""
        self.trials += isinstance(entry, Trial)
        self.answers += isinstance(entry, talk.Answered | talk.ReleaseAnswered | talk.HoldReleased)
        self.commands += isinstance(entry, wire.Intent)
        match entry:
            case Established():
                self.established.append(_name(entry.finding))
            case talk.Punched():
                self.events.append(f"open item, class {entry.grade.value}")
            case runs.Interrupted():
                self.events.append(f"interruption: {entry.what}")
            case runs.RunResumed():
                self.events.append(f"the run was taken up again by {entry.operator or NOBODY_NAMED}")
            case runs.PhaseAbandoned():
                self.events.append(f"abandoned: {entry.why}")


class _Course:
    """Takes the records in order and keeps what is told of them."""

    def __init__(self) -> None:
        self.stages = [_Stage("")]
        self._asked: dict[str, str] = {}
        self._establishing = False
        self._power_off = False

    def take(self, record: Record[Entry]) -> None:
        """Tell one record, or keep it for the one that answers it."""
        entry, clock = record.entry, clock_of(record)
        if isinstance(entry, runs.PhaseStarted):
            self.stages.append(_Stage(entry.title, began=clock))
        stage = self.stages[-1]
        stage.count(entry)
        if said := self._said(entry, stage):
            self._add(stage, clock, said, establishing=isinstance(entry, Established))
        if isinstance(entry, runs.PhaseEnded | runs.PhaseAbandoned):
            stage.ended = clock
            self.stages.append(_Stage(""))

    def _add(self, stage: _Stage, clock: str, said: str, *, establishing: bool) -> None:
        """What is established in a row is told in one sentence."""
        if stage.rows and establishing and self._establishing:
            said = f"{stage.rows.pop()[1].removesuffix('.')}, {said.removeprefix(ESTABLISHED)}"
        stage.rows.append((clock, said))
        self._establishing = establishing

    def _said(self, entry: Entry, stage: _Stage) -> str:
        match entry:
            case Trial():
                return "The first trial was taken; the table of trials has them all." if stage.trials == 1 else ""
            case talk.Asked():
                self._asked[entry.key] = entry.question
            case talk.ReleaseAsked():
                self._asked[entry.key] = f"Release: {entry.title}?"
            case talk.HoldOpened():
                self._power_off = entry.power
            case talk.HoldReleased():
                return _released(entry, power_off=self._power_off)
            case talk.Answered():
                return f"{self._question(entry.key)} Answer: {shown(entry.answer).rstrip('.')}."
            case talk.ReleaseAnswered():
                return f"{self._question(entry.key)} Answer: {shown(entry.granted)}."
        return _told(entry)

    def _question(self, key: str) -> str:
        return self._asked.get(key, f"{key}:")


def _told(entry: Entry) -> str:  # noqa: C901, PLR0911, PLR0912 - one case a kind
    """What is told of an entry; empty for one that is told with what answers it, or elsewhere in the report."""
    match entry:
        case runs.RunResumed():
            return f"The run was taken up again by {entry.operator or NOBODY_NAMED}."
        case runs.PhaseAbandoned():
            return f"The phase was abandoned: {entry.why}."
        case runs.Opening():
            return f"Port {entry.port} was to be opened."
        case runs.Opened():
            return _opened(entry)
        case talk.Told(weight=Weight.DANGER.value):
            # everything else that was told stands in the report as a caution, the plan or a finding
            return " ".join([f"Told, as a danger: {entry.heading}".rstrip(": "), *entry.lines])
        case wire.Intent():
            return f"Sent {entry.command}: {entry.purpose} ({entry.effect.value})."
        case Watch():
            return f"Watched: {entry.title}; {len(entry.readings)} readings."
        case Moves():
            done = f"{len(entry.moves)} acknowledged over {entry.taken_s:.1f} s"
            return f"Test moves: {done}; they ended: {entry.end}."
        case wire.Heard():
            return _heard(entry)
        case talk.HoldOpened():
            return " ".join([f"Hold point: {entry.title}.", *entry.steps])
        case talk.FileKept():
            return f"File kept: {entry.path} ({entry.bytes} bytes, SHA-256 {entry.sha256})."
        case talk.Fingerprinted():
            return f"File named by its digest: {_file(entry.file)}."
        case Established():
            return f"{ESTABLISHED}{_name(entry.finding)}."
        case talk.Punched():
            return f"Open item, class {entry.grade.value}: {entry.text}"
        case runs.Interrupted():
            return f"Interruption: {entry.what}. {entry.detail}".strip()
        case runs.MadeSafe():
            return f"On the way out: {entry.way_out.sentence}"
    return ""


def _opened(entry: runs.Opened) -> str:
    speed = f" at {entry.speed_baud} Bd" if entry.speed_baud else ""
    return f"Port {entry.port} answered{speed}.{' The board restarted on opening.' if entry.restarted else ''}"


def _released(held: talk.HoldReleased, *, power_off: bool) -> str:
    """Where the power was to be off, what of it was seen; that nothing was is said too."""
    port = f" The printer answered on {held.port}." if held.port else ""
    same = "" if held.same_identity else " It announces itself differently than before."
    seen = f" Power: {held.power.value}." if power_off or held.restarted or held.port_gone else ""
    lost = " It had lost its count of lines." if held.count_lost else ""
    return f"Hold point released by the operator.{seen}{port}{same}{lost}"


def _file(file: talk.FileMark | None) -> str:
    """As the record has it, in alphabetical order."""
    if file is None:
        return shown(None)
    return shown({"bytes": file.bytes, "name": file.name, "place": file.place, "sha256": file.sha256})


def _name(finding: Finding) -> str:
    return f"{finding.phase} taken over" if isinstance(finding, TakenOver) else words(finding.name())


def _heard(entry: wire.Heard) -> str:
    """What was heard, the same thing over and over only once, with how often."""
    heard = Counter((sign.sign, sign.text) for sign in entry.signs)
    said = [f"{', '.join(what)}{f' ({times} times)' if times > 1 else ''}" for what, times in heard.items()]
    return f"Heard: {'; '.join(said)}." if said else "Listened; nothing was heard."
