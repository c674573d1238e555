"""The tool over a real kernel's USB serial driver, on an emulated PC; and the parts of that laboratory alone."""

import contextlib
import io
import platform
import subprocess
import sys
import time
from pathlib import Path

import pytest

from scripts.usb_lab import HELD, LACKS, main
from scripts.usb_lab_parts.check import Check
from scripts.usb_lab_parts.clock import Clock, waited_s
from scripts.usb_lab_parts.needs import PACKAGES, Missing, Needs, found_needs, install_words
from scripts.usb_lab_parts.operator_scripts import answer, demo_script
from scripts.usb_lab_parts.pc import BUSY, again_each_second
from scripts.usb_lab_parts.scenarios import SCENARIOS
from scripts.usb_lab_parts.table import Played, lines
from tests.support.patience import PATIENCE_S

ROOT = Path(__file__).resolve().parents[2]
PLAYED = ("exclusive", "odd-speed", "two-adapters", "pulled-identify")
MOST_S = 540
AND_THE_REST_S = 40
CALCULATES = "import os; os.sched_setaffinity(0, [min(os.sched_getaffinity(0))])\nwhile True: pass"
WAITED_S, LOOK_S = 0.05, 0.05
BUSIEST_S = BUSY * MOST_S + AND_THE_REST_S
FAILED_TABLE = """\
scenario  what              expected  got    held
names     name              ttyUSB0   gone   NO
names     serial number     AB1       AB1    yes
pulled    comes to its end  yes       stuck  NO

Wall time: names 12 s, pulled 3 s.
0 of 2 scenarios held."""


def needed() -> Needs:
    """What the emulated PC is made of; a test without it is skipped: a kernel of its own is no tool to ask for."""
    try:
        return found_needs()
    except Missing as missing:
        pytest.skip(str(missing))


@pytest.mark.alone
@pytest.mark.timeout(BUSIEST_S + AND_THE_REST_S)
def test_the_short_scenarios_hold() -> None:
    """Exclusive use, an odd speed, two adapters and a cable pulled: all as a real kernel has them."""
    needed()
    command = [sys.executable, str(ROOT / "scripts" / "usb_lab.py"), *PLAYED, "--timeout", str(MOST_S)]

    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False, timeout=BUSIEST_S)

    assert HELD == done.returncode, f"{done.stdout}\n{done.stderr}"
    assert f"{len(PLAYED)} of {len(PLAYED)} scenarios held." in done.stdout


def test_a_missing_kernel_is_named(tmp_path: Path) -> None:
    """Without a kernel that has the driver, the package to install is named, and how."""
    (tmp_path / "vmlinuz-1.2.3-cloud").touch()

    with pytest.raises(Missing, match=r"linux-image-amd64.*apt-get install|needs Linux on x86-64"):
        found_needs(boot=tmp_path, modules=tmp_path)
    assert all(package in install_words() for package in PACKAGES)


@pytest.mark.skipif(platform.system() != "Linux", reason="elsewhere the reason for the skip is the system itself")
def test_without_the_packages_it_is_skipped(tmp_path: Path) -> None:
    """On a machine without them it ends at once with exit code 3, and names them in one command."""
    command = [sys.executable, str(ROOT / "scripts" / "usb_lab.py"), "names"]

    done = subprocess.run(
        command, env={"PATH": str(tmp_path)}, capture_output=True, text=True, check=False, timeout=PATIENCE_S
    )

    assert (LACKS, "") == (done.returncode, done.stdout)
    assert done.stderr.startswith("Skipped. ")
    assert "qemu-system-x86" in done.stderr or "x86-64" in done.stderr


@pytest.mark.parametrize(
    ("major", "minor", "told"), [(7, 2, {"reconnect": 1}), (9, 1, {"reconnect": 1}), (9, 2, {"reconnect-ms": 1000})]
)
def test_the_wire_knocks_again(major: int, minor: int, told: dict[str, int]) -> None:
    """The emulator's option changed its name in release 9.2 (from its list of changes, from memory)."""
    assert told == again_each_second({"major": major, "minor": minor})


