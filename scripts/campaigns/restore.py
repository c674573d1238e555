"""Nothing but settings reaches the printer, whatever stands in the capture that is put back.

    python3 scripts/campaigns/restore.py [--quick] [--seed N] [--only WORDS]

Each case damages a saved settings report in one to six places: other commands put in, values made huge, signs and line
ends broken, lines joined, doubled and cut. `commission backup --from` takes it into a book, and `commission restore`
puts it back on a simulated printer of the case's own, with an operator who releases everything that is asked. Then the
simulated printer's own log is read. Held means:

- every line that came from the host is a question, the one save, or a settings command that this file lists;
- of a settings line nothing but letters with plain numbers follows, and no number is beyond what this file allows;
- each value that was sent stands in the capture under the same command and letter, where its units were not changed;
- neither command crashed.

At least a third of the cases have to get as far as sending a settings line; else the campaign has shown nothing.

Counts: 500, --quick 24.
"""

from __future__ import annotations

import re
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from scripts.campaigns._shape import Result, again, main, own_environment

own_environment()

from scripts.campaigns._captures import damaged  # noqa: E402 - once the environment is there
from scripts.campaigns._tool import Ended, Tools, pieces_of  # noqa: E402
from tests.support.fake_process import running_printer  # noqa: E402

NAME = "restore"
CASES, QUICK_CASES = 500, 24
AT_ONCE = 3
QUESTIONS = frozenset({"M105", "M115", "M119", "M503", "M503 S0", "M412", "M591", "M31", "M27"})
SAVES = frozenset({"M500"})
_PLAIN = (92, 145, 200, 201, 203, 204, 205, 206, 207, 208, 209, 301, 304, 420, 421, 603, 851, 900, 906, 913, 914)
KEPT = (0, 4)
"""What a backup ends with that is in the book: whole, or with what it lacks said. What stands in either is put back."""
SETTINGS = frozenset(f"M{number}" for number in _PLAIN)
"""They set a value and do nothing else: from the printers' own command lists, written down here anew."""
MOST = {"M92": 20000, "M145": 400, "M203": 5000, "M906": 5000, "M914": 1024}
MOST_OF_ALL = 1_000_000
_LINE = re.compile(r"(M\d+)((?: [A-FH-LO-Z]-?\d+(?:\.\d+)?)*)")  # G, M and N would begin another command or number it
_WORD = re.compile(r"([A-Z])(-?\d+(?:\.\d+)?)")
_LOGGED = re.compile(r" *[\d.]+ s host   > (.*)")
_COMMENT = re.compile(r"[MG]\d+")
SCRIPT = """\
format = 1

[[answer]]
request = "restore.proof"
answer = "3"

[[answer]]
request = "*"
answer = "yes"
"""


@dataclass(frozen=True)
class Came:
    """What became of a case.

    Attributes:
        lines: that came from the host.
        why: what was not as it must be; empty where all held.
    """

    lines: tuple[str, ...]
    why: tuple[str, ...]

    @property
    def reached(self) -> bool:
        """Whether any settings line was sent."""
        return any(line.split(" ")[0] in SETTINGS and " " in line for line in self.lines)


def run(*, quick: bool, seed: int, only: str = "", cases: int = 0) -> Result:
    """Put damaged captures back.

    Args:
        quick: few of them.
        seed: where chance begins.
        only: words in the name of the cases to try; all of them when empty.
        cases: so many instead.
    """
    numbers = [n for n in range(cases or (QUICK_CASES if quick else CASES)) if only in _name(n)]
    at_once = min(AT_ONCE, len(numbers) or 1)
    with (
        tempfile.TemporaryDirectory(prefix="restore-") as folder,
        Tools(at_once) as tools,
        ThreadPoolExecutor(at_once) as pool,
    ):
        came = list(pool.map(lambda number: _carried_out(number, seed, Path(folder), tools), numbers))
    return _result(numbers, came, quick=quick, seed=seed, demanding=not only)


def _name(number: int) -> str:
    return f"capture {number:03d}"


