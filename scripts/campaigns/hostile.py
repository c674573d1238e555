"""Hostile text in every field a person can type is shown, and never obeyed: by terminal, page, Markdown or calendar.

    python3 scripts/campaigns/hostile.py [--quick] [--seed N] [--only WORDS]

Each payload is typed as the name of a printer, as its place, as a name, as a note, as the name and the content of a
capture, and as every reason and remark that a guided run asks for. Then everything the tool writes is looked at, with
parsers that are not its own, and compared with what it writes for a harmless text in the same place. Held means:

- terminal: what a terminal is given is printable text and line ends, no control character and no mark that turns the
  direction of text;
- page: no element and no attribute that the harmless one has not, no address, no control character, and in a browser
  not one request to a server that listens for it; without a browser this is said and not counted;
- Markdown: read as CommonMark with HTML and tables, as many links, pictures, headings, cells and pieces of HTML;
- calendar: unfolded by this file, the same properties in the same components;
- the file of plain lines for any sender: nothing but comments and settings lines;
- a table for a spreadsheet: the tool writes none; should it write one, this campaign is off until it reads it;
- no command crashed. A text may be refused, which is told by the counts.

Counts: 22 payloads in two kinds of fields and a guided run each, and the browser; --quick one guided run with some of
them in one line. The seed changes nothing here: every case is fixed.
"""

from __future__ import annotations

import sys
import tempfile
from collections import Counter
from collections.abc import Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from scripts.campaigns._shape import Result, again, main, own_environment

own_environment()

from scripts.campaigns._browser import requests_from  # noqa: E402 - once the environment is there
from scripts.campaigns._looked_at import differences, unprintable  # noqa: E402
from scripts.campaigns._payloads import HARMLESS, PAYLOADS, TRAP  # noqa: E402
from scripts.campaigns._tool import ROOT, Ended, Tool, Tools, pieces_of  # noqa: E402
from tests.support.fake_process import running_printer  # noqa: E402

NAME = "hostile"
AT_ONCE = 4
GUIDED_S = 200.0
TOGETHER = ("colour and clear", "script", "direction marks", "Markdown table")
"""What is typed in one line, which may not be long."""
CAPTURE = "echo:; Steps per unit:\necho:  M92 X80.00 Y80.00 Z400.00 E97.50\necho:; {text}\n{text}\nok\n"
GUIDED = """\
format = 1

[[answer]]
request = "*.skip_reason"
answer = {text}

[[answer]]
request = "sign_off.remark"
answer = {text}

[[answer]]
request = "trial.insert"
answer = {spoilt}
times = 1
"""
HURRY = ("--cycles", "6", "--countdown", "1.2", "--dwell", "0.2", "--wiggle", "2", "--seed", "1")


@dataclass(frozen=True)
class Written:
    """What the tool wrote for one text.

    Attributes:
        ended: how each command ended.
        files: name of the kind of file, and what is in it.
    """

    ended: tuple[Ended, ...]
    files: Mapping[str, bytes]


@dataclass(frozen=True)
class Case:
    """One text in one kind of field."""

    name: str
    where: str
    text: str


def cases(*, quick: bool) -> list[Case]:
    """All cases of that size."""
    fields = [Case(f"{name}, {where}", where, text) for name, text in PAYLOADS.items() for where in ("tag", "fields")]
    if quick:
        return [*fields, Case("several in one line, guided", "guided", " ".join(PAYLOADS[name] for name in TOGETHER))]
    return fields + [Case(f"{name}, guided", "guided", text) for name, text in PAYLOADS.items()]


def run(*, quick: bool, seed: int, only: str = "") -> Result:
    """Type every payload everywhere, and look at what comes of it."""
    chosen = [case for case in cases(quick=quick) if only in case.name]
    at_once = min(AT_ONCE, len(chosen) or 1)
    with tempfile.TemporaryDirectory(prefix="hostile-") as folder, Tools(at_once) as tools:
        place = Path(folder)

        def written(case: Case) -> Written:
            mine = place / f"{case.name.split(',')[0].replace(' ', '-')}-{case.where}"
            mine.mkdir()
            with tools.one() as tool:
                return _written(case, mine, tool)

        kinds = sorted({case.where for case in chosen})
        with ThreadPoolExecutor(at_once) as pool:
            plain = dict(
                zip(kinds, pool.map(written, [Case("harmless", kind, HARMLESS) for kind in kinds]), strict=True)
            )
            came = list(pool.map(written, chosen))
        pages = sorted(place.glob("*/reports/*.html"))
        called, browser = requests_from(pages, place, TRAP)
    why = [list(_faults(case, each, plain[case.where])) for case, each in zip(chosen, came, strict=True)]
    broken = [
        f"BROKEN: {case.name}: {'; '.join(found[:4])}; {again(NAME, quick=quick, seed=seed, case=case.name)}"
        for case, found in zip(chosen, why, strict=True)
        if found
    ]
    broken += [f"BROKEN: a page in the browser asked for {pieces_of(each)}" for each in called]
    codes = Counter(each.code for one in came for each in one.ended)
    refused = sum(one.ended[0].code == 2 for one in came)
    files = Counter(kind for one in came for kind in one.files)
    table = [f"{sum(codes.values())} commands, {refused} texts refused; looked at: {_in_words(files)}", browser]
    tried = len(chosen) + (1 if browser.startswith("browser: ") else 0)
    held = tried - sum(bool(found) for found in why) - bool(called)
    return Result(NAME, tried, held, tried - held, seed, (*table, *broken))


