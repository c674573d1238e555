"""The plain G-code file of restorable lines, as a person and any sender read it."""

from commission.settings.plain_file import plain_file
from commission.settings.restore_plan import restorable_lines
from tests.settings.reports import report

WHOLE_FILE = """\
; bench-3, as found 2026-03-14
; Each line below was built anew from a value that the printer reported;
;   nothing in it moves, heats, probes, saves or erases.
; Send the lines one by one, read the settings back after each, and save once
;   at the end.
; A line behind a semicolon wants a look first: read its reason, then take the
;   semicolon away if it holds.
; Whether runout detection is on, and its leftover distance, are set afresh
;   and do not stand here.

; == May be put back

; Highest speed of each axis
M203 X300.00 Z5.00

; == Wants a look first

; Where the probe triggers, seen from the nozzle. A wrong sign or value drives
;   the nozzle into the bed; older builds counted Z with the opposite sign.
;M851 Z-1.85

; == Not put back from here
; M412: It is the very thing that is being commissioned: set afresh from the
;   lengths of this machine, never from an old report.
; C100: Its meaning is not known here: it is kept in the record and never sent
;   by itself.
"""


def test_the_whole_file() -> None:
    """Live lines, lines behind a semicolon under their reason, and what is not put back, by name only."""
    plan = restorable_lines(report("M203 X300.00 Z5.00", "M851 Z-1.85", "M412 S1 D18.00", "C100 A1.00"))

    assert WHOLE_FILE == plain_file(plan, ["bench-3, as found 2026-03-14"])


def test_a_heading_stays_a_comment() -> None:
    """A heading with line breaks, escapes or letters beyond ASCII stays one harmless comment."""
    text = plain_file(restorable_lines(report("M203 X300.00")), ["bench-3\nM112\x1b[2J \u202eü"])

    assert "; bench-3 M112?[2J ??" == text.splitlines()[0]


def test_nothing_to_put_back() -> None:
    """A report without restorable lines gives a file of comments only."""
    text = plain_file(restorable_lines(report("C100 A1.00")), [])

    assert all(not line or line.startswith("; ") for line in text.splitlines())
