"""Whatever happens on the line, the tool comes to the right result or stops clearly, and in time.

    python3 scripts/campaigns/link.py [--quick] [--seed N] [--only WORDS]

Every disturbance that the simulated printer knows strikes in every phase: while the printer is identified, in a dwell
of a trial, in the wiggle, in the unplug test, and while the settings are read for the record. The printers are a sound
one, one whose two errors cancel (it reads right and is fail-danger), and a tuned one whose settings are known. Beside
them: a wrong speed, a speed that nobody tries, a line that never ends from the first byte on, and a port at which
nobody speaks. Disturbed runs are carried out in simulated time, so that no hand comes late, and no limit of the tool is
met, because the machine is busy. Held means one of two things, within 120 s, or 180 s of a guided run, and without a
crash:

- the right result: of the sound unit a finished check that fails nothing; of the other one a failed check, or one in
  which the unplug test is not judged; of the settings a pass with no value that is not the printer's own;
- a clear stop: an exit code that says so, no verdict that passes, and a sentence that says what is the matter.

What is right is known from the units and from the simulated printer's own account of its settings; the tool's verdict
is read from the book with sqlite3.

Counts: 128 cases by disturbance and 6 beside them; --quick 16, each disturbance once in one phase, and 4.
"""

from __future__ import annotations

import os
import re
import socket
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from scripts.campaigns._shape import Result, again, main, own_environment

own_environment()

from scripts.campaigns._book import rows_of, told_in  # noqa: E402 - once the environment is there
from scripts.campaigns._tool import ROOT, TIME_UP, Ended, Tool, Tools  # noqa: E402
from tests.support.fake_process import running_printer  # noqa: E402

if TYPE_CHECKING:
    from tests.support.fake_process import FakeProcess

NAME = "link"
AT_ONCE = 2 * (os.cpu_count() or 1)
"""Processes take turns at working for one another, and beside the disturbed runs some wait for limits of the tool."""
SHORT_S, GUIDED_S = 120.0, 180.0
"""What a backup may take at the longest, whatever the line does; and a guided run with its trials. Of its own time."""
STUCK_S = 1200.0
"""Of real time: what is stuck in simulated time is ended some day; what is slow on a busy machine is not stuck."""
BUSY_S = 20
"""It is told to wait so long for a printer that says that it is busy; its own limit is ten minutes of a script."""
DISTURBANCES = (
    *("banner", "vanish", "keepalive", "autoreport", "debug-line", "unknown-command", "resend", "lost-ok", "nul"),
    *("split-line", "broken-line", "late", "silence", "endless", "long-line", "escapes"),
)
BY_COMMAND = {"identify": "M115", "backup": "M503"}
"""These phases are met by the command line that the printer receives in them."""
BY_REQUEST = {"dwell": "trial.withdraw", "wiggle": "wiggle", "unplug": "unplugged.1"}
"""These by what the operator is asked."""
TUNED, SOUND, DANGER = "tuned", "sound", "two-errors-cancel"
HURRY = ("--cycles", "6", "--countdown", "2", "--dwell", "0.5", "--wiggle", "4", "--seed", "1")
DEEDS = {
    "dwell": '["{python}", "-m", "fake_printer.bench", "{control}", "withdraw"]',
    "wiggle": '["{python}", "-m", "fake_printer.bench", "{control}", "shake", "3"]',
    "unplug": "",
}
STOPS = (3, 130)
PASSES = ("pass", "conditional pass")


@dataclass(frozen=True)
class Case:
    """One disturbance in one phase at one unit, or one of those beside them."""

    name: str
    unit: str
    disturbance: str = ""
    phase: str = ""

    @property
    def limit_s(self) -> float:
        """Seconds within which the command has to end."""
        return SHORT_S if self.unit == TUNED else GUIDED_S


def cases(*, quick: bool) -> list[Case]:
    """All cases of that size."""
    phases = [*BY_COMMAND, *BY_REQUEST]
    in_turn = [phase for request in BY_REQUEST for phase in ("identify", request, "backup")]
    found = []
    for number, disturbance in enumerate(DISTURBANCES):
        for phase in [in_turn[number % len(in_turn)]] if quick else phases:
            units = (TUNED,) if phase in BY_COMMAND else (SOUND, DANGER)
            for unit in [units[number % len(units)]] if quick else units:
                found.append(Case(f"{disturbance}, {phase}, {unit}", unit, disturbance, phase))
    beside = [Case(name, TUNED) for name in ("wrong speed", "speed nobody tries", "endless line", "silent port")]
    beside += [] if quick else [Case(name, TUNED) for name in ("endless blanks", "port that closes")]
    return beside + sorted(found, key=lambda case: case.phase in BY_COMMAND)  # those that take long begin first


