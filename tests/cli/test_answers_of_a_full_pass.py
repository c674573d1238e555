"""How many answers a full pass takes: counted at the real desk, on a simulated sound unit, in simulated time."""

import asyncio
import os
from pathlib import Path

import pytest

from commission.cli.options import Job, Settings
from commission.cli.running import Guided
from commission.cli.signals import Signals
from commission.desk.plain import PlainDesk
from commission.jobs.install import install_run
from commission.records.book import Book
from commission.records.run_lock import RunLock
from tests.support.fake_process import FakeProcess, running_printer
from tests.support.fake_reader import FakeReader, Rule
from tests.support.stepped_time import stepped_surroundings

pty = pytest.importorskip("pty", reason="pseudo-terminals exist on POSIX only")

MOST_ANSWERS = 35
OFF = ("mains off", "usb out")
ON = ("mains on", "usb in")
RULES = (
    # what the hands do while nothing is asked
    Rule("INSERT THE FILAMENT", hands=("insert",)),
    Rule("WITHDRAW THE FILAMENT", hands=("withdraw",)),
    Rule("Wiggle: bend and tap cable and sensor", hands=("shake 10",)),
    Rule("Unplugged: filament in", hands=("insert",)),
    Rule("Unplugged: filament out", hands=("withdraw",)),
    Rule("Now: cut the filament once", hands=("withdraw",)),
    Rule("Pull the filament out of the sensor, and leave it out.", hands=("withdraw",)),
    # before the run
    Rule("Type: Name of who does this", "R. Okafor"),
    Rule("Do not connect to a printer that is printing", "yes"),
    # sheets
    Rule("Type: Material loaded", "PLA"),
    Rule("What is done in this run", ""),
    Rule("How is the sensor wired?", "NO, up, high"),
    Rule("Does this stand?", ""),
    Rule("What else may be on this input?", "1"),
    Rule("Beside the header stands", "RUNOUT, 42"),
    Rule("one report about pin 42", "yes"),
    Rule("Power off: free the sensor's cable for the meter", "yes", (*OFF, "unplug board", "usb in")),
    Rule("What the meter shows", "1 1 2 1 3.3"),
    Rule("Power off: plug the sensor in", "yes", ("usb out", "plug", *ON)),
    Rule("The mechanical sheet", "y"),
    # the loop check
    Rule("Is the filament out and are you ready?", "yes", ("withdraw",)),
    Rule("Is the filament in and are you ready?", "yes", ("insert",)),
    Rule("Release: the X axis moves?", "yes"),
    Rule("Power off: unplug the sensor (power-up 1 of 2)", "yes", (*OFF, "unplug board", "usb in")),
    Rule("Power off: unplug the sensor (power-up 2 of 2)", "yes", ("usb out", "usb in")),
    Rule("Power off: clip two test leads to the free header", "yes", ("usb out", "usb in")),
    Rule("The current through the resistor", "0.07 mA", ("lay 1k signal-ground",)),
    Rule("at its own end", "yes", ("usb out", "take-away", "plug", "unplug sensor", "usb in")),
    Rule("Power off: plug the sensor back in", "yes", ("usb out", "take-away", "plug", "insert", *ON)),
    # the reserve, and the function test
    Rule("Type in one line, with commas (- for none): Trip point to gear", "60 mm, 45 mm"),
    Rule("The lengths along the filament path", ""),
    Rule("Start the warm test?", "yes"),
    Rule("Is filament in the sensor, and are you ready?", "yes", ("insert",)),
    Rule("Is new filament in", "yes", ("insert",)),
    Rule("Did the nozzle come back to its old place and height", "yes"),
    Rule("Is the filament out of the sensor?", "yes", ("withdraw",)),
    Rule("Is the filament well in the sensor now?", "yes", ("insert",)),
    Rule("Power off and on again", "yes", (*OFF, *ON)),
    Rule("The sign-off", "y"),
)


def test_a_full_pass_takes_at_most_thirty_five_answers(tmp_path: Path) -> None:
    """Every phase is taken, the warm function test with all beside it; the run ends as a pass."""
    with running_printer("sound", "--tcp", "0", "--unpaced", "--stepped") as printer:
        code, reader = installed(printer, tmp_path)

    listed = "\n".join(f"{number}. {asked} > {typed}" for number, (asked, typed) in enumerate(reader.typed, 1))
    assert 0 == code, f"{reader.getvalue()[-3000:]}"
    assert len(reader.typed) <= MOST_ANSWERS, listed


def installed(printer: FakeProcess, folder: Path) -> tuple[int, FakeReader]:
    """The whole command but its command line, with short trials: exit code, and who answered it."""
    reader = FakeReader(RULES, lambda deed: printer.do(*deed.split()))
    settings = Settings(
        tag="bench-3",
        port=printer.link,
        countdown=1.3,
        dwell=0.5,
        seed=21,
        book=folder / "book.sqlite3",
        reports=folder,
        bench="workshop-1",
        draws_passed=False,
    )
    job = Job(
        "install", lambda run: install_run(run.plan, run.person, run.known, run.sheet, run.repair), resumable=True
    )
    keyboard, terminal = pty.openpty()
    reader.keyboard = keyboard
    with (
        os.fdopen(terminal, encoding="utf-8") as typed,
        stepped_surroundings(printer.control) as around,
        Book(folder / "book.sqlite3", around.clock) as book,
        RunLock(book.path, settings.tag) as lock,
        asyncio.Runner(loop_factory=around.new_loop) as runner,
        Signals() as signals,
    ):
        desk = PlainDesk(typed, reader, bell=False)
        code = runner.run(Guided(settings, job, desk, book, around, lock, signals).run())
    os.close(keyboard)
    return code, reader
