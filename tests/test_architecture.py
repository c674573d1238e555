"""The map of the house, checked against the imports; the table is in pyproject.toml."""

import ast
import re
import tomllib
from collections.abc import Callable, Iterable, Mapping
from functools import cache
from pathlib import Path
from typing import get_args

import pytest

from commission.asking.form import Form
from commission.asking.request import Recall, Request
from commission.asking.soak import Soak
from commission.asking.table import TABLE as REQUESTS
from commission.asking.table import By
from commission.evidence.entries import AnyEntry
from commission.evidence.findings import KINDS

ROOT = Path(__file__).resolve().parent.parent
TABLE = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["commission"]["architecture"]
ROWS: dict[str, int] = {room: row for row, rooms in enumerate(TABLE["rows"]) for room in rooms}
WINGS: dict[str, int] = {wing: row for row, wings in enumerate(TABLE["wings"]) for wing in wings}
TOOL = sorted((ROOT / "commission").rglob("*.py"))
SIMULATOR = sorted((ROOT / "fake_printer").rglob("*.py"))


def in_each(paths: Iterable[Path], broken: Callable[[Path], object]) -> Mapping[str, object]:
    """What is broken in a file, by the file; nothing of the files in which nothing is."""
    return {str(path.relative_to(ROOT)): found for path in paths if (found := broken(path))}


@cache
def nodes(path: Path) -> tuple[ast.AST, ...]:
    """All of a file."""
    return tuple(ast.walk(ast.parse(path.read_text())))


