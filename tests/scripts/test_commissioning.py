"""The campaign as a whole: it drives the tool's own procedures, is repeatable, and ends in time."""

import ast
import json
import re
import subprocess
import sys
from collections.abc import Generator
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from commission.asking.message import Tell
from commission.asking.request import Confirm, Hold, Watch
from commission.asking.response import WatchTaken
from commission.records.book import Book
from commission.records.history import runs
from scripts.commissioning.adapter import Adapter, Record, loop_check_once
from scripts.commissioning.campaign import Order, carry_out, pieces, play
from scripts.commissioning.chance import chance_of
from scripts.commissioning.circuit import Wiring
from scripts.commissioning.figures import Figure
from scripts.commissioning.hands import Hands
from scripts.commissioning.kinds import KINDS
from scripts.commissioning.person import Cheat, Habits, Person, Plug
from scripts.commissioning.plant import Plant
from scripts.commissioning.record import MOST_RUNS, Pages, PlantClock, commission_in
from scripts.commissioning.unit import Unit
from scripts.commissioning.untaught import Untaught
from scripts.simulate_commissioning import main, result

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / "scripts" / "commissioning"
SCRIPT = ROOT / "scripts" / "simulate_commissioning.py"
KNOW_THE_TOOL = {"adapter.py", "readings.py", "record.py"}
MARKED = re.compile(r"(/\d{4}-\d\d-\d\d/\d+)-\w+")
SOUND, DANGER = Unit(), Unit(Wiring(closes_when_in=False, absent_high=False))


def at(unit: Unit, habits: Habits, seed: int = 1) -> Hands:
    """A person with these habits at this unit."""
    chance = chance_of(seed)
    return Hands(Plant(unit, chance), Person(habits, chance))


@pytest.mark.parametrize(("unit", "verdict", "polarity"), [(SOUND, "pass", "direct"), (DANGER, "fail", "direct")])
def test_the_real_loop_check_is_driven(unit: Unit, verdict: str, polarity: str) -> None:
    """In careful hands a sound unit passes, and two errors that cancel fail in the unplug test."""
    came = loop_check_once(at(unit, Habits()), seed=3)

    assert ("complete", verdict, polarity) == (came.ended, came.verdict, came.polarity)
    assert ((), ("unplugged",))[verdict == "fail"] == came.failed


def test_a_wrong_plug_is_pulled_to_the_end() -> None:
    """Who pulls another plug each time gets no verdict on a broken wire, and the sensor stays plugged in."""
    hands = at(SOUND, Habits(pulls=Plug.WRONG))
    came = loop_check_once(hands, seed=3)

    assert "not judged" == came.verdict
    assert "plugged in" == hands.plant.link


def test_a_restart_breaks_the_loop_check_off() -> None:
    """A supply that the switch shorts ends it as the conductor would: by an interruption."""
    came = loop_check_once(at(Unit(Wiring(supply_short=True)), Habits()), seed=3)

    assert "the board restarted" == came.ended == came.verdict


def _asks(request: Any) -> Generator[Any, Any, None]:
    yield Tell(("Nothing is expected back.",))
    yield request


@pytest.mark.parametrize(
    "request_",
    [
        Confirm("new.question", "Is it so?"),
        Watch("new.watch", "Look", (), "filament", None, 1.0, 10),
        Hold("new.hold", "Stop", ("Wait.",), "Done?", power=True),
    ],
    ids=lambda request: request.key,
)
def test_an_unknown_request_is_never_answered_by_luck(request_: Any) -> None:
    """A question, watch or hold point that is not in the tables ends the campaign and says where to teach it."""
    with pytest.raises(Untaught, match=f"{request_.key}: say in the campaign's adapter"):
        Adapter(at(SOUND, Habits()), Record()).drive(_asks(request_))


