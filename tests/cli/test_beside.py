"""`check --all` and `soak --all` as they are typed, on simulated printers in a process of their own."""

import json
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest
from click.testing import CliRunner

from commission.cli import main
from commission.cli.exit_codes import NO_CONSENT, NOT_A_PASS, NOT_FINISHED, PASSED, PRINTING, STOPPED, WRONG_USAGE
from commission.evidence.findings.meeting import Consent
from commission.evidence.runs import Opened
from commission.evidence.soaked import SoakBegan, SoakStretch
from commission.judge.nuisance import Around
from commission.records.book import Book
from commission.records.history import runs
from commission.vocabulary import Outcome
from tests.cli.bench import Folder, Said
from tests.records.books import Workshop
from tests.support.fake_process import FakeFleet, FakeProcess, running_fleet, running_printer
from tests.support.fake_time import FakeClock
from tests.support.loaded_tool import carried_out
from tests.support.made import begun
from tests.support.patience import PATIENCE_S
from tests.support.stepped_time import stepped

FLEET = """\
format = 1

[[units]]
unit = "sound"
name = "bench-{n}"
port = "tcp"
count = 3
paced = false
speed_factor = 20

[[units]]
unit = "sound"
name = "corner"
port = "rfc2217"
paced = false
speed_factor = 20
"""


@pytest.fixture(name="fleet", scope="module")
def _fleet(tmp_path_factory: pytest.TempPathFactory) -> Iterator[FakeFleet]:
    """Four sound printers with filament in: three on plain sockets, one behind RFC 2217."""
    file = tmp_path_factory.mktemp("fleet") / "fleet.toml"
    file.write_text(FLEET)
    with running_fleet(file) as fleet:
        for printer in fleet.printers.values():
            printer.do("insert")
        yield fleet


class Benches:
    """A folder with a book and a roster: each printer on record as it is told."""

    def __init__(self, place: Path, ports: Mapping[str, str]) -> None:
        self.folder = Folder(place)
        self._workshop = Workshop(place)
        self._ports = ports
        named = {tag: f'port = "{port}"\n' if port else "" for tag, port in ports.items()}
        blocks = [f'[[printer]]\ntag = "{tag}"\n{port}' for tag, port in named.items()]
        (place / "roster.toml").write_text("format = 1\n" + "\n".join(blocks))

    def on_record(self, tag: str, *, consent: bool = True, restarted: bool | None = False) -> None:
        """A passed installation; `restarted` says what opening its port did, None for a port that was never opened."""
        number = f"{tag}/2031-03-14/1"
        self._workshop.whole_run(number, tag=tag)
        self._workshop.find(number, Consent, granted=consent, by="R. Okafor")
        if restarted is not None:
            self._workshop.book.append(number, Opened(port=self._ports[tag], restarted=restarted))

    def call(self, *words: str) -> Said:
        """One command on all of them."""
        self._workshop.book.close()
        return self.folder.call(*words, "--all", "--roster", "roster.toml")


def codes(said: Said) -> dict[str, int]:
    """The exit code of each printer, from the events on the error stream."""
    events = [json.loads(line) for line in said.error.splitlines()]
    return {event["printer"]: event["code"] for event in events if event["event"] == "ended"}


def test_a_workshop_is_checked_in_one_command(tmp_path: Path, fleet: FakeFleet) -> None:
    """Sockets and RFC 2217 in one go; without consent, on a dead network and at a port that restarts, nothing is."""
    with socket.socket() as nobody:
        nobody.bind(("127.0.0.1", 0))  # a port that is taken, and at which nobody listens
        dead = f"socket://127.0.0.1:{nobody.getsockname()[1]}"
        names = ("bench-1", "corner", "bench-2", "bench-3")
        benches = Benches(tmp_path, {**{name: fleet.printers[name].link for name in names}, "dead": dead, "new": ""})
        for tag in ("bench-1", "corner", "dead"):
            benches.on_record(tag)
        benches.on_record("bench-2", consent=False)
        benches.on_record("bench-3", restarted=True)
        said = benches.call("check", "--steady", "1", "--json")

    found = codes(said)
    expected = {"bench-2": NO_CONSENT, "bench-3": NO_CONSENT, "dead": NOT_FINISHED, "new": WRONG_USAGE}
    assert expected == {tag: found[tag] for tag in expected}, said
    assert {found["bench-1"], found["corner"]} <= {PASSED, NOT_A_PASS}, said
    drawn = {tag for tag in ("bench-1", "corner") if list(tmp_path.glob(f"{tag}-*.html"))}
    assert drawn == {tag for tag in ("bench-1", "corner") if found[tag] != PASSED}, "of those that did not pass"
    assert [] == fleet.printers["bench-2"].received() == fleet.printers["bench-3"].received()
    assert WRONG_USAGE == said.code
    shown = [each["tag"] for each in json.loads(said.output)["printers"]]
    assert "new" == shown[0], "the most urgent comes first"
    assert "When socket://" in said.error
    assert "the board restarted. Opening it can restart the board" in said.error
    with Book(benches.folder.book, FakeClock(), reads_only=True) as book:
        assert ["install", "condition check"] == [run.purpose for run in runs(book, "corner")]
        assert [] == book.verify()