@cache
def imports(path: Path) -> tuple[str, ...]:
    """Every module a file imports, anywhere in it."""
    found: list[str] = []
    for node in nodes(path):
        if isinstance(node, ast.Import):
            found += (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: imports are written in full"
            found += [node.module or "", *(f"{node.module}.{alias.name}" for alias in node.names)]
    return tuple(found)


def room(module: str) -> str | None:
    """The room a module of the tool is in; None for the package itself and for other people's modules."""
    parts = module.split(".")
    return parts[1] if parts[0] == "commission" and len(parts) > 1 and parts[1] in ROWS else None


def broken_imports(path: Path) -> list[str]:
    """The imports of a file that go up or sideways."""
    here = path.relative_to(ROOT / "commission").parts[0].removesuffix(".py")
    if here not in ROWS:
        return []
    targets = {found for module in imports(path) if (found := room(module)) and found != here}
    return sorted(f"{here} -> {target}" for target in targets if ROWS[target] >= ROWS[here])


def test_imports_go_down() -> None:
    """A file imports from rows below its own and from its own room only."""
    assert {} == in_each(TOOL, broken_imports)


def wings_not_below(path: Path) -> list[str]:
    """The wings that a file of the procedure imports from though they do not stand below its own."""
    here = path.relative_to(ROOT / "commission" / "procedure").parts[0]
    there = {parts[2] for name in imports(path) if (parts := name.split("."))[:2] == ["commission", "procedure"]}
    return [wing for wing in there - {here} if WINGS[wing] >= WINGS[here]]


def test_a_wing_imports_from_wings_below() -> None:
    """A wing of the procedure imports from its own and from rows of wings below it; no file stands outside a wing."""
    paths = [path for path in TOOL if "procedure" in path.parts and path.stem != "__init__"]

    assert len(paths) > len(WINGS)
    assert {} == in_each(paths, wings_not_below)


def test_every_room_is_in_the_table() -> None:
    """No folder or module stands outside the map, and the map names none that is gone."""
    present = {path.name.removesuffix(".py") for path in (ROOT / "commission").iterdir() if path.name[0] != "_"}

    assert set(ROWS) == present


def test_the_rule_can_fail() -> None:
    """An import that goes up is noticed."""
    assert ROWS["dialect"] < ROWS["conductor"]
    assert ROWS["link"] == ROWS["dialect"]


def test_the_tool_and_the_simulator_do_not_know_each_other() -> None:
    """Neither imports the other, so an error in one cannot hide an error in the other."""
    from_tool = [f"{path}: {name}" for path in TOOL for name in imports(path) if name.split(".")[0] == "fake_printer"]
    from_simulator = [f"{path}: {name}" for path in SIMULATOR for name in imports(path) if name[:10] == "commission"]

    assert [] == from_tool
    assert [] == from_simulator


def module_name(path: Path) -> str:
    """A file's name as it is imported."""
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


def arrows(paths: list[Path]) -> dict[str, set[str]]:
    """Which of these modules imports which other of them, for the checker of types alone included."""
    names = {module_name(path) for path in paths}
    return {module_name(path): (set(imports(path)) & names) - {module_name(path)} for path in paths}


def in_loops(graph: dict[str, set[str]]) -> set[str]:
    """The modules that import themselves by way of others."""
    return {name for name in graph if name in reached_from(name, graph)}


def reached_from(start: str, graph: dict[str, set[str]]) -> set[str]:
    """Every module that is imported by this one, or by one that it imports, and so on."""
    reached: set[str] = set()
    ahead = [start]
    while ahead:
        fresh = graph[ahead.pop()] - reached
        reached |= fresh
        ahead += fresh
    return reached


@pytest.mark.parametrize("paths", [TOOL, SIMULATOR], ids=["the tool", "the simulator"])
def test_no_modules_import_each_other(paths: list[Path]) -> None:
    """There is no import loop, in the simulator too; an import for the checker of types alone counts."""
    assert set() == in_loops(arrows(paths))


def test_an_import_loop_is_noticed() -> None:
    """Two modules that import each other by way of a third are a loop; what only leads to it or from it is none."""
    loop = {"a": {"b"}, "b": {"c"}, "c": {"a", "end"}, "end": set(), "start": {"a"}}

    assert {"a", "b", "c"} == in_loops(loop)
    assert set() == in_loops({**loop, "c": {"end"}})


@pytest.mark.parametrize("library", TABLE["libraries"])
def test_a_library_lives_in_its_own_place(library: str) -> None:
    """Only the files named in the table import the library."""
    users = {str(path.relative_to(ROOT)) for path in TOOL for name in imports(path) if name.split(".")[0] == library}
    allowed = tuple(TABLE["libraries"][library])

    assert users
    assert set() == {user for user in users if not user.startswith(allowed)}


def test_a_module_is_what_one_reader_holds() -> None:
    """No module is longer than the limit in the table."""
    lengths = {path: len(path.read_text().splitlines()) for path in TOOL + SIMULATOR}

    assert {} == {path: length for path, length in lengths.items() if length > TABLE["most_lines"]}


WIRE_WORDS = re.compile(
    r"\b[GM]\d{1,4}\b|\bTRIGGERED\b|\becho:|\baction:|_m(?:in|ax): |\bResend:|\bFIRMWARE_NAME\b|\bok T:"
)
SPEAKS = ("dialect", "settings/commands.toml")


def wire_words(text: str) -> list[str]:
    """The words only a printer's dialect holds, wherever they stand in a text."""
    return WIRE_WORDS.findall(text)


def test_the_words_of_the_wire_stay_in_the_dialect() -> None:
    """No command code and no word of a reply stands outside the dialect and the table of settings commands."""
    texts = [path for path in (ROOT / "commission").rglob("*") if path.suffix in (".py", ".toml", ".json", ".md")]
    outside = [path for path in texts if not str(path.relative_to(ROOT / "commission")).startswith(SPEAKS)]

    assert len(texts) > len(outside) > len(TOOL) / 2
    assert {} == in_each(outside, lambda path: wire_words(path.read_text()))


@pytest.mark.parametrize("text", ['"M302" in codes', "echo:busy: processing", "z_min: TRIGGERED", "G28"])
def test_a_word_of_the_wire_is_noticed(text: str) -> None:
    """A command code or a word of a reply is found in a line of code."""
    assert [] != wire_words(text)


READS_EVIDENCE = ("asking", "procedure", "jobs", "records", "desk", "fleet", "report", "conductor", "cli")
"""The rooms that write or read entries; below `evidence/` nobody can."""
TAGS = {kind.kind() for kind in get_args(AnyEntry)}
OTHER_MEANINGS = {
    ("cli/__init__.py", "note"): "a subcommand",
    ("cli/words.py", "trial"): "a word that is explained",
    ("asking/message.py", "note"): "how a message is to be taken",
    ("asking/message.py", "finding"): "how a message is to be taken",
    ("report/as_markdown.py", "note"): "a line of ours between those of the wire",
    ("report/document.py", "note"): "a line of ours between those of the wire",
    ("report/folds.py", "note"): "a line of ours between those of the wire",
    ("report/json_parts.py", "note"): "a line of ours between those of the wire",
    ("report/work.py", "trial"): "a noun that is counted",
}
"""Words that are the name of a kind of entry and stand for something else there."""


def named_kinds(path: Path, names: set[str]) -> set[str]:
    """The names of kinds that stand as texts in a file."""
    texts = {node.value for node in nodes(path) if isinstance(node, ast.Constant)}
    return {name for name in names if name in texts}


def named_though(rooms: tuple[str, ...], names: set[str], known: Mapping[tuple[str, str], str]) -> Mapping[str, object]:
    """By file of these rooms: the names of kinds that stand there as texts, but for words with another meaning."""

    def unknown(path: Path) -> list[str]:
        here = str(path.relative_to(ROOT / "commission"))
        return sorted(name for name in named_kinds(path, names) if (here, name) not in known)

    paths = [path for path in TOOL if path.parts[-2] in rooms]
    assert set(rooms) == {path.parts[-2] for path in paths}
    return in_each(paths, unknown)


def test_no_kind_of_entry_is_named_by_a_text() -> None:
    """Outside `evidence/` a kind of entry is its type: what would have to be spelled right is written once."""
    assert {} == named_though(READS_EVIDENCE, TAGS, OTHER_MEANINGS)


FINDINGS = set(KINDS)
READS_FINDINGS = ("records", "desk", "fleet", "report", "conductor")
WORDS = {
    ("desk/narrator.py", "change"): "a change of the reading",
    ("desk/wording.py", "change"): "a change of the reading",
    ("fleet/cells.py", "wiring"): "a heading of the overview",
    ("fleet/data.py", "wiring"): "a value of the overview",
    ("fleet/data.py", "next_check"): "a value of the overview",
    ("fleet/metrics.py", "check"): "a label",
    ("fleet/roster.py", "wiring"): "a key of the roster",
    ("fleet/table.py", "wiring"): "a heading of the overview",
    ("records/continuation.py", "sign_off"): "a phase",
    ("records/continuation.py", "repair"): "a phase",
    ("records/notes.py", "reflash"): "what a note is about",
    ("report/build.py", "restore"): "what a run was for",
    ("report/build.py", "acceptance"): "a section of the report",
    ("report/findings.py", "wiring"): "a section of the report",
    ("report/in_short.py", "check"): "a command",
    ("report/in_short.py", "restore"): "what a run was for",
    ("report/trials_in_short.py", "change"): "a noun that is counted",
}
"""Words that are the name of a kind of finding and stand for something else there."""


def test_no_kind_of_finding_is_named_by_a_text() -> None:
    """Who reads findings asks for their type."""
    assert {} == named_though(READS_FINDINGS, FINDINGS, WORDS)


def test_a_word_with_another_meaning_is_there() -> None:
    """The tables hold no word that is gone; so a kind that is named by a text is noticed too."""
    places = [*OTHER_MEANINGS, *WORDS]

    assert places == [(path, word) for path, word in places if named_kinds(ROOT / "commission" / path, {word})]


def test_every_request_stands_in_the_table() -> None:
    """Each has one row, by somebody who fulfils it; what is written of an answer is what gives the answer back.

    A soak is written stretch by stretch, and no phase with one is worked out again. Of a sheet each question is written
    like any other, as one that is known.
    """
    assert set(get_args(Request)) == set(REQUESTS)
    answered = {request for request, row in REQUESTS.items() if row.holds is not None}
    assert {request for request, row in REQUESTS.items() if row.back is not None} == answered - {Recall}
    assert {By.SAYING, By.BOOK, By.LINE, By.BEFOREHAND} >= {
        row.by for request, row in REQUESTS.items() if request not in (*answered, Soak, Form)
    }
    assert set(By) == {row.by for row in REQUESTS.values()}
