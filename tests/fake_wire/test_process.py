"""The simulated printer as the process a person or a test starts."""

import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest
import serial

from fake_printer.profile import profile_names
from tests.support.fake_process import BenchRefused, FakeProcess, running_printer
from tests.support.patience import PATIENCE_S

posix_only = pytest.mark.skipif(sys.platform == "win32", reason="this system has no pseudo-terminals")
COMMAND = [sys.executable, "-m", "fake_printer"]
QUICK = ("--unpaced", "--speed-factor", "20")


def run(*arguments: str, typed: str = "") -> "subprocess.CompletedProcess[str]":
    """Run the process to its end."""
    return subprocess.run(
        [*COMMAND, *arguments], input=typed, capture_output=True, text=True, timeout=PATIENCE_S, check=False
    )


def ask(printer: FakeProcess, line: bytes, *, within_s: float = PATIENCE_S) -> bytes:
    """Open the port, send a line until it is answered, and return everything up to the first `ok`."""
    heard = b""
    with serial.serial_for_url(printer.link, baudrate=115200, timeout=0.2) as host:
        end = time.monotonic() + within_s
        while b"ok" not in heard and time.monotonic() < end:
            host.write(line + b"\n")
            heard += host.read_until(b"ok")
    return heard


def test_the_list_names_every_unit_with_a_sentence() -> None:
    """Each shipped unit has one line, which begins with its name."""
    done = run("--list")
    assert 0 == done.returncode
    assert profile_names() == [line.split()[0] for line in done.stdout.splitlines()]
    assert all(len(line.split()) > 2 for line in done.stdout.splitlines())


@pytest.mark.parametrize(
    ("arguments", "advice"),
    [
        (["no-such-unit"], "sound"),
        (["no-such-file.toml"], "no-such-file.toml"),
        ([], "--list"),
        (["sound", "--tcp", "0", "--rfc2217", "0"], "not allowed with"),
        (["sound", "--tcp", "70000"], "Choose another"),
        (["sound", "--tcp", "0", "--speed-factor", "0"], "speed factor"),
        (["sound", "--tcp", "0", "--state-file", "/"], "/"),
        pytest.param(["sound", "--pty", "/no-such-folder/port"], "another folder", marks=posix_only),
    ],
)
def test_what_cannot_be_run_is_refused_with_advice(arguments: list[str], advice: str) -> None:
    """A wrong command ends with exit code 2 and one sentence that says what to do, never a traceback."""
    done = run(*arguments)
    assert 2 == done.returncode
    assert advice in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    ("options", "start"),
    [
        pytest.param((), "/", marks=posix_only),
        (("--tcp", "0"), "socket://127.0.0.1:"),
        (("--rfc2217", "0"), "rfc2217://127.0.0.1:"),
    ],
)
def test_a_host_is_answered_over_every_kind_of_port(options: tuple[str, ...], start: str) -> None:
    """The link that is printed can be opened and the printer behind it answers."""
    with running_printer("sound", *QUICK, *options) as printer:
        assert printer.link.startswith(start)
        assert b"FIRMWARE_NAME:" in ask(printer, b"M115")
        assert "M115" in printer.received()
        assert 1 == printer.state()["port"]["openings"]


def test_the_hands_change_what_the_printer_reads() -> None:
    """Filament that was inserted is read as present by the sound unit, and withdrawn as absent."""
    with running_printer("sound", *QUICK, "--tcp", "0") as printer:
        printer.do("insert")
        printer.wait_until(lambda state: state["presence"] == "in")
        assert b"filament: TRIGGERED" in ask(printer, b"M119")
        printer.do("withdraw")
        printer.wait_until(lambda state: state["presence"] == "out")
        assert b"filament: open" in ask(printer, b"M119")


def test_the_hands_refuse_nonsense_with_advice() -> None:
    """A deed nobody knows is refused with advice, and the printer goes on."""
    with running_printer("sound", *QUICK, "--tcp", "0") as printer:
        with pytest.raises(BenchRefused, match="juggle"):
            printer.do("juggle")
        assert printer.do("insert")


