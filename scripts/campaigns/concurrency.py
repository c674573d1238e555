"""Many programs on one record book: no number given twice, no entry lost, one run at a time on a printer.

Usage: python3 scripts/campaigns/concurrency.py [--quick] [--seed N]

Five trials, each with real processes that wait for one signal and then go at once:

- one printer: the same command starts many times; one run at a time gets through, the others are refused with 8;
- many printers: the command starts on a tag of its own each; nobody is refused;
- numbers: processes begin runs on one tag with no lock at all; the book alone keeps the numbers apart;
- readers: many read and verify the whole book while one writes; every look finds a whole chain that only grows, and
  every entry that was acknowledged is there;
- kills: the process that holds a printer's lock is killed; the next one has the lock at once.
"""

from __future__ import annotations

import itertools
import json
import random
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from scripts.campaigns._shape import Result, main, own_environment
from scripts.campaigns._together import COMMAND, HOLDER, NUMBERS, READER, WRITER, Together

if TYPE_CHECKING:
    from commission.records.chain import Row

NAME = "concurrency"
CAPTURE = (
    "echo:Steps per unit:\necho:  M92 X80.00 Y80.00 Z400.00 E97.50\n"
    "echo:Highest speeds:\necho:  M203 X250.00 Y250.00 Z9.00 E40.00\n"
    "echo:Highest accelerations:\necho:  M201 X1200 Y1200 Z90 E4500\n"
    "echo:Accelerations:\necho:  M204 P700.00 R900.00 T700.00\n"
    "echo:Jerk:\necho:  M205 X10.00 Y10.00 Z0.40 E5.00\n"
    "echo:Home offset:\necho:  M206 X0.00 Y0.00 Z0.00\nok\n"
)


@dataclass
class Score:
    """What had to hold, and what did not."""

    tried: int = 0
    broken: list[str] = field(default_factory=list)
    lines: list[str] = field(default_factory=list)

    def hold(self, what: str, *, held: bool) -> None:
        """Count one thing that had to hold."""
        self.tried += 1
        if not held:
            self.broken.append(what)


def rows_of(place: Path) -> list[Row]:
    """The whole book."""
    from commission.clock import SystemClock
    from commission.records.book import Book

    with Book(place, SystemClock()) as book:
        return list(book.rows())


def is_whole(rows: Sequence[Row]) -> bool:
    """Whether the chain of the book is."""
    from commission.records.chain import check_chain

    return not check_chain(rows)


def started(folder: Path, tags: Sequence[str]) -> list[int]:
    """Start the command once for each tag, all at once; the codes they end with."""
    (folder / "capture.txt").write_text(CAPTURE)
    words = [("backup", tag, "--from", "capture.txt", "--book", "book.sqlite3", "--reports", "reports") for tag in tags]
    with Together(COMMAND, folder, words) as together:
        together.go()
        return [code for code, _, _ in together.wait()]


def one_printer(folder: Path, count: int, score: Score) -> None:
    """Many starts on one tag, on a book that is not there yet."""
    from commission.cli.exit_codes import PASSED, UNDER_WAY

    codes = Counter(started(folder, ["bench-3"] * count))
    rows = rows_of(folder / "book.sqlite3")
    begun = [row.run for row in rows if row.kind == "run_started"]
    ended = [row.run for row in rows if row.kind == "run_ended"]
    score.hold("each start ends with pass or under way", held=set(codes) <= {PASSED, UNDER_WAY})
    score.hold("one start gets through", held=codes[PASSED] >= 1)
    score.hold("each run that got through is in the book", held=codes[PASSED] == len(begun))
    for number, times in Counter(begun).items():
        score.hold(f"{number} is given once", held=times == 1)
        score.hold(f"{number} has one end", held=ended.count(number) == 1)
    apart = [number for number, _ in itertools.groupby(row.run for row in rows)]
    score.hold("one run at a time", held=len(apart) == len(set(apart)))
    score.hold("the chain is whole", held=is_whole(rows))
    score.lines.append(
        f"one printer: {count} starts, {codes[PASSED]} runs one after the other, {codes[UNDER_WAY]} refused"
    )


def many_printers(folder: Path, count: int, score: Score) -> None:
    """As many starts, each on a tag of its own."""
    from commission.cli.exit_codes import PASSED

    codes = started(folder, [f"bench-{number}" for number in range(count)])
    rows = rows_of(folder / "book.sqlite3")
    for number, code in enumerate(codes):
        score.hold(f"bench-{number} is not refused, but ended with {code}", held=code == PASSED)
    score.hold("each has its run", held=count == len({row.run for row in rows if row.kind == "run_ended"}))
    score.hold("the chain is whole", held=is_whole(rows))
    score.lines.append(f"many printers: {count} starts, {codes.count(PASSED)} passed")