@pytest.mark.parametrize(("interval_s", "readings"), [(0.1, 601), (0.0, 8752)])
def test_a_watch_is_as_dense_as_it_asks(interval_s: float, readings: int) -> None:
    """A minute is read ten times a second, or as fast as the wire brings 79 bytes at 115200 baud: 60 s in 6.86 ms."""
    request = Watch("wiggle", "Wiggle", (), "filament", None, 60.0, 600, interval_s)
    taken: list[WatchTaken] = []

    def watched() -> Generator[Any, Any, None]:
        taken.append((yield request))

    Adapter(at(SOUND, Habits()), Record()).drive(watched())

    assert readings == pytest.approx(len(taken[0].readings), abs=3)
    assert 60 <= taken[0].seconds < 60.1


def test_who_breaks_off_takes_the_same_run_up() -> None:
    """However often it is ended on the way, the book holds one run, taken up again each time, and its one verdict."""
    hands = at(SOUND, Habits(breaks_off=0.03))
    with Pages(PlantClock(hands)) as book:
        came = commission_in(book, hands, chance_of(8))
        kinds = [row.kind for row in book.rows()]
        found = runs(book)

    assert came.verdict == found[0].verdict.value
    assert came.verdict != "fail"
    assert 1 == kinds.count("run_started") == len(found)
    assert 1 <= kinds.count("run_resumed") == kinds.count("phase_abandoned")
    assert ["complete"] == [run.outcome.value for run in found]


def test_pages_in_memory_are_those_on_the_disk(tmp_path: Path) -> None:
    """The same person at the same unit leaves the same entries in either book; on the disk runs have a mark."""
    left = []
    for make in (Pages, partial(Book, tmp_path / "book.sqlite3")):
        hands = at(SOUND, Habits(breaks_off=0.03), seed=6)
        with make(PlantClock(hands)) as book:
            commission_in(book, hands, chance_of(8))
            left.append([(row.kind, row.at, MARKED.sub(r"\1", row.payload), row.raw) for row in book.rows()])

    assert left[0] == left[1]


def test_who_runs_again_writes_one_run_each_time() -> None:
    """A unit that always fails never passes, and each of the runs that a patient person makes of it is in the book."""
    hands = at(DANGER, Habits(cheat=Cheat.AGAIN))
    with Pages(PlantClock(hands)) as book:
        commission_in(book, hands, chance_of(8))
        found = runs(book)

    assert 2 <= len(found) <= MOST_RUNS
    assert "pass" not in {run.verdict.value for run in found}


def test_the_same_seed_gives_the_same_rows() -> None:
    """However the pieces are shared out over processes, the counts are the same; another seed gives others."""
    names = tuple(name for name in KINDS if name.startswith("lever sticks in 5 %"))
    one, two, other = (
        carry_out(Order(runs=40, seed=seed, kinds=names, processes=processes)).rows
        for seed, processes in ((3, 1), (3, 2), (4, 1))
    )

    assert one == two
    assert one != other


def test_a_single_commissioning_can_be_shown_again() -> None:
    """A kind, a number and a seed name one commissioning: it comes out as it did in the campaign."""
    kind = KINDS["lever sticks in 10 % of withdrawals"]

    again = [play(kind, 5, seed=2)[0] for _ in range(2)]

    assert again[0].findings == again[1].findings
    assert "acceptance" in again[0].findings


def test_a_campaign_without_time_does_nothing() -> None:
    """Time that is up before the first piece leaves every row empty, and that is said."""
    done = carry_out(Order(runs=50, seed=1, most_s=-1.0))

    assert not done.whole
    assert 0 == sum(row.runs for row in done.rows)


def test_pieces_hold_every_commissioning_once() -> None:
    """Together the pieces are the numbers from 0 of every kind, without gap or overlap."""
    numbers: dict[str, list[int]] = {}
    for piece in pieces(Order(runs=333, seed=1)):
        numbers.setdefault(piece.kind, []).extend(range(piece.first, piece.last))

    assert {name: list(range(kind.runs(333))) for name, kind in KINDS.items()} == numbers


