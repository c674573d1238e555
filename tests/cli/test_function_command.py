"""`commission function` as it is typed, against the simulated printer as a process of its own, in simulated time."""

import os
import signal
import subprocess
from pathlib import Path

import pytest

from tests.support.fake_process import FakeProcess, running_printer
from tests.support.loaded_tool import carried_out
from tests.support.stepped_time import KILLED, stepped

IN_SIMULATED_TIME = ("--unpaced", "--stepped")
BENCH = '["{python}", "-m", "fake_printer.bench", "{control}", '
SCRIPT = f"""\
format = 1

[[answer]]
request = "pause.ready"
answer = "yes"
run = {BENCH}"insert"]

[[answer]]
request = "pause.pull"
answer = "done"
after_s = 3.2
run = {BENCH}"withdraw"]

[[answer]]
request = "*change.inserted"
answer = "yes"
run = {BENCH}"insert"]

[[answer]]
request = "*.now"
answer = "no"

[[answer]]
request = "*.reason"
answer = "a short test"

[[answer]]
request = "*"
answer = "yes"
"""
UNIT = """\
format = 1
like = "sound"
summary = "sound, homes quickly, does not restart when its port is opened"
finding = "it pauses"

[firmware]
homing_s = 0.3

[firmware.settings.M412]
S = 1
D = 5

[wire]
reset_on_open = false
"""


def command(printer: FakeProcess, folder: Path, *words: str) -> list[str]:
    """The command line of one function test."""
    script = folder / "operator.toml"
    script.write_text(SCRIPT)
    files = ["--book", str(folder / "book.sqlite3"), "--reports", str(folder), "--plain"]
    hands = ["--operator", str(script), "--set", f"control={printer.control}", "--by", "R. Okafor"]
    line = ["function", "bench-3", "--port", printer.link, "--homed"]
    line += ["--pauses", "1", "--flow", "20", "--trip-to-gear", "60"]
    return stepped(printer.control, *line, *files, *hands, *words)


def run(printer: FakeProcess, folder: Path, *words: str) -> "subprocess.CompletedProcess[str]":
    """One function test from beginning to end."""
    return carried_out(command(printer, folder, *words))


def test_a_runout_left_to_the_host_is_named_and_nothing_moves(tmp_path: Path) -> None:
    """The gate stands on the screen and in the report, the exit code is 1, and the printer got no motion."""
    with running_printer("host-alone", *IN_SIMULATED_TIME) as printer:
        done = run(printer, tmp_path)
        received = printer.received()

    assert 1 == done.returncode, done.stdout + done.stderr
    assert "'the board itself pauses' is shut" in done.stdout
    assert [] == [line for line in received if line.startswith(("G", "M104", "M302 ", "M75"))]
    (report,) = tmp_path.glob("*.md")
    assert "the board itself pauses: shut" in report.read_text()


def test_a_sound_printer_pauses(tmp_path: Path) -> None:
    """Pulled by the script, it pauses by itself within the prediction; without a real runout that is conditional."""
    unit = tmp_path / "quick.toml"
    unit.write_text(UNIT)
    with running_printer(str(unit), *IN_SIMULATED_TIME) as printer:
        printer.do("free-gear")
        done = run(printer, tmp_path)
        state = printer.state()

    assert 4 == done.returncode, done.stdout + done.stderr
    assert "It paused: the board itself stopped." in done.stdout
    assert "this build takes 'TRIGGERED' (active) for filament in" in done.stdout
    assert 1 == done.stdout.count("Made safe: the printer answers."), "told once, right above the result"
    assert (False, False) == (state["cold_extrusion_allowed"], state["job_running"])


@pytest.mark.skipif(os.name == "nt", reason="a process is killed by a signal here")
def test_after_a_kill_the_next_start_makes_safe_first(tmp_path: Path) -> None:
    """The tool killed while moves run leaves cold extrusion permitted; its next start finds that in the book."""
    unit = tmp_path / "quick.toml"
    unit.write_text(UNIT)
    with running_printer(str(unit), *IN_SIMULATED_TIME) as printer:
        printer.do("free-gear")
        killing = tmp_path / "killing.toml"
        killing.write_text(SCRIPT.replace(f'{BENCH}"withdraw"]', KILLED))
        killed = run(printer, tmp_path, "--operator", str(killing))
        left = printer.state()
        printer.pass_time(0.2)
        printer.do("insert")
        refusing = tmp_path / "refusing.toml"
        refusing.write_text(SCRIPT.replace('request = "*.now"', 'request = "function.release"'))
        done = run(printer, tmp_path, "--operator", str(refusing))
        state = printer.state()

    assert -signal.SIGKILL == killed.returncode, killed.stdout + killed.stderr
    assert left["planned_moves"] > 2
    assert (True, True) == (left["cold_extrusion_allowed"], left["job_running"])
    assert "Before this run" in done.stdout
    assert "Forbid cold extrusion: delivered (M302 P0)." in done.stdout
    assert (False, False) == (state["cold_extrusion_allowed"], state["job_running"])