@posix_only
def test_pulling_the_plug_takes_the_name_away_until_it_is_back(tmp_path: Path) -> None:
    """The device file is gone while the plug is out and there again, under the same name, after."""
    link = tmp_path / "port"
    with running_printer("sound", *QUICK, "--pty", str(link)) as printer:
        assert str(link) == printer.link
        printer.do("usb", "out")
        printer.wait_until(lambda state: not state["port"]["plugged"])
        assert not link.is_symlink()
        printer.do("usb", "in")
        printer.wait_until(lambda state: bool(state["port"]["plugged"]))
        assert b"FIRMWARE_NAME:" in ask(printer, b"M115")
    assert not link.is_symlink()


def test_the_process_ends_with_its_parent() -> None:
    """When its standard input is closed it ends by itself, with exit code 0, and answers nobody any more."""
    with running_printer("sound", *QUICK, "--tcp", "0") as printer:
        assert 0 == printer.stop()
        host, _, port = printer.control.rpartition(":")
        with pytest.raises(OSError, match="refused"):
            socket.create_connection((host, int(port)), timeout=PATIENCE_S).close()


def test_the_process_ends_when_the_bench_says_so() -> None:
    """The word stop is answered before the end."""
    with running_printer("sound", *QUICK, "--tcp", "0") as printer:
        assert printer.do("stop")
        assert 0 == printer.process.wait(PATIENCE_S)


@posix_only
@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_a_signal_ends_it_cleanly(tmp_path: Path, number: signal.Signals) -> None:
    """A signal ends the process with exit code 0 and nothing is left of its port."""
    with running_printer("sound", *QUICK, "--pty", str(tmp_path / "port")) as printer:
        os.kill(printer.process.pid, number)
        assert 0 == printer.process.wait(PATIENCE_S)
    assert [] == list(tmp_path.iterdir())


def test_a_printer_that_was_killed_is_no_trouble_for_the_next(tmp_path: Path) -> None:
    """After a kill the same name or number can be used again."""
    options = ("--tcp", "0") if sys.platform == "win32" else ("--pty", str(tmp_path / "port"))
    for _ in range(2):
        with running_printer("sound", *QUICK, *options) as printer:
            assert b"FIRMWARE_NAME:" in ask(printer, b"M115")
            printer.kill()


def test_stored_settings_survive_in_the_state_file(tmp_path: Path) -> None:
    """What one process stored with M500 the next one reports after its start; the first starts as the unit says."""
    options = (*QUICK, "--tcp", "0", "--state-file", str(tmp_path / "memory.bin"))
    with running_printer("sound", *options) as printer:
        assert b"E95.4" in ask(printer, b"M503")
        ask(printer, b"M92 E123.45\nM500")
        printer.wait_until(lambda _: (tmp_path / "memory.bin").exists())
    with running_printer("sound", *options) as printer:
        assert b"E123.45" in ask(printer, b"M503")


def test_the_log_holds_what_passed_over_the_line(tmp_path: Path) -> None:
    """The log shows the host's line and the printer's answer, in this order."""
    log = tmp_path / "traffic.log"
    with running_printer("sound", *QUICK, "--tcp", "0", "--log", str(log)) as printer:
        ask(printer, b"M115")
    text = log.read_text()
    assert 0 <= text.index("opened") < text.index("'M115\\n'") < text.index("FIRMWARE_NAME")


def test_a_person_at_the_console_is_the_hands() -> None:
    """The console shows the words there are, does what is typed, says what was done, and ends with the input."""
    done = run("sound", "--tcp", "0", "--console", typed="insert\njuggle\nstate\n")
    assert 0 == done.returncode
    assert "hands> " in done.stdout
    assert "Not done: Nobody here knows how to 'juggle'" in done.stdout
    assert "  presence " in done.stdout
    assert "" == done.stderr