def _imports(path: Path) -> set[str]:
    """The packages a file imports."""
    tree = ast.parse(path.read_text())
    froms = {node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    plain = {alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names}
    return {name.split(".")[0] for name in froms | plain}


def test_the_plant_does_not_know_the_tool() -> None:
    """Three files know the tool, none the other simulator; so an error of theirs cannot hide here."""
    files = sorted(FOLDER.glob("*.py"))

    assert KNOW_THE_TOOL == {path.name for path in files if "commission" in _imports(path)}
    assert not any("fake_printer" in _imports(path) for path in files)


@pytest.mark.parametrize("path", [*sorted(FOLDER.glob("*.py")), SCRIPT], ids=lambda path: path.name)
def test_a_file_is_what_one_reader_holds(path: Path) -> None:
    """No file of the campaign is longer than 300 lines."""
    assert len(path.read_text().splitlines()) <= 300


def test_a_campaign_is_told_in_the_shape_of_all() -> None:
    """Name, figures tried, held and broken, seed and lines; one that chance may have moved is in none of the counts."""
    order = Order(runs=10, seed=2, kinds=("sound: changeover contact, pull up",))
    rows = carry_out(order).rows
    decided = [
        Figure("a", 0, 5, "none", "held"),
        Figure("b", 1, 5, "none", "OFF"),
        Figure("c", 0, 0, "none", "too few"),
    ]
    told = result(order, rows, [*decided, Figure("d", 2, 9, "at most 14.3%", "unclear")])

    assert ("commissioning", 3, 1, 2, 2) == (told.name, told.tried, told.held, told.broken, told.seed)
    assert told.lines[0].startswith("5 commissionings of 1 kinds, seed 2.")
    assert any(line.startswith("sound: changeover contact, pull up") for line in told.lines)


def command(*words: str) -> "subprocess.CompletedProcess[str]":
    """The script as a person starts it."""
    return subprocess.run(
        [sys.executable, str(SCRIPT), "--processes", "1", *words],
        capture_output=True,
        text=True,
        check=False,
        timeout=50,
    )


def test_the_script_prints_rows_and_figures(tmp_path: Path) -> None:
    """Four sound units pass, four with a pull to ground where a resistor may be laid; the exit code is 0."""
    file = tmp_path / "counts.json"
    done = command("--only", "sound: contact", "--runs", "8", "--json", str(file))
    written = json.loads(file.read_text())

    assert 0 == done.returncode
    assert "8 commissionings of 2 kinds, seed 1." in done.stdout
    assert {"held"} == {figure["state"] for figure in written["figures"]}
    assert [{"pass": 4}, {"pass": 1, "conditional pass": 3}] == [row["verdicts"] for row in written["kinds"]]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--only", "no such kind"), "no kind has 'no such kind' in its name"),
        (("--runs", "0"), "--runs takes 1 to 1000000"),
        (("--slips", "2"), "--slips takes 0 to 0.2"),
        (("--show", "1"), "--show takes --only with one kind"),
    ],
)
def test_a_wrong_option_says_what_to_do(words: tuple[str, ...], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Bad input ends with exit code 2 and a sentence."""
    with pytest.raises(SystemExit) as ended:
        main(list(words))

    assert 2 == ended.value.code
    assert said in capsys.readouterr().err


def test_one_commissioning_is_printed_whole(capsys: pytest.CaptureFixture[str]) -> None:
    """Shown by its number, a commissioning tells its unit, what is wrong with it, and every criterion."""
    code = main(["--only", "fail-danger: changeover", "--show", "7"])
    shown = json.loads(capsys.readouterr().out)

    assert 0 == code
    assert ["fail-danger"] == shown["harms"]
    assert "fail" == shown["verdict"] == shown["findings"]["acceptance"]["verdict"]
