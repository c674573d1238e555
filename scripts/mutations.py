"""Do the tests notice a slip? Mutates the code of some rooms, one place at a time, and runs the tests of the room.

    python3 scripts/mutations.py [--rooms evidence,procedure] [--count 30] [--seed 1] [--minutes 60] [--json FILE]

Mutants are drawn by chance from all there are in these rooms: comparisons, constants, boolean operators, arithmetic,
returns, and statements that are left out. All are tried in a copy of the tree, by tests of their own room alone. Which
of them run which lines is measured first, once for each room, while its tests are seen to pass. So a mutant is tried by
the tests that run its statement, the transcripts of the room and the quickest first, and then by those that start
another process, for what that one runs is not seen. What survives them has survived: no other test comes near it. What
is run as a module loads, or outside of the tests, any test could notice: it is tried by the tests that name its module,
and if it survives by the rest of its room. So is all of it with --no-check, which measures nothing.
Found means that a test fails; tests that take too long show nothing. A mutant that survives is a sentence that no test
says: write the test, or list it in scripts/mutation/equivalent.toml with the reason why nobody could see it.
Exit codes: 0 done; 1 the tests fail without any mutation; 2 wrong usage. --json writes one object:

    format      1
    seed, rooms what was drawn from
    found, survived, equivalent, not_tried   counts; not tried is what ran out of time
    mutants     a list in the order of trying, of each: path, line, kind, inside, before, after, outcome, by, seconds
"""

from __future__ import annotations

import argparse
import dataclasses
import json
import subprocess
import sys
import tempfile
import time
import tomllib
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from scripts._environment import ready
from scripts.mutation.mutants import Mutant, mutants
from scripts.mutation.trying import Copy, Outcome, TestsAlreadyFail, Tried

ROOT = Path(__file__).resolve().parent.parent
ROOMS = ("evidence", "procedure", "conductor", "records")
MOST, ONE_MUTANT_S = 1000, 900.0
HALF = "the tests that name its module pass; the rest of its room was not run"
WORDS = {"path", "inside", "before", "after", "why"}
"""What a mutant is listed with in equivalent.toml."""


def draw(root: Path, rooms: Sequence[str], count: int, seed: int) -> list[Mutant]:
    """So many different mutants of these rooms, all as likely; all of them where there are fewer."""
    files = sorted(path for room in rooms for path in (root / "commission" / room).rglob("*.py"))
    every = [mutant for path in files for mutant in mutants(path, root)]
    return Random(seed).sample(every, min(count, len(every)))  # noqa: S311 - repeatable on purpose


def equivalents(text: str) -> dict[str, str]:
    """The listed mutants that nobody could see, each with the reason.

    Raises:
        ValueError: another format, or an entry without its words.
    """
    data = tomllib.loads(text)
    entries = data.get("mutant", [])
    if data.get("format") != 1 or not all(set(each) == WORDS for each in entries):
        raise ValueError("equivalent.toml needs format = 1, and in each mutant: path, inside, before, after, why")
    return {f"{e['path']}: {e['inside']}: {e['before']} -> {e['after']}": e["why"] for e in entries}


def tried(copy: Copy, drawn: Sequence[Mutant], known: Mapping[str, str], most_s: float) -> Iterator[Tried]:
    """Try each by the tests that run its line, while there is time.

    Where none are known it is tried by those that name its module, and what is left in the end by the rest of its room.
    """
    until_s = time.monotonic() + most_s
    left = []
    for mutant in drawn:
        if mutant.key in known:
            yield Tried(mutant, Outcome.EQUIVALENT, known[mutant.key])
        elif time.monotonic() > until_s:
            yield Tried(mutant, Outcome.NOT_TRIED)
        elif (tests := copy.reaching(mutant)) is not None:
            yield copy.try_out(mutant, tests)
        elif (near := copy.try_out(mutant, copy.near(mutant))).outcome is Outcome.SURVIVED:
            left.append(mutant)
        else:
            yield near
    for mutant in left:
        in_time = time.monotonic() <= until_s
        yield copy.try_out(mutant, copy.rest(mutant)) if in_time else Tried(mutant, Outcome.NOT_TRIED, HALF)


def line(one: Tried) -> str:
    """A mutant with its outcome, for a person."""
    mutant = one.mutant
    by = f"   [{one.by}]" if one.by else ""
    return f"{one.outcome.value:10} {mutant.path}:{mutant.line}  {mutant.before}  ->  {mutant.after}{by}"


def as_json(seed: int, rooms: Sequence[str], done: Sequence[Tried]) -> str:
    """What came of it, for a program."""
    counts = Counter(one.outcome for one in done)
    fields = [{**dataclasses.asdict(one.mutant), "outcome": one.outcome.value} for one in done]
    found = {
        "format": 1,
        "seed": seed,
        "rooms": list(rooms),
        **{outcome.name.lower(): counts[outcome] for outcome in Outcome},
        "mutants": [{**each, "by": one.by, "seconds": one.seconds} for each, one in zip(fields, done, strict=True)],
    }
    return json.dumps(found, indent=1)


def main(arguments: Sequence[str], root: Path = ROOT) -> int:
    """Carry out what was asked for; the exit code is returned."""
    options = _options(arguments, root)
    known = equivalents((root / "scripts" / "mutation" / "equivalent.toml").read_text(encoding="utf-8"))
    drawn = draw(root, options.rooms, options.count, options.seed)
    done: list[Tried] = []
    with tempfile.TemporaryDirectory(prefix="mutations-") as folder, Copy(root, Path(folder), ONE_MUTANT_S) as copy:
        try:
            copy.check(sorted({Path(mutant.path).parts[1] for mutant in drawn}) if options.check else [])
        except TestsAlreadyFail as fail:
            print(fail, file=sys.stderr)
            return 1
        for one in tried(copy, drawn, known, 60 * options.minutes):
            done.append(one)
            print(line(one), flush=True)
    counts = Counter(one.outcome for one in done)
    print(", ".join(f"{counts[outcome]} {outcome.value}" for outcome in Outcome), f"(seed {options.seed})")
    if options.json is not None:
        options.json.write_text(as_json(options.seed, options.rooms, done), encoding="utf-8")
    return 0


def _options(arguments: Sequence[str], root: Path) -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n", 1)[0])
    parser.add_argument("--rooms", type=lambda text: text.split(","), default=list(ROOMS), help="with commas between")
    parser.add_argument("--count", type=int, default=30, help="how many mutants (default 30)")
    parser.add_argument("--seed", type=int, default=1, help="the same seed draws the same mutants (default 1)")
    parser.add_argument("--minutes", type=float, default=60, help="then no further one is begun (default 60)")
    parser.add_argument("--json", type=Path, help="write what came of it into this file")
    parser.add_argument(
        "--no-check", dest="check", action="store_false", help="do not run the tests without a mutation first"
    )
    options = parser.parse_args(arguments)
    if not 1 <= options.count <= MOST or not 0 < options.minutes <= 24 * 60:
        parser.error(f"--count takes 1 to {MOST}, --minutes up to a day")
    strange = [room for room in options.rooms if not (root / "commission" / room).is_dir()]
    if strange:
        parser.error(f"there is no room {strange[0]!r} in commission/")
    return options


if __name__ == "__main__":
    python = ready(extra="dev")
    if Path(sys.prefix) != python.parent.parent:
        sys.exit(subprocess.call([str(python), __file__, *sys.argv[1:]]))
    sys.exit(main(sys.argv[1:]))
