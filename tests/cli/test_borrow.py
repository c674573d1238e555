"""`commission borrow` as it is typed, on a pseudo-terminal of the simulated printer, in simulated time."""

import subprocess
from collections.abc import Sequence
from pathlib import Path

from commission.clock import SystemClock
from commission.evidence.findings.borrow import BorrowPredicted, SocketHandedBack
from commission.evidence.found import Established
from commission.records.book import Book
from tests.support.fake_process import FakeProcess, running_printer
from tests.support.loaded_tool import carried_out
from tests.support.stepped_time import stepped

OFF, ON = (("mains", "off"), ("usb", "out")), (("usb", "in"),)
EMPTY = (*OFF, ("own-plug", "x_max", "out"), *ON)
BACK = (*OFF, ("plug-into", "runout"), ("own-plug", "x_max", "in"), ("mains", "on"), *ON)
HANDS: list[tuple[str, str, Sequence[Sequence[str]]]] = [
    ("borrow.socket", "x_max", ()),
    ("borrow.press", "done", (("own-switch", "x_max", "hit"),)),
    ("borrow.let_go", "done", (("own-switch", "x_max", "free"),)),
    ("borrow.meter.hold", "released", EMPTY),
    ("borrow.empty", "released", EMPTY),
    ("borrow.lay", "yes", (("lay-at", "x_max", "1k"),)),
    ("borrow.plug", "released", (*OFF, ("lay-at", "x_max", "nothing"), ("plug-into", "x_max"), *ON)),
    ("borrow.back", "released", BACK),
    ("borrow.ready", "yes", (("withdraw",),)),
    ("trial.insert", "done", (("insert",),)),
    ("trial.withdraw", "done", (("withdraw",),)),
    *((f"wiring.{name}", answer, ()) for name, answer in [
        ("sensor", "switch"), ("wires", "2"), ("contact", "NO"), ("to", "ground"), ("pressed-when", "in"),
        ("pull", "up"), ("pull-by", "board"), ("absent", "unknown"), ("logic", "3.3"), ("supply", "3.3"),
        ("stands", "keep"),
    ]),
    *((f"meter.{name}", answer, ()) for name, answer in [
        ("supply_ground_*", "open"), ("signal_ground_in", "joined"), ("signal_ground_out", "open"),
        ("header_v", "3.3"),
    ]),
    ("borrow.on_it", "switch", ()),
    ("sign_off.remark", "", ()),
    ("trial.leave", "done", ()),
    ("borrow.rest", "done", ()),
    ("borrow.small", "done", ()),
    ("*", "yes", ()),
]  # fmt: skip
"""Which request is answered how, and what the hands do first."""


def script(left_out: str = "") -> str:
    """The operator's script; at the request `left_out` the hands do nothing but take the power off and on."""
    said = ["format = 1"]
    for request, answer, deeds in HANDS:
        done = (*OFF, ("plug-into", "runout"), ("mains", "on"), *ON) if request == left_out else deeds
        run = [["{python}", "-m", "fake_printer.bench", "{control}", *deed] for deed in done]
        lines = ["[[answer]]", f'request = "{request}"', f'answer = "{answer}"', *([f"run = {run}"] if run else [])]
        said.append("\n".join(lines))
    return "\n\n".join(said).replace("'", '"')


def borrowed(printer: FakeProcess, folder: Path, left_out: str = "") -> "subprocess.CompletedProcess[str]":
    """One run from beginning to end."""
    (folder / "operator.toml").write_text(script(left_out))
    words = ["borrow", "bench-3", "--port", printer.link, "--book", str(folder / "book.sqlite3"), "--plain"]
    words += ["--reports", str(folder), "--operator", str(folder / "operator.toml"), "--by", "R. Okafor"]
    line = stepped(printer.control, *words, "--set", f"control={printer.control}")
    return carried_out(line)


def findings(folder: Path) -> list[object]:
    """Everything that was established; the book must be whole."""
    with Book(folder / "book.sqlite3", SystemClock()) as book:
        assert [] == book.verify()
        return [record.entry.finding for record in book.records(Established)]


def test_a_pass_says_that_it_commissions_nothing(tmp_path: Path) -> None:
    """Exit code 0; the last screen and the report have the conditions of the build, and say what it is not."""
    with running_printer("borrowed-socket", "--unpaced", "--stepped") as printer:
        done = borrowed(printer, tmp_path)
        received = printer.received()

    assert 0 == done.returncode, done.stdout + done.stderr
    assert {"M115", "M27", "M119"} >= {line.split("*")[0].split(" ")[-1] for line in received if "M110" not in line}
    (report,) = tmp_path.glob("*.md")
    text = report.read_text(encoding="utf-8")
    assert "# Report on a borrowed socket, no commissioning: filament-presence sensor" in text
    for said in (text, done.stdout):
        assert "Nothing is commissioned by this run" in " ".join(said.split())
        assert "Level at no filament: high, because with filament out the contact is open" in said
        assert "by the conditions in what was found, reflash, then run" in " ".join(said.split())


def test_an_endstop_left_out_is_no_pass(tmp_path: Path) -> None:
    """Its plug was not put back: exit code 1 for the open item of class A, though a build follows."""
    with running_printer("borrowed-socket", "--unpaced", "--stepped") as printer:
        done = borrowed(printer, tmp_path, left_out="borrow.back")

    assert 1 == done.returncode, done.stdout + done.stderr
    found = findings(tmp_path)
    assert ["high"] == [each.absent and each.absent.value for each in found if isinstance(each, BorrowPredicted)]
    assert [False] == [each.proven for each in found if isinstance(each, SocketHandedBack)]
    assert "is not proven to work again" in done.stdout