def _in_words(counts: Counter[str]) -> str:
    return ", ".join(f"{count} {what}" for what, count in counts.most_common())


def _written(case: Case, folder: Path, tool: Tool) -> Written:
    first = _guided(case.text, folder, tool) if case.where == "guided" else _backup(case, folder, tool)
    ended = [first]
    tag = case.text if case.where == "tag" else "bench-3"
    book = ("--book", "book.sqlite3")
    if (folder / "book.sqlite3").exists():
        if case.where == "fields":
            ended += [tool.run("note", "--by", case.text, *book, "--", tag, case.text, folder=folder, terminal=True)]
        ended += [tool.run("book", "list", *book, folder=folder, terminal=True)]
        run_number = _run_number(folder, tool)
        for word in ("--all", ""):
            words = ["book", "show", *([word] if word else []), *book, "--", run_number]
            ended += [tool.run(*words, folder=folder, terminal=True)]
        ended += [tool.run("book", "due", "--ics", "due.ics", *book, folder=folder, terminal=True)]
        ended += [tool.run("report", *book, "--out", "reports", "--", tag, folder=folder, terminal=True)]
    ended += [tool.run("note", "--book", "book.sqlite3", "--", f"no {case.text}", "x", folder=folder, terminal=True)]
    return Written(tuple(ended), dict(_files(folder)))


def _run_number(folder: Path, tool: Tool) -> str:
    """The number of the newest run, from the exported book."""
    import json

    said = tool.run("book", "export", "-", "--book", "book.sqlite3", folder=folder)
    runs = [json.loads(line).get("run", "") for line in said.out.splitlines() if line.startswith("{")]
    return next((str(run) for run in reversed(runs) if "/" in str(run)), "none")


def _backup(case: Case, folder: Path, tool: Tool) -> Ended:
    tag, text = (case.text, HARMLESS) if case.where == "tag" else ("bench-3", case.text)
    name = "".join(each for each in text if each not in "/\\\0")[:60] + ".txt"
    (folder / name).write_text(CAPTURE.format(text=text), errors="surrogateescape")
    words = ("--site", text, "--by", text, "--from", f"./{name}", "--reports", "reports", "--book", "book.sqlite3")
    return tool.run("backup", *words, "--", tag, folder=folder, terminal=True)


def _guided(text: str, folder: Path, tool: Tool) -> Ended:
    demo = (ROOT / "commission" / "cli" / "demo_operator.toml").read_text()
    answers = GUIDED.format(text=_quoted(text), spoilt=_quoted(f"spoilt: {text}"))
    (folder / "operator.toml").write_text(demo.replace("format = 1\n", answers, 1))
    with running_printer("sound", "--tcp", "0", "--unpaced") as printer:
        words = [
            "install",
            "--port",
            printer.link,
            "--operator",
            "operator.toml",
            "--set",
            f"control={printer.control}",
        ]
        words += ["--site", text, "--by", text, "--reports", "reports", "--book", "book.sqlite3", *HURRY]
        return tool.run(*words, "--", "bench-3", folder=folder, seconds=GUIDED_S, terminal=True)


def _quoted(text: str) -> str:
    """A TOML basic string."""
    shown = "".join(
        each if each.isascii() and each.isprintable() and each not in '"\\' else f"\\U{ord(each):08x}" for each in text
    )
    return f'"{shown}"'


def _files(folder: Path) -> Iterator[tuple[str, bytes]]:
    for file in sorted([*folder.glob("reports/*"), *folder.glob("*.ics")]):
        kind = f"settings{file.suffix}" if "-settings-" in file.name else file.suffix
        yield kind, file.read_bytes()


def _faults(case: Case, written: Written, plain: Written) -> Iterator[str]:
    for ended in written.ended:
        if ended.crashed:
            yield f"crashed: {ended.told}"
        acting = [line for line in (ended.out + ended.complaints).split("\n") if unprintable(line)]
        if acting:
            yield f"the terminal was given {pieces_of(unprintable(acting[0]))} in {pieces_of(acting[0])}"
    if case.where == "guided" and written.ended[0].code != plain.ended[0].code:
        yield f"the guided run came to {pieces_of(written.ended[0].told, 400)}"
        return
    for kind, data in written.files.items():
        if kind not in plain.files:
            yield f"a file {kind} that is not looked at"
            continue
        yield from (f"{kind}: {each}" for each in differences(kind, data, plain.files[kind]))


if __name__ == "__main__":
    main(run)