def run(*, quick: bool, seed: int, only: str = "") -> Result:
    """Disturb the line.

    Args:
        quick: each disturbance once.
        seed: of the simulated printers.
        only: words in the name of the cases to try; all of them when empty.
    """
    chosen = [case for case in cases(quick=quick) if only in case.name]
    at_once = min(AT_ONCE, len(chosen) or 1)
    with (
        tempfile.TemporaryDirectory(prefix="link-") as folder,
        Tools(at_once) as tools,
        ThreadPoolExecutor(at_once) as pool,
    ):

        def one(case: Case) -> tuple[str, str]:
            mine = Path(folder) / re.sub(r"\W+", "-", case.name)
            mine.mkdir()
            with tools.one() as tool:
                began_s = time.monotonic()
                state, told = _tried(case, mine, tool, seed)
                return state, f"{told}, {time.monotonic() - began_s:.0f} s"

        came = list(pool.map(one, chosen))
    broken = [
        f"BROKEN: {case.name}: {state}: {told}; {again(NAME, quick=quick, seed=seed, case=case.name)}"
        for case, (state, told) in zip(chosen, came, strict=True)
        if state not in ("right", "clear stop")
    ]
    by_disturbance: dict[str, Counter[str]] = {}
    for case, (state, _) in zip(chosen, came, strict=True):
        by_disturbance.setdefault(case.disturbance or case.name, Counter())[state] += 1
    table = [f"{case.name}: {state}: {told}" for case, (state, told) in zip(chosen, came, strict=True)] if only else []
    table += [
        f"{name:20} {', '.join(f'{count} {state}' for state, count in counts.most_common())}"
        for name, counts in by_disturbance.items()
    ]
    return Result(NAME, len(chosen), len(chosen) - len(broken), len(broken), seed, (*table, *broken))


def _tried(case: Case, folder: Path, tool: Tool, seed: int) -> tuple[str, str]:
    if not case.disturbance:
        return _beside(case, folder, tool, seed)
    with running_printer(case.unit, "--tcp", "0", "--unpaced", "--stepped", "--seed", str(seed)) as printer:
        if case.phase in BY_COMMAND:
            printer.do("when", BY_COMMAND[case.phase], "disturb", case.disturbance)
        words = _words(case, folder, printer.link, printer.control)
        ended = tool.run(*words, folder=folder, seconds=STUCK_S, control=printer.control)
        took_s = STUCK_S if ended.code == TIME_UP else float(printer.state()["time_s"])
        return _judged(case, ended, folder, printer, took_s)


def _words(case: Case, folder: Path, link: str, control: str = "none") -> list[str]:
    script = (ROOT / "commission" / "cli" / "demo_operator.toml").read_text()
    if case.phase in BY_REQUEST:
        bench = '["{python}", "-m", "fake_printer.bench", "{control}", "disturb", '
        deeds = f'{bench}"{case.disturbance}"], {DEEDS[case.phase]}'
        answer = f'[[answer]]\nrequest = "{BY_REQUEST[case.phase]}"\nanswer = "done"\ntimes = 1\nrun = [{deeds}]\n'
        script = script.replace("format = 1\n", f"format = 1\n\n{answer}", 1)
    (folder / "operator.toml").write_text(script)
    command = ["backup"] if case.unit == TUNED else ["install"]
    words = [*command, "bench-3", "--port", link, "--operator", "operator.toml", "--set", f"control={control}"]
    words += ["--by", "R. Okafor", "--book", "book.sqlite3", "--reports", "reports", "--busy-wait", str(BUSY_S)]
    return words if case.unit == TUNED else [*words, *HURRY]


def _judged(case: Case, ended: Ended, folder: Path, printer: FakeProcess | None, took_s: float) -> tuple[str, str]:
    """What it came to, and what shows it."""
    if took_s >= case.limit_s:
        return "no end", f"after {took_s:.0f} s"
    if ended.crashed or ended.code == 2:  # 2: the script's hands came too late, and nothing is known of the line
        return ("crashed" if ended.crashed else "not carried out"), ended.told
    outcome, verdict = _end_of(folder / "book.sqlite3")
    told = f"{outcome}, {verdict}, {ended.told}"
    if ended.code in STOPS or outcome != "complete":
        passed = verdict in PASSES or ended.code in (0, 4)
        said = bool((ended.complaints + ended.out).strip())
        return ("stopped, and passes" if passed else "clear stop" if said else "stopped without a word"), told
    if case.unit == TUNED:
        return _settings_judged(ended, folder, printer, told)
    if case.unit == SOUND:
        return ("right" if ended.code in (0, 4) else "wrong"), told
    return ("right" if ended.code == 1 or verdict not in PASSES else "wrong"), told