def thread(process: Path, number: int, told: str) -> Path:
    """What the kernel tells of a thread: time on a processor and time in which it waited for one, in ns, and turns."""
    counts = process / "task" / str(number) / "schedstat"
    counts.parent.mkdir(parents=True, exist_ok=True)
    counts.write_text(told, encoding="ascii")
    return counts


def test_what_it_waits_for_a_processor_does_not_count(tmp_path: Path) -> None:
    """The clock stands still for as long as the thread that waited most; when that thread ends it does not jump."""
    thread(tmp_path, 1, "90000000000 2000000000 7\n")
    waited_most = thread(tmp_path, 2, "5000000000 3600000000000 900\n")
    clock = Clock(tmp_path)

    assert 3600.0 == waited_s(tmp_path)
    assert time.monotonic() - 3600.0 - PATIENCE_S < clock.s() <= time.monotonic() - 3600.0
    waited_most.unlink()
    assert 2.0 == waited_s(tmp_path)
    assert clock.s() <= time.monotonic() - 3600.0


def test_without_counts_it_is_the_usual_clock(tmp_path: Path) -> None:
    """Where the kernel does not tell how long a process waits, or the thread is gone, no time is left out."""
    thread(tmp_path, 1, "")

    assert 0.0 == waited_s(tmp_path)
    assert 0.0 == waited_s(tmp_path / "gone")


@pytest.mark.skipif(not Path("/proc/self/schedstat").exists(), reason="this kernel does not count how long one waits")
def test_of_two_processes_on_one_processor_each_waits_for_the_other() -> None:
    """The kernel's own counts are read: both only calculate, and neither can have waited for longer than it has run."""
    began_s = time.monotonic()
    with contextlib.ExitStack() as kept:
        both = [kept.enter_context(subprocess.Popen([sys.executable, "-c", CALCULATES])) for _ in range(2)]
        for each in both:
            kept.callback(each.kill)
        places = [Path("/proc", str(each.pid)) for each in both]
        while min(map(waited_s, places)) < WAITED_S and time.monotonic() - began_s < PATIENCE_S:
            time.sleep(LOOK_S)
        waited = [waited_s(place) for place in places]

    assert WAITED_S <= min(waited) <= max(waited) < time.monotonic() - began_s


def test_a_table_shows_what_is_off() -> None:
    """One line a check; a scenario that did not come to its end has a line that says so."""
    off = Played("names", [Check("name", "ttyUSB0", "gone"), Check("serial number", "AB1", "AB1")], 12.2)
    stuck = Played("pulled", [], 3.0, "stuck")

    assert FAILED_TABLE == "\n".join(lines([off, stuck]))
    assert not off.held
    assert not stuck.held


def test_a_scenario_without_a_check_fails() -> None:
    """What checked nothing has shown nothing."""
    assert not Played("empty", [], 1.0).held
    assert Played("sound", [Check("name", "a", "a")], 1.0).held


def test_the_list_names_every_scenario() -> None:
    """The list says which scenario is played only by name, and why."""
    with contextlib.redirect_stdout(io.StringIO()) as said:
        code = main(["--list"])

    told = said.getvalue().splitlines()
    assert HELD == code
    assert list(SCENARIOS) == [line.split()[0] for line in told]
    assert [each.name for each in SCENARIOS.values() if each.fault] == [
        line.split()[0] for line in told if "known fault" in line
    ]


def test_an_unknown_scenario_is_wrong_usage() -> None:
    """A misspelt name is refused before anything is started."""
    with contextlib.redirect_stderr(io.StringIO()) as said, pytest.raises(SystemExit) as ended:
        main(["pulled-nowhere"])

    assert 2 == ended.value.code
    assert "no such scenario: pulled-nowhere" in said.getvalue()


def test_the_hands_are_those_of_the_demonstration() -> None:
    """Every deed of the demonstration's script goes to the bench outside; own answers come first."""
    script = demo_script(ROOT, answer("wiggle", "done", [("usb", "out")], after_s=3.0, times=1))

    assert "fake_printer" not in script
    assert 'run = ["hands", "insert"]' in script
    own = script.index("after_s = 3.0")
    assert own < script.index('request = "trial.insert"')
    assert 'run = [["hands", "usb", "out"]]' in script
