"""Printers whose time passes only as they are told, and a host that lives in their time."""

import asyncio
import contextlib
import json
import socket
import subprocess
import sys
import time
from collections.abc import Iterator

import pytest

from commission.link.port import ResetLines
from fake_printer.fleet import Fleet
from fake_printer.setups import Setup
from tests.support.fake_process import FakeProcess, running_printer
from tests.support.patience import PATIENCE_S
from tests.support.stepped_time import FakeClock, FakeTime, SteppedLoop, fake_time_of, quick, stepped_surroundings

LONGEST_QUIET_S = 60.0
"""What a printer that does nothing by itself says; it is looked at again after that."""


@pytest.fixture
def printer() -> Iterator[FakeProcess]:
    """A sound printer that is stepped, whose port restarts nothing."""
    with running_printer("native-port", "--tcp", "0", "--unpaced", "--stepped") as running:
        yield running


def passed(printer: FakeProcess, words: str) -> dict[str, object]:
    """What became of letting time pass."""
    told: dict[str, object] = json.loads(printer._ask(f"pass {words}"))
    return told


def test_time_stands_still_between_two_words(printer: FakeProcess) -> None:
    """However long nobody says anything, nothing happens; what is said passes at once."""
    printer.do("insert")
    time.sleep(0.5)
    state = printer.state()
    assert (0.0, True) == (state["time_s"], state["moving"])

    nothing_heard = {"heard_bytes": 0, "said_bytes": 0}
    assert {"passed_s": 86400.0, "quiet_s": LONGEST_QUIET_S, **nothing_heard} == passed(printer, "86400")
    state = printer.state()
    assert (86400.0, False) == (state["time_s"], state["moving"])


def test_time_passes_no_further_than_the_next_bytes(printer: FakeProcess) -> None:
    """A report that comes by itself after a second ends the time that was to pass, and what was asked does too."""
    host, _, port = printer.link.removeprefix("socket://").partition(":")
    with socket.create_connection((host, int(port)), timeout=PATIENCE_S) as line:
        line.sendall(b"M155 S1\n")
        assert b"ok\n" == line.recv(100)
        asked = passed(printer, "5 8 0")
        report_came = passed(printer, "5 8 3")
        report = line.recv(100)
    in_a_second = {"heard_bytes": 8, "quiet_s": pytest.approx(1.0)}
    assert {"passed_s": 0.0, "said_bytes": 3, **in_a_second} == asked
    assert b" T:" == report[:3]
    assert {"passed_s": pytest.approx(1.0), "said_bytes": 3 + len(report), **in_a_second} == report_came


def test_no_time_passes_before_everything_has_come(printer: FakeProcess) -> None:
    """While bytes are still under way to the printer, its time waits for them."""
    host, _, port = printer.link.removeprefix("socket://").partition(":")
    with socket.create_connection((host, int(port)), timeout=PATIENCE_S) as line:
        line.sendall(b"M115")
        printer.wait_until(lambda state: state["port"]["attached"])
        waits = {"passed_s": 0.0, "quiet_s": 0.0, "heard_bytes": 4, "said_bytes": 0}
        assert waits == passed(printer, "1 9 0")
        line.sendall(b"*****")
        printer.wait_until(lambda state: state["port"]["heard_bytes"] == 9)
        all_came = {"passed_s": 1.0, "quiet_s": LONGEST_QUIET_S, "heard_bytes": 9, "said_bytes": 0}
        assert all_came == passed(printer, "1 9 0")


def test_a_printer_is_late_by_a_moment_at_most(printer: FakeProcess) -> None:
    """A host that runs ahead of a quiet printer has it come after before long, before real work, and at the end."""
    behind_s = []

    def lag_s(fake_time: FakeTime) -> float:
        return fake_time.now_s - float(printer.state()["time_s"])

    with fake_time_of(printer.control) as fake_time:
        for _ in range(100):
            fake_time.pass_time(0.01)
            behind_s.append(lag_s(fake_time))
        with fake_time.real_work():
            at_work = lag_s(fake_time)
        fake_time.pass_time(0.01)
        now_s = fake_time.now_s

    assert 0.1 < max(behind_s) < 0.26
    assert (0.0, 0.0) == (pytest.approx(min(behind_s), abs=1e-9), pytest.approx(at_work, abs=1e-9))
    assert (1.01, 1.01) == (pytest.approx(now_s), pytest.approx(printer.state()["time_s"]))


def test_a_host_lets_go_of_a_printer_that_has_ended(printer: FakeProcess) -> None:
    """The moment they had come to together is of no use to anybody any more."""
    with fake_time_of(printer.control) as fake_time:
        for _ in range(3):
            fake_time.pass_time(0.01)
        printer.kill()

    assert 0.03 == pytest.approx(fake_time.now_s)


def test_a_report_ends_what_a_host_lives_by_itself(printer: FakeProcess) -> None:
    """Of a printer that reports every second, a host in steps of 30 ms hears each report at its own second."""
    host, _, port = printer.link.removeprefix("socket://").partition(":")
    came_s = []
    with (
        socket.create_connection((host, int(port)), timeout=PATIENCE_S) as line,
        fake_time_of(printer.control) as host_time,
    ):
        line.sendall(b"M155 S1\n")
        host_time.port_opened()
        host_time.sent_bytes = 8
        while host_time.now_s < 3.5:
            host_time.pass_time(0.03)
            if host_time.stands_still:
                host_time.heard_bytes += len(line.recv(1000))
                came_s.append(host_time.now_s)

    assert [pytest.approx(each, abs=1e-3) for each in (0.0, 1.0, 2.0, 3.0)] == came_s