def _end_of(book: Path) -> tuple[str, str]:
    ends = [told_in(str(row[5])) for row in rows_of(book) if row[2] == "run_ended"] if book.exists() else []
    return (str(ends[-1].get("outcome")), str(ends[-1].get("verdict"))) if ends else ("no run", "none")


def _settings_judged(ended: Ended, folder: Path, printer: FakeProcess | None, told: str) -> tuple[str, str]:
    """Every value in the file of plain lines has to be the printer's own, and there are many."""
    if printer is None or ended.code != 0:
        return ("right" if ended.code in (0, 4) else "wrong"), told
    truth = printer.state()["settings"]
    values = list(_values_in(folder / "reports"))
    foreign = [f"{key} {letter}{value}" for key, letter, value in values if not _is_so(truth, key, letter, value)]
    if foreign:
        return "wrong", f"values that are not the printer's: {foreign[:5]}; {told}"
    return ("right" if len(values) >= LEAST_VALUES else "wrong"), f"{len(values)} values; {told}"


LEAST_VALUES = 30
"""The tuned unit has more; a record with fewer has lost some and does not say so."""
_SENT = re.compile(r"^(?:;\s*)?(M\d+)((?: [A-Z]-?\d+(?:\.\d+)?)+)\s*$")


def _values_in(reports: Path) -> Iterator[tuple[str, str, float]]:
    for file in reports.glob("*.gcode"):
        for line in file.read_text().splitlines():
            if found := _SENT.match(line):
                for word in found.group(2).split():
                    yield found.group(1) + found.group(2), word[0], float(word[1:])


def _is_so(truth: dict[str, dict[str, float]], line: str, letter: str, value: float) -> bool:
    """Whether the printer has that value: under the command, or under the command with its selector."""
    code = line.split(" ", maxsplit=1)[0]
    held = [words for key, words in truth.items() if key == code or (key.split(" ")[0] == code and key in line)]
    selects = any(f"{letter}{value:g}" in key.split(" ")[1:] for key in truth if key.split(" ")[0] == code)
    return selects or any(letter in words and abs(words[letter] - value) < 0.006 for words in held)


def _beside(case: Case, folder: Path, tool: Tool, seed: int) -> tuple[str, str]:
    if "speed" in case.name:
        unit = folder / "unit.toml"
        baud = 115200 if case.name == "wrong speed" else 12345
        unit.write_text(
            f'format = 1\nlike = "{TUNED}"\nsummary = "tuned"\nfinding = "a speed"\n\n[wire]\nspeed_baud = {baud}\n'
        )
        with running_printer(str(unit), "--seed", str(seed)) as printer:
            began_s = time.monotonic()
            words = [*_words(case, folder, printer.link), "--speed", "19200"]
            ended = tool.run(*words, folder=folder, seconds=case.limit_s)
            return _judged(case, ended, folder, printer, time.monotonic() - began_s)
    with _port(case.name) as link:
        began_s = time.monotonic()
        ended = tool.run(*_words(case, folder, link), folder=folder, seconds=case.limit_s)
        state, told = _judged(case, ended, folder, None, time.monotonic() - began_s)
    return ("wrong" if state == "right" else state), told


@contextmanager
def _port(kind: str) -> Iterator[str]:
    """A port at which no printer is: it says nothing, closes at once, or says one line without an end."""
    sends = {"endless line": b"#" * 512, "endless blanks": b"\n" * 64}.get(kind)
    with socket.create_server(("127.0.0.1", 0)) as listener:
        listener.settimeout(0.2)
        over = threading.Event()

        def serve() -> None:
            while not over.is_set():
                try:
                    visitor, _ = listener.accept()
                except TimeoutError:
                    continue
                threading.Thread(target=talk, args=(visitor,), daemon=True).start()

        def talk(visitor: socket.socket) -> None:
            with visitor:
                try:
                    while not over.is_set() and kind != "port that closes":
                        if sends is not None:
                            visitor.sendall(sends)
                        time.sleep(0.05)
                except OSError:
                    return  # it has hung up

        server = threading.Thread(target=serve, daemon=True)
        server.start()
        try:
            yield f"socket://127.0.0.1:{listener.getsockname()[1]}"
        finally:
            over.set()
            server.join()


if __name__ == "__main__":
    main(run)
