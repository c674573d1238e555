"""Another printer behind the port: whatever the command, it gets nothing but the question who it is.

End to end: the simulated printer is a process of its own, the commands are typed, the book says what ought to be there.
"""

from pathlib import Path

from commission.clock import SystemClock
from commission.dialect.commands import Effect
from commission.evidence.findings.meeting import Consent
from commission.evidence.findings.settings import SettingsAsFound
from commission.evidence.wire import Intent
from commission.link.identity import PortIdentity
from commission.procedure.identity import PrinterMarks
from commission.procedure.settings_record import SettingsRecord
from commission.records.book import Book
from tests.cli.test_check import Bench, answer, bench
from tests.settings.reports import OLDER
from tests.support.made import begun
from tests.support.on_record import marks_on_record

SOMEWHERE = PortIdentity("", "", "", "socket://127.0.0.1:1")
OTHER = PrinterMarks(SOMEWHERE, uuid="00000000-1111-4222-8333-944455556666", firmware="ExampleFW 2", machine="Bench")
QUICK = ("--countdown", "1.3", "--dwell", "0.5", "--wiggle", "2")
COMMANDS = (
    ("install", "--cycles", "6", *QUICK),
    ("check", *QUICK),
    ("check", "--prove", *QUICK),
    ("backup",),
    ("restore",),
    ("function", "--homed"),
    ("diagnose",),
)
AFTER_A_KILL = (("diagnose",), ("function", "--homed"))
"""What a killed run left open is met by one piece of code, whatever the command."""
LEFT_RUN = "bench-3/2031-03-15/1"


def left_hot(there: Bench) -> None:
    """Have a killed run on record that had heated and permitted cold extrusion."""
    sent = [("M104 S200", Effect.HEAT), ("M302 P1", Effect.SETTING)]
    with Book(there.place, SystemClock()) as book:
        book.append(LEFT_RUN, begun(LEFT_RUN, "function"))
        for command, effect in sent:
            book.append(LEFT_RUN, Intent(command=command, effect=effect, purpose="x"))


def received(there: Bench) -> set[str]:
    """What reached the printer, without numbers and checksums."""
    return {line.split("*")[0].split(" ", 1)[-1] for line in there.printer.received() if line}


def on_record(there: Bench, marks: PrinterMarks) -> None:
    """Have the printer's marks and its settings on record."""
    settings = SettingsRecord(tuple(OLDER.splitlines()), "printer", "2031-03-14")
    there.on_record(marks_on_record(marks), SettingsAsFound(**settings.values()))


def test_a_swapped_printer_gets_nothing_but_a_question(tmp_path: Path) -> None:
    """Every command that talks to a printer ends there, also where a killed run left the one on record hot."""
    with bench(tmp_path) as there:
        on_record(there, OTHER)
        for words in COMMANDS:
            code, screen = there.run(words[0], "bench-3", *words[1:], script=answer("identity.same", "no"))
            assert 3 == code, screen
            assert "By its marks" in screen or "It announces another unique number than on record." in screen
        left_hot(there)
        for words in AFTER_A_KILL:
            code, screen = there.run(words[0], "bench-3", *words[1:], script=answer("identity.same", "no"))
            assert 3 == code, screen
            assert "was broken off with something switched on or changed" in screen
        sent = received(there)

    assert {"M115"} == sent


def test_with_nobody_there_a_stranger_is_not_made_safe(tmp_path: Path) -> None:
    """An unattended check leaves a printer alone that may be another one, and says why."""
    with bench(tmp_path) as there:
        on_record(there, OTHER)
        there.on_record(Consent(granted=True, by="R. Okafor"))
        left_hot(there)
        code, screen = there.run("check", "bench-3", "--unattended", "--steady", "1")
        sent = received(there)

    assert 3 == code, screen
    assert "nobody is there to look" in screen
    assert {"M115"} == sent


def test_a_printer_known_again_is_made_safe_without_a_question(tmp_path: Path) -> None:
    """The same unique number as on record is enough: heaters are switched off before anything else is done."""
    with bench(tmp_path) as there:
        there.run("backup", "bench-3", script=answer("backup.working_enough", "yes"))
        left_hot(there)
        code, screen = there.run("diagnose", "bench-3", script=answer("wiring.*", "operator stop"))
        sent = there.printer.received()

    assert 130 == code, screen
    assert "Made safe: the printer answers." in screen
    assert any("M104 S0" in line for line in sent)
