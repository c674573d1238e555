"""`commission demo`: the main job on a simulated printer, with a script for hands."""

import contextlib
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import click

from commission.cli.exit_codes import FAILED, MEANINGS, NOT_A_PASS, NOT_FINISHED, PASSED, exits
from commission.cli.telling import remark, say
from commission.files.output import make_folder

STORIES = {
    "sound": ("a sensor wired as it should be", NOT_A_PASS),
    "inverted-right-contact": ("the right contact, but the firmware's logic is inverted", FAILED),
    "inverted-by-contact": ("the wrong contact: it reads the wrong way round", FAILED),
    "two-errors-cancel": ("wrong contact and inverted logic: reads right, and is blind when a wire breaks", FAILED),
    "not-compiled-in": ("a firmware without the sensor: no such switch is reported", FAILED),
}
"""The units worth watching, what is the matter with each, and the exit code a check of it ends with."""

INTRODUCTION = """\
Demonstration. A simulated printer runs as a process of its own; the tool talks to it over {link}.
The unit: {story}.
A script is the operator: it moves the simulated filament, cable and power as each prompt says.
Where a question below is answered by a line with `>`, that is the script. Nothing real moves or heats.
"""


@dataclass(frozen=True)
class _Simulated:
    link: str
    control: str


@click.command(epilog="Example: commission demo --unit two-errors-cancel")
@click.option("--unit", type=click.Choice(list(STORIES)), default="sound", show_default=True, help="Which printer.")
@click.option("--full", is_flag=True, help="All 22 cycles of the full plan (about five minutes more).")
@click.option(
    "--folder",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("commission-demo"),
    show_default=True,
    help="Where the record book and the reports go.",
)
@click.pass_context
@exits({PASSED: "the check ended as this unit's should, whatever its verdict", FAILED: "it did not"})
def demo(context: click.Context, /, unit: str, folder: Path, *, full: bool) -> None:
    """Run the guided check on a simulated printer, with nothing but this program.

    Takes about three minutes, because trials and wiggle take the time they take on a real printer. What a
    first look does not need is left out with that reason, the function test among it: so the best verdict is a
    conditional pass, also with --full, which shows what twenty-two cycles prove.
    """
    story, expected = STORIES[unit]
    make_folder(folder)
    with _simulated_printer(unit) as printer:
        say(INTRODUCTION.format(link=printer.link, story=story))
        code = _check(printer, folder, cycles=22 if full else 6)
    said = MEANINGS[code]
    say(f"On a real printer this run would end with exit code {code}: {said}.")
    if code != expected:
        remark(f"That is not how this unit's check should end (exit code {expected}).")
    context.exit(PASSED if code == expected else FAILED)


def _check(printer: _Simulated, folder: Path, cycles: int) -> int:
    from commission.cli.options import Job, Settings
    from commission.cli.running import run_guided
    from commission.jobs.install import install_run

    return run_guided(
        Settings(
            tag="bench-3",
            port=printer.link,
            site="Makerspace workshop, second bench (simulated)",
            person="the demonstration script",
            cycles=cycles,
            countdown=1.5,
            seed=20,
            script=Path(__file__).with_name("demo_operator.toml"),
            variables={"control": printer.control},
            book=folder / "record-book.sqlite3",
            reports=folder,
        ),
        Job("install", lambda run: install_run(run.plan, run.person, run.known, run.sheet, run.repair)),
    )


@contextlib.contextmanager
def _simulated_printer(unit: str) -> Iterator[_Simulated]:
    """The simulated printer as a process; it ends with this one, whatever happens."""
    command = [sys.executable, "-m", "fake_printer", unit, "--tcp", "0", "--control", "0", "--stop-with-stdin"]
    # in a session of its own: Ctrl-C at the terminal ends the run, which makes the printer safe, and not the printer
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, start_new_session=True
    ) as process:
        try:
            yield _announced(process)
        finally:
            if process.stdin is not None:
                process.stdin.close()
            with contextlib.suppress(subprocess.TimeoutExpired):
                process.wait(5)
            process.kill()


def _announced(process: "subprocess.Popen[str]") -> _Simulated:
    found: dict[str, str] = {}
    for line in process.stdout or ():
        name, _, value = line.strip().partition(": ")
        found[name] = value
        if name == "ready":
            return _Simulated(found["link"], found["control"])
    remark("The simulated printer did not start; run `python -m fake_printer --list` to see why.")
    raise click.exceptions.Exit(NOT_FINISHED)
