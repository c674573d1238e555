"""Four benches write into one shared book at once; they are killed and cut off, and nothing is lost or doubled.

    python3 scripts/campaigns/shared.py [--quick] [--seed N]

Each bench is a process with a book of its own that writes runs and syncs after each. Chance kills it by SIGKILL, again
and again; the line to the database runs through a relay that drops connections after so many bytes, or all at once.
Then the network is left alone, and every bench syncs twice. Held means, read with psql, sqlite3, zlib and hashlib
alone:

- every run whose end a bench acknowledged stands in the shared book, once begun and once ended;
- no run stands in two chains, and none has two beginnings or ends;
- every chain of the shared book is whole, worked out here, and has no gap;
- the book of every bench holds the same chains, entry by entry;
- `commission book verify` finds every book sound, the shared one too.

Counts: 200 runs of four benches; --quick 24.
"""

from __future__ import annotations

import contextlib
import json
import multiprocessing
import os
import random
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from scripts.campaigns._shape import Result, main, own_environment

own_environment()

from scripts.campaigns._book import Row, as_written, chain_breaks, rows_of  # noqa: E402 - once the environment is there
from scripts.campaigns._shared_bench import at_work  # noqa: E402
from tests.support.cut_line import CutLine, cut_line  # noqa: E402
from tests.support.shared_server import (  # noqa: E402
    OWNER,
    READER,
    SharedServer,
    running_server,
    server_programs,
)

NAME = "shared"
ROOT = Path(__file__).resolve().parent.parent.parent
BENCHES, RUNS, QUICK_RUNS = 4, 200, 24
LIMIT_S = 1000.0
"""No phase takes longer."""
KILLED_AFTER_S = (0.2, 12.0)
"""Counted from the moment at which it begins to write."""
CHAIN_BITS = 40
FORKS = multiprocessing.get_context("forkserver")
FORKS.set_forkserver_preload([at_work.__module__])
EVERY = (
    "SELECT json_build_array(encode(c.origin, 'hex'), e.number, e.run, e.kind, e.at, e.elapsed_us, e.packed, "
    "encode(e.payload, 'hex'), encode(e.raw, 'hex'), encode(e.previous, 'hex'), encode(e.digest, 'hex')) "
    "FROM commission.entries e JOIN commission.chains c USING (chain) ORDER BY c.origin, e.number"
)


@dataclass
class Bench:
    """One bench, its book, and what its processes said."""

    book: Path
    tag: str
    wanted: int
    ended: list[str] = field(default_factory=list)
    said: Counter[str] = field(default_factory=Counter)
    strange: list[str] = field(default_factory=list)
    kills: int = 0

    def work(self, address: str, chance: random.Random, until_s: float) -> None:
        """Write the runs that are wanted; the process is killed by chance and begun again."""
        while len(self.ended) < self.wanted and time.monotonic() < until_s:
            line, far = FORKS.Pipe(duplex=False)
            words = (str(self.book), address, self.tag, self.wanted - len(self.ended), far)
            process = FORKS.Process(target=at_work, args=words)
            process.start()
            far.close()
            killing = threading.Timer(chance.uniform(*KILLED_AFTER_S), process.kill)
            latest = threading.Timer(max(0.0, until_s - time.monotonic()), process.kill)
            latest.start()
            with contextlib.suppress(EOFError):
                while True:
                    said = line.recv()
                    if said == "ready":
                        killing.start()
                    self._take(said)
            process.join()
            killing.cancel()
            latest.cancel()
            self.kills += process.exitcode == -signal.SIGKILL

    def _take(self, said: str) -> None:
        word, _, rest = said.partition(" ")
        self.said[word] += 1
        if word == "ended":
            self.ended.append(rest)
        elif word == "strange":
            self.strange.append(f"{self.tag}: {rest}")


class Weather(threading.Thread):
    """What the network does: after so many bytes a line is gone, or all are gone at once."""

    def __init__(self, line: CutLine, chance: random.Random) -> None:
        super().__init__(daemon=True)
        self._line = line
        self._chance = chance
        self._over = threading.Event()
        self.cuts = 0

    def run(self) -> None:
        """Go on until told to stop."""
        while not self._over.wait(self._chance.uniform(0.3, 6.0)):
            if self._chance.random() < 0.5:
                self._line.left = self._chance.choice([None, None, 3_000, 20_000, 60_000])
            else:
                self._line.cut()
                self.cuts += 1

    def clear_up(self) -> None:
        """Leave the network alone from now on."""
        self._over.set()
        self.join()
        self._line.left = None


def tool(*words: str) -> tuple[int, str]:
    """A command, and what it said."""
    done = subprocess.run(
        [sys.executable, "-m", "commission", *words],
        capture_output=True,
        text=True,
        check=False,
        cwd=ROOT,
        timeout=LIMIT_S,
        env={**os.environ, "COMMISSION_HEADS": os.devnull},
    )
    return done.returncode, done.stdout + done.stderr


def shared_chains(server: SharedServer) -> dict[str, list[Row]]:
    """The chains of the shared book, past the tool."""
    found: dict[str, list[Row]] = {}
    for line in server.sql(EVERY, READER, "commission").splitlines():
        origin, number, run, kind, at, elapsed_us, packed, payload, raw, previous, digest = json.loads(line)
        data = bytes.fromhex(payload)
        bare = None if raw is None else bytes.fromhex(raw)
        row = (number, run, kind, at, elapsed_us, data if packed else data.decode(), bare, previous, digest)
        found.setdefault(origin, []).append(as_written(row))
    return found


