"""Findings as an earlier run left them, made from what the procedures work with."""

from commission.evidence.findings import meeting
from commission.procedure.identity import Match, PrinterMarks


def marks_on_record(marks: PrinterMarks, tag: str = "bench-3") -> meeting.PrinterMarks:
    """The finding by which a printer with these marks was met for the first time."""
    return meeting.PrinterMarks(
        port=marks.port,
        uuid=marks.uuid,
        firmware=marks.firmware,
        machine=marks.machine,
        match=Match.FIRST.value,
        tag=tag,
        firmware_changed=False,
    )