@pytest.mark.parametrize("words", ["", "soon", "-1", "nan", "inf", "1e9", "1 x y", "1 2", "1 2 3 4"])
def test_what_is_no_time_is_refused(printer: FakeProcess, words: str) -> None:
    """Nothing passes, and the advice says what to say."""
    assert printer._ask(f"pass {words}").startswith("error Say 'pass' with a number of seconds")
    assert 0.0 == printer.state()["time_s"]


def test_a_printer_in_real_time_lets_nobody_step_it() -> None:
    """Only a printer that was started so knows the word."""
    with running_printer("sound", "--tcp", "0") as printer:
        assert printer._ask("pass 1").startswith("error Nobody here knows how to 'pass'")


def test_each_printer_of_a_fleet_is_stepped_by_itself() -> None:
    """Time that passes for one does not for its neighbour."""
    with contextlib.ExitStack() as stack:
        fleet = Fleet([Setup("sound", name, "tcp", control=None, stepped=True) for name in ("one", "two")], stack)
        fleet.answer("one pass 60")

        assert 60.0 == json.loads(fleet.answer("one state"))["time_s"]
        assert 0.0 == json.loads(fleet.answer("two state"))["time_s"]


def test_waits_at_the_same_time_take_as_long_as_the_longest(printer: FakeProcess) -> None:
    """A host's waits run beside each other in the printer's time, and its clock says the same as the printer's."""

    async def waits(clock: FakeClock) -> float:
        await asyncio.gather(clock.sleep(100.0), clock.sleep(3600.0), asyncio.sleep(0.25))
        return clock.monotonic()

    with (
        fake_time_of(printer.control) as fake_time,
        asyncio.Runner(loop_factory=lambda: SteppedLoop(fake_time)) as runner,
    ):
        assert 3600.0 == pytest.approx(runner.run(waits(FakeClock(fake_time))))
    assert 3600.0 == pytest.approx(printer.state()["time_s"])


def test_a_wait_of_next_to_nothing_ends_late_in_a_run(printer: FakeProcess) -> None:
    """After a day of simulated time the next moment a float can tell is further away than what is waited for."""
    passed(printer, "86400")
    with fake_time_of(printer.control) as fake_time:
        fake_time.port_opened()
        fake_time.pass_time(1.1368683772161603e-13)

        assert 0 < fake_time.now_s < 1e-5


@pytest.mark.skipif(sys.platform != "linux", reason="the shell of other systems reaches no bench")
@pytest.mark.parametrize("deed", ["insert", "pull 30.5 10", "press-lever", "mains upside-down", "sing", "state"])
def test_hands_of_a_shell_do_what_the_bench_does(deed: str) -> None:
    """The printer gets the same words; said and exit code are the same, done or refused. What asks is left alone."""
    came = []
    for shortened in (quick, list):
        with running_printer("native-port", "--tcp", "0", "--unpaced", "--stepped") as printer:
            words = [sys.executable, "-m", "fake_printer.bench", printer.control, *deed.split()]
            done = subprocess.run(shortened(words), capture_output=True, text=True, check=False, timeout=PATIENCE_S)
            said = done.stdout.removeprefix("Not done: ").replace(printer.link, "LINK")
            came.append((done.returncode, said, printer.state()["moving"]))

    assert came[0] == came[1]


def test_time_stands_still_while_real_work_goes_on(printer: FakeProcess) -> None:
    """A thread and a process are waited for, though a wait of the host would have ended long before."""

    async def work(fake_time: FakeTime) -> tuple[float, bool]:
        sleeping = asyncio.create_task(asyncio.sleep(10.0))
        await asyncio.sleep(0)
        await asyncio.to_thread(time.sleep, 0.3)
        process = await asyncio.create_subprocess_exec(sys.executable, "-c", "print(1)", stdout=asyncio.subprocess.PIPE)
        await process.communicate()
        return fake_time.now_s, sleeping.done()

    with (
        fake_time_of(printer.control) as fake_time,
        asyncio.Runner(loop_factory=lambda: SteppedLoop(fake_time)) as runner,
    ):
        assert (0.0, False) == runner.run(work(fake_time))


@pytest.mark.parametrize(
    "options",
    [
        pytest.param((), marks=pytest.mark.skipif(sys.platform == "win32", reason="no pseudo-terminals")),
        ("--tcp", "0"),
        ("--rfc2217", "0"),
    ],
)
def test_an_answer_comes_in_the_printers_time(options: tuple[str, ...]) -> None:
    """Over every kind of port a host in simulated time gets its answer when the printer gives it, and no sooner."""
    with (
        running_printer("native-port", *options, "--unpaced", "--stepped") as printer,
        stepped_surroundings(printer.control) as around,
    ):
        link = around.make_link(printer.link, reset=ResetLines.AS_IS)

        async def talk() -> list[tuple[bytes, float]]:
            await link.open(115200)
            heard = []
            for command in (b"M118 now\n", b"G4 S7\n"):
                await link.send(command)
                reply = b""
                while not reply.endswith(b"ok\n"):
                    reply += await link.receive(60.0)
                heard.append((reply, around.clock.monotonic()))
            heard.append((await link.receive(1.0), around.clock.monotonic()))
            await link.close()
            return heard

        with asyncio.Runner(loop_factory=around.new_loop) as runner:
            (now, at_once_s), (dwelt, later_s), (nothing, end_s) = runner.run(talk())

    assert (b"now\nok\n", b"ok\n", b"") == (now, dwelt[-3:], nothing)
    assert 0.0 == pytest.approx(at_once_s, abs=0.01)
    assert 7.0 == pytest.approx(later_s, abs=0.01)
    assert 8.0 == pytest.approx(end_s, abs=0.01)
