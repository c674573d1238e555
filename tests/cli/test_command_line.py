"""The command line as a user meets it: help, examples, exit codes, quick starts."""

import json
import os
import subprocess
import sys

import click
import pytest
from click.testing import CliRunner

from commission.cli import COMMANDS, SUMMARIES, main
from commission.cli.exit_codes import exit_code
from commission.vocabulary import Outcome, Verdict
from tests.support.loaded_tool import carried_out
from tests.support.patience import PATIENCE_S

HEAVY = ("asyncio", "prompt_toolkit", "rich", "jinja2", "serial", "scipy", "sqlalchemy")


def run(*words: str, loaded: bool = True) -> subprocess.CompletedProcess[str]:
    """Start the command line as a process of its own, with nobody at the keyboard; from nothing, if not loaded."""
    command = [sys.executable, "-m", "commission", *words]
    if loaded:
        return carried_out(command)
    return subprocess.run(
        command, capture_output=True, text=True, check=False, stdin=subprocess.DEVNULL, timeout=PATIENCE_S
    )


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help_with_an_example(name: str) -> None:
    """Help says what the command does and shows one whole line to type."""
    shown = CliRunner().invoke(main, [name, "--help"])

    assert 0 == shown.exit_code
    assert "Example" in shown.output
    assert f"commission {name}" in shown.output


def test_help_lists_every_command() -> None:
    """The overview names each command with a line of its own, in the order of the table."""
    shown = CliRunner().invoke(main, ["--help"])

    rows = [line.split(maxsplit=1) for line in shown.output.split("Commands:\n")[1].split("\n\n")[0].splitlines()]
    assert [[name, SUMMARIES[name]] for name in COMMANDS] == rows


@pytest.mark.parametrize("words", [["--help"], ["--version"], ["install", "--help"]])
def test_help_and_version_load_nothing_slow(words: list[str]) -> None:
    """What only some commands need is not imported before it is needed."""
    code = (
        "import sys\nfrom commission.cli import main\n"
        f"try:\n    main({words!r})\nexcept SystemExit:\n    pass\n"
        f"import json; print(json.dumps([name for name in {HEAVY!r} if name in sys.modules]))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=PATIENCE_S)

    assert [] == json.loads(done.stdout.splitlines()[-1])


def test_no_terminal_and_no_script_is_refused() -> None:
    """A guided run needs somebody who answers; without, it says what to give and opens nothing."""
    done = run("install", "bench-3", "--port", "/dev/null", "--by", "R. Okafor", loaded=False)

    assert 2 == done.returncode
    assert "" == done.stdout
    assert "needs a terminal" in done.stderr
    assert "--operator FILE" in done.stderr


@pytest.mark.skipif(os.name != "posix", reason="device names are files on POSIX systems only")
@pytest.mark.parametrize("name", ["install", "check", "backup", "diagnose", "function"])
def test_a_port_that_is_not_there_is_told_before_a_question(name: str) -> None:
    """A device that does not exist ends the command at once, with what to do, before anything is asked or recorded."""
    done = run(name, "bench-3", "--port", "/dev/nothing-here", "--by", "R. Okafor")

    assert 3 == done.returncode
    assert "" == done.stdout
    assert done.stderr.startswith("commission: There is no port /dev/nothing-here. ")


@pytest.mark.parametrize(
    "words",
    [
        ["install", "bench-3"],
        ["check", "bench-3"],
        ["function", "bench-3"],
        ["install", "bench-3", "--port", ""],
        ["check", "bench-3", "--port", ""],
        ["install", "bench-3", "--port", "x", "--cycles", "5"],
        ["install", "bench-3", "--port", "x", "--set", "control"],
        ["install", "\n", "--port", "x", "--by", "R. Okafor"],
        ["nonsense"],
    ],
)
def test_wrong_usage_is_exit_code_2(words: list[str]) -> None:
    """What cannot be done as typed is said in words, with exit code 2."""
    done = run(*words)

    assert 2 == done.returncode
    assert "Traceback" not in done.stderr
    assert done.stderr.strip()


@pytest.mark.parametrize(
    ("outcome", "verdict", "unsafe_items", "expected"),
    [
        (Outcome.COMPLETE, Verdict.PASS, 0, 0),
        (Outcome.COMPLETE, Verdict.PASS, 1, 1),
        (Outcome.COMPLETE, Verdict.FAIL, 0, 1),
        (Outcome.COMPLETE, Verdict.CONDITIONAL, 0, 4),
        (Outcome.COMPLETE, Verdict.NOT_JUDGED, 0, 4),
        (Outcome.COMPLETE, Verdict.NOT_JUDGED, 2, 1),
        (Outcome.NOT_CONNECTED, Verdict.NOT_JUDGED, 0, 3),
        (Outcome.LINK_LOST, Verdict.NOT_JUDGED, 0, 3),
        (Outcome.LINK_LOST, Verdict.NOT_JUDGED, 1, 1),
        (Outcome.INTERRUPTED, Verdict.NOT_JUDGED, 0, 3),
        (Outcome.STOPPED, Verdict.NOT_JUDGED, 0, 130),
        (Outcome.STOPPED, Verdict.NOT_JUDGED, 1, 1),
    ],
)
def test_the_exit_code_tells_what_became_of_it(
    outcome: Outcome, verdict: Verdict, unsafe_items: int, expected: int
) -> None:
    """Open items of class A come first, then what became of the run, then the verdict."""
    assert expected == exit_code(outcome, verdict, unsafe_items)


def test_commands_are_commands() -> None:
    """Every entry of the table leads to a command of that name."""
    group = main
    assert isinstance(group, click.Group)
    for name in COMMANDS:
        command = group.get_command(click.Context(group), name)
        assert command is not None
        assert name == command.name
