"""The commands that are the hands of a scripted operator."""

import asyncio
import os
import signal
import sys
from pathlib import Path

import pytest

from commission.desk.base import DeskError, OperatorStop
from tests.desk.fakes import FakeClock, until
from tests.desk.requests import (
    INSERT,
    READY,
    ROUTE,
    TAKEN,
    WITHDRAW,
)
from tests.desk.scripts import desk, entry, hands_finished, opened, printed, run

TOUCH = "import pathlib, sys; pathlib.Path(sys.argv[1]).write_text('moved')"


async def test_commands_run_before_the_answer(tmp_path: Path) -> None:
    """The commands of an entry run, with names filled in, after the wait and before the answer."""
    clock = FakeClock()
    moved = tmp_path / "moved"
    used = desk(entry("*", "yes", "after_s = 0.5", run(TOUCH, "{bench}")), clock=clock, variables={"bench": str(moved)})

    assert await used.confirm(READY)

    assert ("moved", [0.5]) == (moved.read_text(), clock.slept)


@pytest.mark.skipif(os.name == "nt", reason="process groups are a thing of POSIX systems")
async def test_commands_do_not_hear_the_keyboard(tmp_path: Path) -> None:
    """A command has a session of its own: Ctrl-C at the terminal reaches the tool, and not the hands."""
    told = tmp_path / "told"
    tells = "import os, pathlib, sys; pathlib.Path(sys.argv[1]).write_text(f'{os.getsid(0)} {os.getpgrp()}')"
    used = desk(entry("*", "yes", run(tells, "{bench}")), variables={"bench": str(told)})

    assert await used.confirm(READY)

    session, group = told.read_text().split()
    assert session == group
    assert int(group) != os.getpgrp()


async def test_trial_does_not_wait_for_the_hands() -> None:
    """A trial begins at once, while its commands run beside the countdown."""
    used = desk(entry("trial.*", "done", run("import time; time.sleep(30)")))

    await used.begin_trial(INSERT)

    assert used._hands is not None
    assert not used._hands.done()
    await used.close()
    assert used._hands is None


async def test_hands_too_slow() -> None:
    """Hands that are still busy when the dwell is over end the run, as the dwell cannot be trusted."""
    used = desk(entry("trial.*", "done", run("import time; time.sleep(30)")))
    await used.begin_trial(INSERT)

    with pytest.raises(
        DeskError, match=r"hands for trial\.insert were still busy when its time was over: lower after_s"
    ):
        await used.end_trial(INSERT, TAKEN)
    await used.close()


async def test_failed_command_surfaces_at_the_marks() -> None:
    """A command that fails in a trial ends the run at the next look for marks, with its output."""
    used = desk(entry("trial.*", "done", run("import sys; sys.exit('no such \\x1b bench')")))
    await used.begin_trial(INSERT)
    await hands_finished(used)

    with pytest.raises(DeskError) as caught:
        await used.take_marks()

    said = str(caught.value)
    assert said.startswith(f"bench-3.toml, answer 1: The command {sys.executable} -c ")
    assert said.endswith(r"ended with exit code 1 and said: no such \x1b bench")


async def test_command_that_cannot_start() -> None:
    """A program that does not exist ends the run and is named."""
    used = desk(entry("*", "yes", 'run = ["/no/such/bench", "insert"]'))

    with pytest.raises(
        DeskError, match=r"answer 1: The command /no/such/bench insert cannot be started: .*No such file"
    ):
        await used.confirm(READY)


async def test_command_that_hangs() -> None:
    """A command that takes too long is killed and named."""
    used = desk(entry("*", "yes", "timeout_s = 0.02", run("import time; time.sleep(30)")))

    with pytest.raises(DeskError, match=r"was stopped after 0\.02 s; see timeout_s"):
        await used.confirm(READY)


@pytest.mark.skipif(not hasattr(signal, "SIGHUP"), reason="signals of this kind exist on POSIX only")
@pytest.mark.parametrize(
    ("number", "said"),
    [(signal.SIGINT, "stopped by Ctrl-C"), (signal.SIGTERM, "the program was told to end")],
)
async def test_signal_ends_a_question(number: signal.Signals, said: str) -> None:
    """A signal while the hands are busy ends the question as an operator stop, and its process too."""
    used = desk(entry("*", "yes", run("import time; time.sleep(30)")))

    async with opened(used):
        asking = asyncio.create_task(used.confirm(READY))
        await until(lambda: bool(printed(used)))
        os.kill(os.getpid(), number)
        with pytest.raises(OperatorStop, match=said):
            await asking


async def test_cancelled_question_leaves_the_desk_usable() -> None:
    """A question cancelled from outside ends its command, and the next question is answered."""
    used = desk(entry("loop_check.ready", "yes", run("import time; time.sleep(30)")), entry("*", "NO"))
    asking = asyncio.create_task(used.confirm(READY))
    await until(lambda: bool(printed(used)))

    asking.cancel()
    with pytest.raises(asyncio.CancelledError):
        await asking

    assert "NO" == await used.choose(ROUTE)


async def test_abandoned_trial_is_forgotten() -> None:
    """The marks and hands of a trial that was broken off do not reach the next one."""
    used = desk(entry("trial.insert", "spoilt: it slipped"), entry("trial.withdraw", "done"))
    await used.begin_trial(INSERT)
    await hands_finished(used)

    await used.begin_trial(WITHDRAW)
    await hands_finished(used)

    assert () == await used.take_marks()


async def test_name_that_nobody_fills_in() -> None:
    """A script with a name in braces that is not known is refused before anything starts."""
    with pytest.raises(
        DeskError, match=r"bench-3\.toml, answer 1: nothing fills in \{port\}; known are \{control\}, \{python\}"
    ):
        desk(entry("*", "yes", 'run = ["{python}", "{port}"]'), variables={"control": "here"})
