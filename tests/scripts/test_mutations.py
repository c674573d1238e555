"""The tool that mutates code and runs the tests, on a package that was made up for it."""

import json
import tempfile
from pathlib import Path

import pytest

from scripts.mutation.mutants import Mutant, mutants, mutated, run_lines
from scripts.mutation.reached import Reached
from scripts.mutation.trying import Copy, Outcome
from scripts.mutations import draw, equivalents, main

WHOLE = '''\
"""What a hand may lift."""
from functools import cache

LIMIT_KG: int = 25
SAYS = "25 is the limit"


@cache
def may_lift(weight_kg: float, helped: bool = False) -> bool:
    """Whether it may."""
    if not weight_kg > 0:
        raise ValueError(f"{weight_kg + 1} is no weight")
    return weight_kg <= LIMIT_KG or helped and weight_kg < 2 * LIMIT_KG


def note(book: dict, weight_kg: float) -> None:
    """Write it down."""
    book["weight"] = weight_kg
    print(weight_kg)
'''
TESTS = """\
import pytest
from commission.lifting.limits import may_lift, note

def test_the_limit():
    assert may_lift(25) and not may_lift(25.5)
    assert may_lift(49, True) and not may_lift(50, True) and not may_lift(51, True) and not may_lift(50)

def test_a_weight():
    with pytest.raises(ValueError):
        may_lift(0)

def test_notes():
    book = {}
    note(book, 3)
    assert book == {"weight": 3}
"""
REACHED = """\
from functools import cache
def loading():
    return str('loading')
SAYS = loading()
LIMIT = 25
def plain():
    return str('plain')
def shared():
    return str('shared')
@cache
def cached():
    return str('cached')
def child():
    return str('child')
def never():
    return str('never')
"""
REACHING = """\
import subprocess
import sys
import pytest
from commission.lifting.limits import cached, plain, shared

@pytest.fixture(scope="module")
def one():
    return shared()

def test_first_shared(one):
    assert "shared" == one

def test_second_shared(one):
    assert one.islower()

def test_first_cached():
    assert "cached" == cached()

def test_second_cached():
    assert cached().islower()

def test_plain():
    from commission.lifting.late import SAYS
    assert SAYS == plain()

def test_process():
    subprocess.run([sys.executable, "-c", "from commission.lifting.limits import child; child()"], check=True)
"""
QUICK_START = """\
[tool.pytest.ini_options]
addopts = "-p no:hypothesispytest -p no:xdist -p no:asyncio -p no:timeout"
"""
"""Its tests need no plugin: loading them would be most of the work of each mutant."""
EQUIVALENT = """\
format = 1
[[mutant]]
path = "commission/lifting/limits.py"
inside = "note"
before = "print(weight_kg)"
after = "pass"
why = "nobody reads it"
"""


@pytest.fixture(name="root")
def _root(tmp_path: Path) -> Path:
    """A tree with one room of one module, its tests, and one listed mutant."""
    files = {
        "commission/__init__.py": "",
        "commission/lifting/__init__.py": "",
        "commission/lifting/limits.py": WHOLE,
        "tests/lifting/test_limits.py": TESTS,
        "pyproject.toml": QUICK_START,
        "scripts/mutation/equivalent.toml": EQUIVALENT,
    }
    for name, text in files.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(text)
    return tmp_path


def changes(root: Path) -> list[tuple[str, str, str]]:
    """What is mutated in the module, and into what."""
    found = mutants(root / "commission" / "lifting" / "limits.py", root)
    return [(each.inside, each.before, each.after) for each in found]


def test_every_place_of_a_module_is_mutated(root: Path) -> None:
    """Limits, numbers, conditions, results and steps; no annotation, decorator, text, nor what an error says."""
    allowed = "weight_kg <= LIMIT_KG or (helped and weight_kg < 2 * LIMIT_KG)"
    assert [
        ("", "25", "26"),
        ("may_lift", "False", "True"),
        ("may_lift", "not weight_kg > 0", "weight_kg > 0"),
        ("may_lift", "weight_kg > 0", "weight_kg >= 0"),
        ("may_lift", "0", "1"),
        ("may_lift", "raise ValueError(f'{weight_kg + 1} is no weight')", "pass"),
        ("may_lift", f"return {allowed}", "return None"),
        ("may_lift", allowed, "weight_kg <= LIMIT_KG and (helped and weight_kg < 2 * LIMIT_KG)"),
        ("may_lift", "weight_kg <= LIMIT_KG", "weight_kg < LIMIT_KG"),
        ("may_lift", "helped and weight_kg < 2 * LIMIT_KG", "helped or weight_kg < 2 * LIMIT_KG"),
        ("may_lift", "weight_kg < 2 * LIMIT_KG", "weight_kg <= 2 * LIMIT_KG"),
        ("may_lift", "2 * LIMIT_KG", "2 / LIMIT_KG"),
        ("may_lift", "2", "3"),
        ("note", "book['weight'] = weight_kg", "pass"),
        ("note", "print(weight_kg)", "pass"),
    ] == changes(root)