def _result(numbers: Sequence[int], came: Sequence[Came], *, quick: bool, seed: int, demanding: bool) -> Result:
    broken = [
        f"BROKEN: {_name(number)}: {'; '.join(one.why)}; {again(NAME, quick=quick, seed=seed, case=_name(number))}"
        for number, one in zip(numbers, came, strict=True)
        if one.why
    ]
    reached = sum(one.reached for one in came)
    if demanding and reached * 3 < len(came):
        broken.append(f"BROKEN: only {reached} of {len(came)} cases got as far as sending a settings line")
    sent = Counter(line.split(" ")[0] for one in came for line in one.lines)
    lines = [f"{sum(sent.values())} lines from the host in {len(came)} cases; {reached} cases sent settings"]
    lines.append("of them: " + ", ".join(f"{count} {code}" for code, count in sent.most_common()))
    tried = len(came) + (1 if demanding else 0)
    return Result(NAME, tried, tried - len(broken), len(broken), seed, (*lines, *broken))


def _carried_out(number: int, seed: int, folder: Path, tools: Tools) -> Came:
    mine = folder / f"{number}"
    mine.mkdir()
    log = mine / "printer.log"
    capture = damaged(f"restore/{seed}/{number}")
    (mine / "capture.txt").write_bytes(capture)
    (mine / "script.toml").write_text(SCRIPT)
    common = ("--operator", "script.toml", "--by", "R. Okafor", "--book", "book.sqlite3", "--reports", "reports")
    with tools.one() as tool:
        ended: list[Ended] = [tool.run("backup", "bench-3", "--from", "capture.txt", *common, folder=mine)]
        if ended[0].code in KEPT:
            words = ("--tcp", "0", "--unpaced", "--speed-factor", "20", "--log", str(log))
            with running_printer("sound", *words) as printer:
                ended.append(tool.run("restore", "bench-3", "--port", printer.link, *common, folder=mine))
    shown = log.read_bytes().decode(errors="surrogateescape") if log.exists() else ""
    lines = tuple(_from_host(shown))
    why = [f"crashed: {each.told}" for each in ended if each.crashed]
    return Came(lines, (*why, *_escaped(lines, capture)))


def _from_host(log: str) -> Iterator[str]:
    """The lines that came from the host; the log shows what was read as Python shows bytes, in pieces."""
    whole = "".join(_unquoted(found.group(1)) for line in log.splitlines() if (found := _LOGGED.match(line)))
    yield from (line for line in whole.split("\n") if line)


def _unquoted(shown: str) -> str:
    return shown[1:-1].encode("latin-1", "backslashreplace").decode("unicode_escape")


def _escaped(lines: Sequence[str], capture: bytes) -> Iterator[str]:
    stands = _stands_in(capture)
    for line in lines:
        if line in QUESTIONS or line in SAVES:
            continue
        found = _LINE.fullmatch(line)
        if found is None or found.group(1) not in SETTINGS or not found.group(2):
            yield f"reached the printer: {pieces_of(line)}"
            continue
        code = found.group(1)
        for letter, number in _WORD.findall(found.group(2)):
            if abs(float(number)) > MOST.get(code, MOST_OF_ALL):
                yield f"beyond all bounds: {line}"
            if stands is not None and (code, letter, float(number)) not in stands:
                yield f"stands nowhere in the capture: {letter}{number} of {line}"


def _stands_in(capture: bytes) -> set[tuple[str, str, float]] | None:
    """Every value that stands behind a command in any line; None where the capture speaks of other units."""
    text = capture.decode("latin-1").upper()
    if re.search(r"G20|M149\s*[FK]", text):
        return None
    found = set()
    for line in re.split(r"[\r\n]", text):
        for code in _COMMENT.findall(line):
            for letter, number in re.findall(r"([A-Z])\s*([-+]?(?:\d+\.?\d*|\.\d+))", line):
                found.add((code, letter, float(number)))
    return found


if __name__ == "__main__":
    main(run)
