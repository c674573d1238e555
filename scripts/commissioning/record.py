"""Commissionings of several runs: each is written to a record book and taken up from it as the tool does."""

import heapq
import itertools
import random
from collections.abc import Callable, Collection, Iterator
from datetime import UTC, date, datetime, timedelta
from operator import attrgetter
from pathlib import Path
from typing import Any, NoReturn, TypeVar

from commission.asking import table
from commission.asking.request import Ask, Recall, Request
from commission.asking.reread import Reread
from commission.asking.response import Interruption, InterruptionKind
from commission.cli.background import background_of, plan_of
from commission.clock import Clock
from commission.conductor import evidence
from commission.conductor.ended import OUTCOMES
from commission.dialect.framing import RawLine
from commission.dialect.replies import classify
from commission.evidence.codec import written
from commission.evidence.entry import NOTHING_TOLD, About, Entry
from commission.evidence.findings.loop import Acceptance
from commission.evidence.runs import PhaseAbandoned, RunEnded, RunResumed, RunStarted
from commission.jobs.install import install_run
from commission.judge.advice import Advice
from commission.judge.plan import Plan
from commission.procedure.settings.record import Sheet
from commission.records.answers import given_in
from commission.records.book import Book, BookError
from commission.records.chain import Row, canonical, link_row
from commission.records.continuation import broken_off
from commission.records.history import newest_finding, runs
from commission.records.look import Looks
from commission.records.numbering import Numbering
from commission.records.reader import Reader
from commission.records.rows import Moment
from commission.session import End, Exchange
from commission.vocabulary import Outcome, Verdict
from scripts.commissioning.adapter import Adapter, Record
from scripts.commissioning.came import Came
from scripts.commissioning.hands import Hands
from scripts.commissioning.person import Cheat, Habits

_Beginning = TypeVar("_Beginning", RunStarted, RunResumed)
TAG, PORT, PURPOSE, OPERATOR = "bench-3", "simulated", "install", "R. Okafor"
TODAY = date(2031, 3, 14)
MOST_RUNS = 6
"""So often a person runs it again who wants a pass."""
MOST_SITTINGS = 40
"""So often a person stops and takes it up again."""
ENDS = {"complete": Outcome.COMPLETE} | {kind.value: outcome for kind, outcome in OUTCOMES.items()}
NOWHERE = Path("pages-in-memory")
"""Where the file of a book without a file would lie."""
MARKS = tuple(kind.kind() for kind in (RunStarted, RunResumed, RunEnded))
ANSWERS = {
    "M115": ("FIRMWARE_NAME:ExampleFW 102.1.2 MACHINE_TYPE:Bench 3 EXTRUDER_COUNT:1", "Cap:RUNOUT:1"),
    "M119": ("Reporting endstop status", "x_min: open", "filament: open"),
    "M412": ("echo:Filament runout ON ; Distance 20.00mm ; Host handling OFF",),
}
"""What this printer answers to the questions before the loop check; made up."""


class PlantClock:
    """The plant's own time, with a wall that began at 9:26:53 UTC on 14 March 2031."""

    def __init__(self, hands: Hands) -> None:
        self._plant = hands.plant

    def monotonic(self) -> float:
        """Seconds of simulated time."""
        return self._plant.now

    def now(self) -> datetime:
        """The wall time in the simulation."""
        return datetime(2031, 3, 14, 9, 26, 53, tzinfo=UTC) + timedelta(seconds=self._plant.now)

    async def sleep(self, seconds: float) -> None:
        """Let the plant's time pass."""
        self._plant.pass_s(seconds)


class InMemory(Reader):
    """Finds the rows of such a book: without lines of `facts`, from the rows themselves."""

    def __init__(self, kept: list[Row], by_kind: dict[str, list[Row]]) -> None:
        super().__init__(_no_database, indexed=False, numbering=Numbering())
        self._kept = kept
        self._by_kind = by_kind

    def rows(self, runs: Collection[str] | None, kinds: Collection[str]) -> Iterator[Row]:
        """Rows in order; of some runs or all, of some kinds or all."""
        of_each = [self._by_kind.get(kind, []) for kind in kinds]
        found = heapq.merge(*of_each, key=attrgetter("sequence")) if kinds else self._kept
        return iter([row for row in found if runs is None or row.run in runs])

    def at(self, places: Collection[int]) -> Iterator[Row]:
        """The rows at these places, in order."""
        return (self._kept[place - 1] for place in sorted(places))


def _no_database() -> NoReturn:
    raise NotImplementedError("a book in memory is asked for its rows alone")