def book_chains(book: Path) -> dict[str, list[Row]]:
    """The chains of a book's file, past the tool."""
    found: dict[int, list[Row]] = {}
    for row in rows_of(book):
        lies = int(str(row[0]))
        found.setdefault(lies >> CHAIN_BITS, []).append((lies & ((1 << CHAIN_BITS) - 1), *row[1:]))
    return {str(rows[0][8]): rows for rows in found.values()}


@dataclass
class Score:
    """What had to hold, and what did not."""

    tried: int = 0
    broken: list[str] = field(default_factory=list)

    def hold(self, what: str, *, held: bool) -> None:
        """Count one thing that had to hold."""
        self.tried += 1
        if not held:
            self.broken.append(what)


def judge(benches: Sequence[Bench], shared: Mapping[str, list[Row]], score: Score) -> None:
    """Hold what stands in the books against what was acknowledged."""
    for bench in benches:
        score.hold(f"{bench.tag} came to its {bench.wanted} runs", held=len(bench.ended) >= bench.wanted)
        score.hold(f"nothing strange at {bench.tag}: {bench.strange[:1]}", held=not bench.strange)
    for origin, rows in shared.items():
        score.hold(f"chain {origin[:8]} is whole: {chain_breaks(rows)[:3]}", held=not chain_breaks(rows))
    every = [row for rows in shared.values() for row in rows]
    begun, ends = (Counter(row[1] for row in every if row[2] == kind) for kind in ("run_started", "run_ended"))
    chains: dict[str, set[str]] = {}
    for origin, rows in shared.items():
        for row in rows:
            if row[2] == "run_started":
                chains.setdefault(str(row[1]), set()).add(origin)
    for bench in benches:
        for run in bench.ended:
            score.hold(f"{run} stands once in the shared book", held=(begun[run], ends[run]) == (1, 1))
    for number, times in begun.items():
        score.hold(f"{number} is begun once, in one chain", held=times == 1 and len(chains[str(number)]) == 1)
        score.hold(f"{number} ends once at most", held=ends[number] <= 1)


def run(*, quick: bool, seed: int, runs: int = 0) -> Result:
    """The whole campaign.

    Args:
        quick: fewer runs, for every day.
        seed: of the kills and of the network; how processes meet is the system's affair.
        runs: so many instead.
    """
    programs = server_programs()
    if programs is None:
        return Result(NAME, 0, 0, 0, seed, ("too few: the server of PostgreSQL is not installed",))
    score, began_s = Score(), time.monotonic()
    with contextlib.ExitStack() as stack:
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory()))
        server = stack.enter_context(running_server(programs))
        line = stack.enter_context(cut_line(server.port))
        server.fresh()
        score.hold(
            "the tables are made", held=tool("book", "prepare-shared", "--shared", server.address(OWNER))[0] == 0
        )
        each = (runs or (QUICK_RUNS if quick else RUNS)) // BENCHES
        benches = [Bench(folder / f"bench-{number}.sqlite3", f"bench-{number}", each) for number in range(BENCHES)]
        weather = Weather(line, random.Random(f"{seed}/network"))  # noqa: S311 - repeatable on purpose
        weather.start()
        _all_at_once(benches, server.address(port=line.port), seed)
        weather.clear_up()
        written_s = time.monotonic() - began_s
        for bench in (*benches, *benches):
            code, said = tool("book", "sync", "--shared", server.address(), "--book", str(bench.book))
            score.hold(f"the last syncs of {bench.tag} end with 0: {said[-300:]}", held=code == 0)
        shared = shared_chains(server)
        judge(benches, shared, score)
        for bench in benches:
            alike = book_chains(bench.book) == shared
            score.hold(f"the book of {bench.tag} holds the chains of the shared one", held=alike)
        for place in (server.address(READER), *(str(bench.book) for bench in benches)):
            code, said = tool("book", "verify", "--book", place)
            score.hold(f"{place} is found sound: {said[-300:]}", held=code == 0)
    said_all = sum((bench.said for bench in benches), Counter())
    lines = (
        f"{sum(len(bench.ended) for bench in benches)} runs acknowledged by {BENCHES} benches in {written_s:.0f} s; "
        f"{sum(map(len, shared.values()))} entries in {len(shared)} chains",
        f"{sum(bench.kills for bench in benches)} kills; {weather.cuts} times all lines cut; "
        f"{said_all['synced']} syncs came to their end, {said_all['away']} lost the line",
        *(f"BROKEN: {what}" for what in score.broken),
    )
    broken = len(score.broken)
    return Result(NAME, score.tried, score.tried - broken, broken, seed, lines)


def _all_at_once(benches: Sequence[Bench], address: str, seed: int) -> None:
    until_s = time.monotonic() + LIMIT_S
    threads = [
        threading.Thread(target=bench.work, args=(address, random.Random(f"{seed}/{bench.tag}"), until_s))  # noqa: S311
        for bench in benches
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()


if __name__ == "__main__":
    main(run)