def test_a_mutated_module_differs_in_one_place(root: Path) -> None:
    """Each text has its own mutation and none besides."""
    whole = mutated(WHOLE, 4).replace("if not weight_kg > 1:", "if not weight_kg > 0:")
    texts = [mutated(WHOLE, number) for number in range(len(changes(root)))]

    assert len(texts) == len(set(texts))
    assert all(1 == _differences(text, whole) for text in texts if "> 1" not in text)


def _differences(one: str, other: str) -> int:
    return sum(a != b for a, b in zip(one.splitlines(), other.splitlines(), strict=True))


def test_what_no_test_says_survives(root: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """All but two mutants are found by name, a listed one is not tried, and the tree stays as it was."""
    kept = root / "found.json"

    code = main(["--rooms", "lifting", "--count", "100", "--json", str(kept)], root)

    found = json.loads(kept.read_text())
    survived = [(each["before"], each["after"]) for each in found["mutants"] if each["outcome"] == "survived"]
    by = {each["by"] for each in found["mutants"] if each["outcome"] == "found"}
    assert 0 == code
    assert [("0", "1")] == survived
    assert (13, 1, 1, 0) == tuple(found[name] for name in ("found", "survived", "equivalent", "not_tried"))
    assert {f"tests/lifting/test_limits.py::test_{name}" for name in ("the_limit", "a_weight", "notes")} == by
    assert "13 found, 1 survived, 1 equivalent, 0 not tried (seed 1)" in capsys.readouterr().out
    assert WHOLE == (root / "commission" / "lifting" / "limits.py").read_text()


def test_transcripts_are_asked_before_other_tests(root: Path, tmp_path: Path) -> None:
    """They compare all that a room says, so most mutants fall there; then comes the file called after the module."""
    for name in ("test_transcripts", "test_all", "test_other"):
        names = "from commission.lifting.limits import note" if name == "test_all" else ""
        (root / "tests" / "lifting" / f"{name}.py").write_text(f"{names}\n")
    folder = tmp_path / "copy"
    folder.mkdir()
    mutant = draw(root, ["lifting"], 1, 1)[0]

    with Copy(root, folder, 60.0) as copy:
        near, rest = ([file.stem for file in files] for files in (copy.near(mutant), copy.rest(mutant)))

    assert ["test_transcripts", "test_limits", "test_all"] == near
    assert ["test_other"] == rest


def test_the_lines_that_run_a_mutant_are_told() -> None:
    """Those of its statement, without the statements in it; what runs as the module loads has none."""
    text = """\
LIMIT = 1
class Hand:
    size = 2
    def grips(self, weight=3, *, most=(lambda: 4)):
        if (weight > 5
                or weight < 6):
            return 7
        for each in range(8): weight -= 9
        match weight:
            case 10 if most() > 11:
                return 12
        def inner(more=13):
            return 14
        class Inner:
            size = 15
            def holds(self):
                while True:
                    raise ValueError
"""
    numbers = {each.before: run_lines(text, each.number) for each in mutants_of(text) if each.before.isdigit()}

    assert dict.fromkeys("1234") == {number: numbers[number] for number in "1234"}
    assert (range(5, 7), range(5, 7), range(7, 8)) == tuple(numbers[number] for number in "567")
    assert (range(8, 9), range(8, 9)) == (numbers["8"], numbers["9"])
    assert (range(9, 12), range(9, 12), range(11, 12)) == tuple(numbers[number] for number in ("10", "11", "12"))
    assert (range(12, 13), range(13, 14), range(15, 16)) == tuple(numbers[number] for number in ("13", "14", "15"))
    assert range(17, 18) == next(run_lines(text, each.number) for each in mutants_of(text) if "True" == each.before)


def mutants_of(text: str) -> list[Mutant]:
    """The mutants of a module with this text."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "module.py"
        path.write_text(text)
        return mutants(path, Path(folder))


def test_a_mutant_meets_the_tests_that_run_it(root: Path, tmp_path: Path) -> None:
    """A fixture of several tests, a cache and another process hide none; what runs in no test is tried by the room."""
    (root / "commission" / "lifting" / "limits.py").write_text(REACHED)
    (root / "commission" / "lifting" / "late.py").write_text("def late():\n    return str('plain')[:]\nSAYS = late()\n")
    (root / "tests" / "lifting" / "test_limits.py").write_text(REACHING)
    folder = tmp_path / "copy"
    folder.mkdir()

    with Copy(root, folder, 60.0) as copy:
        by_word = {each.before: each for each in draw(root, ["lifting"], 100, 1)}
        assert copy.reaching(by_word["return str('plain')"]) is None
        copy.check(["lifting"])
        met = {word: copy.reaching(mutant) for word, mutant in by_word.items()}
        never = copy.try_out(by_word["return str('never')"], met["return str('never')"] or ["is not tried by all"])

    def tests(*names: str) -> set[str]:
        return {f"tests/lifting/test_limits.py::test_{name}" for name in (*names, "process")}

    assert tests("plain") == set(met["return str('plain')"] or ())
    assert tests("first_shared", "second_shared") == set(met["return str('shared')"] or ())
    assert tests("first_cached", "second_cached") == set(met["return str('cached')"] or ())
    assert tests() == set(met["return str('child')"] or ())
    assert "tests/lifting/test_limits.py::test_process" == (met["return str('plain')"] or [""])[-1]
    assert [None] * 3 == [met[word] for word in ("return str('loading')", "25", "return str('plain')[:]")]
    assert tests() == set(met["return str('never')"] or ())
    assert Outcome.SURVIVED is never.outcome


def test_every_user_may_read_the_copy(root: Path, tmp_path: Path) -> None:
    """What a test starts as another user must load the mutated code, and not what is installed."""
    folder = tmp_path / "copy"
    folder.mkdir(mode=0o700)
    with Copy(root, folder, 60.0):
        assert {0o755} == {each.stat().st_mode & 0o777 for each in (folder, folder / "tree")}


def test_quick_tests_are_asked_first() -> None:
    """The net of the room comes before all, then by time; what a file begins anew is together, processes are last."""
    names = ("test_a.py::slow", "test_a.py::quick", "test_transcripts.py::net", "test_b.py::x", "test_c.py::y")
    more = ("test_b.py::z", "test_d.py::child")
    reached = Reached(
        {
            "lines": {
                "one.py": {"4": [names[0], names[3], names[4]], "5": [*names[1:3], more[0]], "9": ["", names[0]]}
            },
            "starting": [more[1], names[1]],
            "begun_anew": [names[3], more[0], names[4]],
            "seconds": dict(zip((*names, *more), (3.0, 1.0, 9.0, 0.1, 0.0, 0.2, 0.5), strict=True)),
        }
    )

    expected = [names[2], names[1], names[0], names[3], more[0], names[4], more[1]]
    assert expected == reached.by("one.py", range(4, 6))
    assert [more[1], names[1]] == reached.by("one.py", range(7, 8)) == reached.by("other.py", range(4, 6))
    assert reached.by("one.py", range(9, 10)) is None


def test_a_mutant_that_keeps_tests_from_loading_is_found(root: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What all tests load first breaks at once; pytest calls that wrong usage."""
    (root / "commission" / "lifting" / "limits.py").write_text("LIMIT_KG = 25\n")
    limit = "from commission.lifting.limits import LIMIT_KG\n\n"
    (root / "tests" / "conftest.py").write_text(f"{limit}assert LIMIT_KG == 25\n")
    (root / "tests" / "lifting" / "test_limits.py").write_text(f"{limit}def test_a_limit():\n    assert LIMIT_KG\n")

    assert 0 == main(["--rooms", "lifting", "--count", "100"], root)
    assert "25  ->  26   [the tests cannot be loaded]" in capsys.readouterr().out


def test_a_loop_without_an_end_is_found(root: Path, tmp_path: Path) -> None:
    """A test that would run for ever is ended, and the mutant has been noticed."""
    (root / "pyproject.toml").write_text('[tool.pytest.ini_options]\ntimeout_method = "thread"\n')
    module = root / "commission" / "lifting" / "limits.py"
    module.write_text("def halves(size: int) -> int:\n    while size > 1:\n        size //= 2\n    return size\n")
    (root / "tests" / "lifting" / "test_limits.py").write_text(
        "from commission.lifting.limits import halves\n\ndef test_halves():\n    assert 1 == halves(8)\n"
    )
    folder = tmp_path / "copy"
    folder.mkdir()
    left_out = next(each for each in mutants(module, root) if "pass" == each.after)

    with Copy(root, folder, 60.0, hangs_s=2.0) as copy:
        tried = copy.try_out(left_out, copy.near(left_out))

    assert (Outcome.FOUND, "a test does not end") == (tried.outcome, tried.by)


def test_tests_that_fail_already_show_nothing(root: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Before anything is mutated the tests of the room have to pass."""
    (root / "tests" / "lifting" / "test_other.py").write_text("def test_no():\n    assert False\n")

    assert 1 == main(["--rooms", "lifting"], root)
    assert "The tests of lifting fail without any mutation" in capsys.readouterr().err


def test_the_same_seed_draws_the_same(root: Path) -> None:
    """Another seed draws others; none is drawn twice."""
    first = draw(root, ["lifting"], 5, 1)

    assert first == draw(root, ["lifting"], 5, 1)
    assert first != draw(root, ["lifting"], 5, 2)
    assert 5 == len(set(first))


def test_what_cannot_be_asked_for_is_refused(root: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A room that is not there is named; so is a count of none, and a list with a mutant that lacks its reason."""
    for words in (["--rooms", "cellar"], ["--count", "0"], ["--minutes", "nan"]):
        with pytest.raises(SystemExit, match="2"):
            main(words, root)
    assert "there is no room 'cellar' in commission/" in capsys.readouterr().err
    with pytest.raises(ValueError, match="path, inside, before, after, why"):
        equivalents(EQUIVALENT.replace("why =", "because ="))