class Pages(Book):
    """A record book whose pages stay in memory: chained and read as on the disk, and six times as quick."""

    def __init__(self, clock: Clock) -> None:
        self.path = NOWHERE  # runs are looked for there that a process is at work on: there are none
        self._clock = clock
        self._opened_s = 0.0
        self._looks = Looks()
        self._kept: list[Row] = []
        self._by_kind: dict[str, list[Row]] = {}
        self._known = InMemory(self._kept, self._by_kind)

    def append(
        self,
        run: str,
        entry: Entry,
        about: About = NOTHING_TOLD,
        raw: bytes = b"",
        moment: Moment | None = None,
    ) -> Row:
        """Link one entry to the newest and keep it.

        Raises:
            BookError: it is a second end of a run.
        """
        marks = (row.kind for row in reversed(self._kept) if row.run == run and row.kind in MARKS)
        if isinstance(entry, RunEnded) and next(marks, "") == RunEnded.kind():
            raise BookError(f"The run {run} has come to its end already.")
        happened = moment or self.moment()
        row = link_row(
            self._kept[-1] if self._kept else None,
            run=run,
            kind=entry.kind(),
            at=happened.at,
            elapsed_us=happened.elapsed_us,
            payload=canonical(written(entry, about)),
            raw=raw or None,
        )
        self._kept.append(row)
        self._by_kind.setdefault(row.kind, []).append(row)
        return row

    def start_run(self, tag: str, day: date, begin: Callable[[str], RunStarted], about: About = NOTHING_TOLD) -> Row:
        """Begin a run under the first number of that day that is free."""
        taken = {row.run for row in self._kept}
        numbers = (f"{tag}/{day.isoformat()}/{count}" for count in itertools.count(1))
        number = next(number for number in numbers if number not in taken)
        return self.append(number, begin(number), about)

    def goes_on_here(self, run: str) -> bool:  # noqa: ARG002 - the interface
        """Whether its chain is this bench's own: there is no other one."""
        return True

    def close(self) -> None:
        """There is no file."""


class Written(Record):
    """The evidence of one run, in a book."""

    def __init__(self, book: Book, run: str, hands: Hands) -> None:
        self._book = book
        self._run = run
        self._plant = hands.plant

    def before(self, request: Request) -> None:
        """Write what is asked."""
        self.write(table.before(request))

    def after(self, request: Request, response: Any) -> None:
        """Write what came of it."""
        entry = table.after(request, response)
        if entry is not None:
            self.write(entry)

    def instead(self, request: Request, broken: Interruption) -> None:
        """Write what came instead."""
        self.write(evidence.instead(broken, request))

    def abandoned(self, phase: str, broken: Interruption) -> None:
        """Write that a phase was broken off."""
        self.write(PhaseAbandoned(name=phase, why=broken.kind.value))

    def read(self, request: Recall | Reread) -> Any:
        """Read back from the book."""
        if isinstance(request, Reread):
            return given_in(self._book, self._run, request.phase)
        earlier = [run.number for run in runs(self._book, TAG) if run.number != self._run]
        return newest_finding(self._book, request.kind, earlier if request.earlier else [self._run])

    def ask(self, request: Ask) -> Exchange:
        """The printer's answer to a question."""
        replies = tuple(classify(RawLine.of(line)) for line in ANSWERS[request.command.text])
        at_s = self._plant.now
        return Exchange(request.command, replies, (), End.ACKNOWLEDGED, at_s, at_s)

    def write(self, entry: Entry) -> None:
        """Append one entry."""
        self._book.append(self._run, entry)


def commission(hands: Hands, chance: random.Random) -> Came:
    """Commission the unit in as many runs as this person makes of it; what the last one came to."""
    with Pages(PlantClock(hands)) as book:
        return commission_in(book, hands, chance)


def commission_in(book: Book, hands: Hands, chance: random.Random) -> Came:
    """The same in a book of the caller's, which may be one on the disk."""
    came, whole = _sit(book, hands, chance, Advice.NONE), 1
    for _ in range(MOST_SITTINGS):
        if not _goes_on(hands.person.habits, came, whole):
            break
        whole += came.result is not None
        came = _sit(book, hands, chance, Advice.NONE if came.result is None else came.result.repair)
    return came


def _goes_on(habits: Habits, came: Came, whole: int) -> bool:
    """Whether this person makes one more run of it, having made so many whole ones."""
    if came.ended == InterruptionKind.OPERATOR_STOP.value:
        return True
    failed = came.result is not None and came.verdict == Verdict.FAIL.value
    return failed and habits.cheat in (Cheat.AGAIN, Cheat.REPAIR) and whole < MOST_RUNS


def _sit(book: Book, hands: Hands, chance: random.Random, repair: Advice) -> Came:
    """One run, or the broken-off one taken up again."""
    broken = broken_off(book, TAG, PURPOSE)
    plan = Plan(seed=chance.randrange(2**32), own_pace=True) if broken is None else plan_of(broken)
    if broken is None:
        number = book.start_run(TAG, TODAY, lambda number: _beginning(RunStarted, number, plan)).run
    else:
        number = broken.number
        book.append(number, _beginning(RunResumed, number, plan))
    record = Written(book, number, hands)
    known = background_of(book, TAG, PORT, TODAY, broken=broken)
    came = Adapter(hands, record).drive(install_run(plan, OPERATOR, known, Sheet(TAG, TODAY.isoformat()), repair))
    judged = Acceptance.name()
    if came.result is not None and judged not in came.findings:  # the loop check stood from an earlier sitting
        stands = newest_finding(book, Acceptance, [number])
        came.findings[judged] = {} if stands is None else stands.values
    verdict = Verdict.NOT_JUDGED if came.result is None else came.result.verdict
    outcome = ENDS.get(came.ended, Outcome.INTERRUPTED)
    record.write(RunEnded(outcome=outcome, verdict=verdict, why=came.ended))
    return came


def _beginning(kind: type[_Beginning], number: str, plan: Plan) -> _Beginning:
    return kind(number=number, tag=TAG, purpose=PURPOSE, operator=OPERATOR, plan=plan)
