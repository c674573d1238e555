"""Jobs on the card for units of families B to E."""

from pathlib import Path

from tests.fake_printer.line import Host

LONG = ["G91", "M83", *["G1 X2 E2 F600"] * 200]
"""A fifth of a second and two millimetres a move."""


def printing(unit: str, folder: Path, moves: list[str] | None = None) -> Host:
    """A unit with filament in that has been printing from its card for four seconds; what it said is taken."""
    file = folder / "job.txt"
    file.write_text("\n".join(LONG if moves is None else moves))
    host = Host(unit)
    host.do("insert")
    assert host.printer.firmware is not None
    host.printer.firmware.cold_allowed = True
    host.printer.perform("print-card", str(file))
    host.after(4.0)
    return host


def streaming(unit: str, move: str = "G1 X2 E2 F600") -> Host:
    """A unit with filament in, to which a host has sent a dozen of these moves."""
    host = Host(unit)
    host.do("insert")
    assert host.printer.firmware is not None
    host.printer.firmware.cold_allowed = True
    for line in ("G91", "M83", *[move] * 12):
        host.ask(line)
    return host


def asked(host: Host, text: str) -> list[str]:
    """What comes to a question while a job runs, which waits for the move before it."""
    host.send(text)
    return host.after(1.0)


def run_out(host: Host, elapsed_s: float = 15.0) -> list[str]:
    """What is said from the cut of the filament, just above the sensor, until that long after it."""
    host.printer.perform("cut", "5")
    return host.after(elapsed_s)


def still_prints(host: Host) -> bool:
    """Whether the job on the card goes on."""
    firmware = host.printer.firmware
    assert firmware is not None
    before = len(firmware.runner.card)
    host.printer.advance(5.0)
    return len(firmware.runner.card) < before