def test_a_port_that_restarts_is_opened_when_told(tmp_path: Path, fleet: FakeFleet) -> None:
    """--may-restart is that word; a port that no run has opened is one that could restart the board too."""
    ports = {"bench-2": fleet.printers["bench-2"].link}
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    refused, told = Benches(tmp_path / "a", ports), Benches(tmp_path / "b", ports)
    refused.on_record("bench-2", restarted=None)
    told.on_record("bench-2", restarted=None)

    assert {"bench-2": NO_CONSENT} == codes(refused.call("check", "--steady", "1", "--json"))
    assert codes(told.call("check", "--steady", "1", "--json", "--may-restart"))["bench-2"] in (PASSED, NOT_A_PASS)


def test_a_signal_ends_all_checks_in_order(tmp_path: Path, fleet: FakeFleet) -> None:
    """Each run has its end in the book, the overview is shown, and no port stays open."""
    tags = ("bench-1", "corner")
    benches = Benches(tmp_path, {tag: fleet.printers[tag].link for tag in tags})
    for tag in tags:
        benches.on_record(tag)
    words = ("check", "--all", "--roster", "roster.toml", "--steady", "600", "--book", str(benches.folder.book))
    command = [sys.executable, "-m", "commission", *words]
    pipe = subprocess.PIPE
    with subprocess.Popen(command, stdout=pipe, stderr=pipe, text=True, cwd=tmp_path) as process:
        waiting = set(tags)
        while waiting and process.stderr is not None:
            line = process.stderr.readline()
            assert line, "it ended by itself"
            waiting -= {line.partition(":")[0]} if "is the reading steady" in line else set()
        process.send_signal(signal.SIGTERM)
        output, error = process.communicate(timeout=PATIENCE_S)

    assert STOPPED == process.returncode, error
    assert [f"{tag}: exit code 130" in error for tag in tags] == [True] * 2
    assert "in date" in output
    with Book(benches.folder.book, FakeClock(), reads_only=True) as book:
        assert {Outcome.STOPPED} == {runs(book, tag)[-1].outcome for tag in tags}


@pytest.fixture(name="printer")
def _printer() -> Iterator[FakeProcess]:
    """A sound printer whose time passes as it is told to, with filament in."""
    with running_printer("sound", "--tcp", "0", "--unpaced", "--stepped") as printer:
        printer.do("insert")
        printer.pass_time(5.0)
        yield printer


def test_a_workshop_is_soaked_in_one_command(tmp_path: Path, printer: FakeProcess) -> None:
    """One is soaked, gently; one whose print may still run is a finding of its own, and its port is left alone."""
    benches = Benches(tmp_path, {"bench-3": printer.link, "bench-4": "socket://127.0.0.1:9"})
    benches.on_record("bench-3")
    benches.on_record("bench-4")
    with Book(benches.folder.book, FakeClock()) as book:
        run = "bench-4/2031-03-15/1"
        book.append(run, begun(run, "soak", tag="bench-4"))
        book.append(run, SoakBegan(switch="filament", seconds=7200.0))
        beside = SoakStretch(began_s=0.0, ended_s=10.0, around=Around.PRINTING, repeated=(), exposure_s=9.0)
        book.append(run, beside)
    words = ("soak", "--all", "--roster", str(tmp_path / "roster.toml"), "--for", "1m", "--json", "--reports")
    line = stepped(printer.control, *words, str(tmp_path), "--book", str(benches.folder.book))
    done = carried_out(line)

    said = Said(done.returncode, done.stdout, done.stderr)
    assert {"bench-3": PASSED, "bench-4": PRINTING} == codes(said), said
    asked = [line for line in printer.received() if line.startswith("M119")]
    assert 590 <= len(asked) <= 630, "ten questions a second for a minute"
    assert 1 == len(list(tmp_path.glob("bench-3-*.html")))


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("check", "--all", "bench-3"), "leave out TAG and --port"),
        (("check", "--all", "--port", "/dev/ttyEX0"), "leave out TAG and --port"),
        (("check", "--all", "--full"), "leave out --full"),
        (("check", "--all"), "No roster is named"),
        (("check", "bench-3"), "Give the printer's TAG and its --port; or --all with a roster."),
        (("check",), "Give the printer's TAG and its --port; or --all with a roster."),
        (("check", "bench-3", "--port", "/dev/ttyEX0", "--may-restart"), "go with --all"),
        (("soak", "--all", "bench-3"), "leave out TAG and --port"),
        (("soak",), "Give the printer's TAG and its --port; or --all with a roster."),
    ],
)
def test_what_does_not_go_together_is_wrong_usage(words: tuple[str, ...], said: str) -> None:
    """Nothing is begun, and what to do is said."""
    done = CliRunner().invoke(main, list(words), env={"COMMISSION_ROSTER": ""})

    assert WRONG_USAGE == done.exit_code
    assert said in " ".join(done.output.split())
