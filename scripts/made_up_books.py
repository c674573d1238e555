"""Writes record books of made-up workshops, the same for the same seed: for benches, and for eyes that look at lists.

    python scripts/made_up_books.py FILE [--printers 20] [--checks 50] [--entries 12] [--seed 1]

Each printer is installed on one of the first days and then checked, mostly briefly. Some checks fail, leave an item of
class A, or are broken off; some are unattended; some agree on dates; now and then somebody writes a note. Every entry
goes through the code that writes a real one, and the chain is whole. No printer and no person in it exists.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from commission.clock import SystemClock
from commission.evidence.codec import written
from commission.evidence.entry import Entry
from commission.evidence.findings.meeting import Consent, NextCheck, PrinterMarks
from commission.evidence.found import Established
from commission.evidence.measured import Readings, TimedReading, Trial
from commission.evidence.runs import RULES, Note, PhaseEnded, PhaseStarted, RunEnded, RunStarted
from commission.evidence.talk import Punched
from commission.link.identity import PortIdentity
from commission.records.book import Book
from commission.records.chain import Row, canonical, link_row
from commission.records.notes import NUISANCE, REMARK
from commission.records.purposes import BRIEF_CHECK, CONDITION_CHECK, FULL_CHECK, INSTALL
from commission.vocabulary import Instruction, Outcome, Presence, PunchClass, Reading, Verdict

FIRST_DAY = datetime(2031, 3, 14, 8, 0, tzinfo=UTC)
AT_ONCE = 5_000
PEOPLE = ("R. Okafor", "M. Lindqvist", "T. Abara")


@dataclass(frozen=True)
class Workshop:
    """What is made up.

    Attributes:
        printers: how many.
        checks: runs of each, the installation among them.
        entries: of each run; the least is six.
        seed: where chance begins.
    """

    printers: int
    checks: int
    entries: int = 12
    seed: int = 1


def write_book(place: Path, workshop: Workshop) -> int:
    """Write the book, and return how many runs it has.

    Raises:
        BookError: the file cannot be written.
    """
    rows: list[Row] = []
    newest: Row | None = None
    with Book(place, SystemClock()) as book:
        for run, at, entry in _entries(workshop):
            newest = link_row(
                newest, run=run, kind=entry.kind(), at=at, elapsed_us=0, payload=_payload(entry), raw=None
            )
            rows.append(newest)
            if len(rows) >= AT_ONCE:
                book.receive(rows)
                rows = []
        book.receive(rows)
    return workshop.printers * workshop.checks


@cache
def _same_again(entry: Entry) -> str:
    return canonical(written(entry))


def _payload(entry: Entry) -> str:
    return _same_again(entry) if isinstance(entry, Trial) else canonical(written(entry))


def _entries(workshop: Workshop) -> Iterator[tuple[str, str, Entry]]:
    """Run, wall time and entry, in the order of the days."""
    chance = Random(f"workshop/{workshop.seed}")  # noqa: S311 - repeatable on purpose
    for count in range(workshop.checks):
        day = FIRST_DAY + timedelta(days=28 * count)
        for number in range(1, workshop.printers + 1):
            tag = f"bench-{number}"
            at = day + timedelta(seconds=30_000 * number // workshop.printers)
            yield from _run(f"{tag}/{at.date().isoformat()}/1", tag, at, count, workshop.entries, chance)
            if chance.random() < 0.02:
                what = chance.choice((NUISANCE, REMARK))
                note = Note(tag_of_printer=tag, what=what, text="Seen in the morning.", person=chance.choice(PEOPLE))
                yield f"{tag}/notes", _time(at, 60), note


def _run(
    run: str, tag: str, at: datetime, count: int, entries: int, chance: Random
) -> Iterator[tuple[str, str, Entry]]:
    (later,) = chance.choices((BRIEF_CHECK, CONDITION_CHECK, FULL_CHECK), (60, 30, 10))
    (verdict,) = chance.choices((Verdict.PASS, Verdict.CONDITIONAL, Verdict.FAIL), (92, 4, 4))
    purpose = later if count else INSTALL
    told: list[Entry] = [
        RunStarted(number=run, tag=tag, purpose=purpose, operator=chance.choice(PEOPLE), port=f"/dev/made-up-{tag}"),
        _marks(tag),
        PhaseStarted(name="loop_check", title="Loop check"),
    ]
    told += [_trial(turn) for turn in range(max(0, entries - 6))]
    told.append(PhaseEnded(name="loop_check"))
    if verdict is Verdict.FAIL and chance.random() < 0.5:
        told.append(Punched(grade=PunchClass.UNSAFE, text="The cable at the sensor is worn through."))
    if chance.random() < 0.3:
        told.append(_agreed(at, chance))
    if count == 0:
        told.append(Established.of(Consent(granted=True, by=PEOPLE[0], sentences=("Consent was given.",))))
    if chance.random() < 0.97:
        told.append(RunEnded(outcome=Outcome.COMPLETE, verdict=verdict, rules=RULES))
    for second, entry in enumerate(told):
        yield run, _time(at, second), entry


def _time(at: datetime, seconds: int) -> str:
    return (at + timedelta(seconds=seconds)).isoformat(timespec="milliseconds")


def _marks(tag: str) -> Entry:
    port = PortIdentity("", "", "", f"/dev/made-up-{tag}")
    firmware = "ExampleFW 77.4-bench"
    return Established.of(
        PrinterMarks(
            port=port, uuid="", firmware=firmware, machine="Bench", match="as before", tag=tag, firmware_changed=False
        )
    )


@cache
def _trial(number: int) -> Entry:
    """One that reads right, of a second in which the hand acts and two of a dwell."""
    comes_in = number % 2 == 0
    before, after = (Reading.INACTIVE, Reading.ACTIVE) if comes_in else (Reading.ACTIVE, Reading.INACTIVE)
    return Trial(
        number=number + 1,
        cycle=number // 2 + 1,
        instruction=Instruction.INSERT if comes_in else Instruction.WITHDRAW,
        presence=Presence.IN if comes_in else Presence.OUT,
        switch="filament",
        countdown_s=1.0,
        readings=21,
        dwell_s=2.0,
        before=_readings(0.0, 5, before) + _readings(0.5, 5, after),
        dwell=_readings(1.0, 21, after),
    )


def _readings(from_s: float, count: int, reading: Reading) -> Readings:
    word = "TRIGGERED" if reading is Reading.ACTIVE else "open"
    return tuple(TimedReading(round(from_s + 0.1 * each, 4), reading, word) for each in range(count))


def _agreed(at: datetime, chance: Random) -> Entry:
    brief, full = (at + timedelta(days=chance.choice(days)) for days in ((21, 28, 30), (120, 150, 180)))
    return Established.of(
        NextCheck(
            brief_due=brief.date().isoformat(),
            full_due=full.date().isoformat(),
            agreed=True,
            owners_own=False,
            basis="usual intervals",
        )
    )


def main() -> None:
    """Write a book."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("file", type=Path, help="the book; it must not be there yet")
    parser.add_argument("--printers", type=int, default=20)
    parser.add_argument("--checks", type=int, default=50)
    parser.add_argument("--entries", type=int, default=12)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    if options.file.exists():
        parser.error(f"{options.file} is there already: give another name.")
    count = write_book(options.file, Workshop(options.printers, options.checks, options.entries, options.seed))
    print(f"{count} made-up runs of {options.printers} printers in {options.file}")


if __name__ == "__main__":
    main()