def numbers(folder: Path, count: int, each: int, score: Score) -> None:
    """Beginnings on one tag without any lock."""
    place = folder / "book.sqlite3"
    with Together(NUMBERS, folder, [(str(place), str(each))] * count) as together:
        together.go()
        said = together.wait()
    given = [number for _, out, _ in said for number in out.split()]
    rows = rows_of(place)
    for code, _, error in said:
        score.hold(f"a process that begins runs ends well: {error[-300:]}", held=code == 0)
    score.hold("no number is given twice", held=len(given) == len(set(given)) == count * each)
    score.hold("each given number is in the book", held=sorted(given) == sorted(row.run for row in rows))
    score.hold("the chain is whole", held=is_whole(rows))
    score.lines.append(f"numbers: {count} processes, {len(given)} numbers given, {len(set(given))} different")


def readers(folder: Path, count: int, writes: int, score: Score) -> None:
    """Many readers beside one writer."""
    place, stop = folder / "book.sqlite3", folder / "stop"
    rows_of(place)
    with (
        Together(READER, folder, [(str(place), str(stop))] * count) as reading,
        Together(WRITER, folder, [(str(place), str(writes))]) as writing,
    ):
        reading.go()
        writing.go()
        ((code, out, error),) = writing.wait()
        stop.touch()
        looked = reading.wait()
    acknowledged, kept = out.split(), [row.digest for row in rows_of(place)]
    score.hold(f"the writer ends well: {error[-300:]}", held=code == 0)
    score.hold("every acknowledged entry is there", held=acknowledged == kept and len(kept) == writes)
    total = 0
    for reader_code, said, complaint in looked:
        looks = json.loads(said or "[]") if reader_code == 0 else []
        total += len(looks)
        score.hold(f"a reader ends well: {complaint[-300:]}", held=reader_code == 0)
        score.hold("every look finds a whole chain", held=all(faults == 0 for _, faults in looks))
        lengths = [length for length, _ in looks]
        score.hold("what was seen once stays", held=lengths == sorted(lengths))
    score.lines.append(f"readers: {count} beside one writer of {writes} entries, {total} looks at the whole book")


def kills(folder: Path, count: int, chance: random.Random, score: Score) -> None:
    """The holder of the lock is killed, again and again."""
    from commission.records.run_lock import run_under_way

    place = folder / "book.sqlite3"
    rows_of(place)
    for turn in range(count):
        with Together(HOLDER, folder, [(str(place),)]) as holder:
            held = run_under_way(place, "bench-3") == "bench-3/2031-03-14/1" and _refused(place)
            score.hold(f"turn {turn}: while it is held a second run is refused", held=held)
            time.sleep(chance.uniform(0, 0.05))
            holder.kill()
            score.hold(f"turn {turn}: killed, it is free at once", held=not _refused(place))
    score.lines.append(f"kills: {count} holders of a lock killed")


def _refused(place: Path) -> bool:
    from commission.records.run_lock import RunLock, RunUnderWay

    try:
        with RunLock(place, "bench-3"):
            return False
    except RunUnderWay:
        return True


def run(*, quick: bool, seed: int) -> Result:
    """The whole campaign.

    Args:
        quick: fewer processes, for every day.
        seed: of the times at which holders are killed; how processes meet is the system's affair.
    """
    score, chance = Score(), random.Random(seed)  # noqa: S311 - repeatable on purpose
    starts, each, readings, writes, turns = (6, 5, 4, 100, 5) if quick else (24, 20, 8, 1000, 40)
    with tempfile.TemporaryDirectory() as folder:
        places = [Path(folder) / name for name in ("one", "many", "numbers", "readers", "kills")]
        for place in places:
            place.mkdir()
        one_printer(places[0], starts, score)
        many_printers(places[1], starts, score)
        numbers(places[2], starts, each, score)
        readers(places[3], readings, writes, score)
        kills(places[4], turns, chance, score)
    lines = (*score.lines, *(f"BROKEN: {what}" for what in score.broken))
    broken = len(score.broken)
    return Result(NAME, score.tried, score.tried - broken, broken, seed, lines)


if __name__ == "__main__":
    own_environment()
    main(run)
