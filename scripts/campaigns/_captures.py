"""Saved settings reports, made up here, and the ways in which they are damaged; the same for the same seed.

They are not those of the tests of the settings: each value differs from the simulated printer's, so that there is
something to put back, and none is written in a form that a restore would rewrite.
"""

from __future__ import annotations

from collections.abc import Callable
from random import Random

REPORTS = (
    """\
echo:; Linear Units:
echo:  G21 ; (mm)
echo:; Temperature Units:
echo:  M149 C ; Units in Celsius
echo:; Filament settings (Disabled):
echo:  M200 S0 D1.75
echo:; Steps per unit:
echo:  M92 X81.00 Y81.50 Z402.00 E97.50
echo:; Max feedrates (units/s):
echo:  M203 X280.00 Y280.00 Z12.00 E45.00
echo:; Max Acceleration (units/s2):
echo:  M201 X1400.00 Y1300.00 Z110.00 E4800.00
echo:; Acceleration (units/s2) (P<print-accel> R<retract-accel> T<travel-accel>):
echo:  M204 P850.00 R1100.00 T950.00
echo:; Advanced (jerk):
echo:  M205 X8.00 Y8.00 Z0.30 E5.00
echo:; Home offset:
echo:  M206 X0.50 Y0.25 Z0.00
echo:; Material heatup parameters:
echo:  M145 S0 H205.00 B58.00 F250
echo:; Hotend PID:
echo:  M301 P22.10 I1.45 D80.00
echo:; Bed PID:
echo:  M304 P112.00 I18.50 D335.00
echo:; Z-Probe Offset:
echo:  M851 X-41.00 Y-11.00 Z-1.95 ; (mm)
echo:; Filament load/unload:
echo:  M603 L0.00 U65.00 ; (mm)
echo:; Filament runout sensor:
echo:  M412 S1 D20.00 ; Sensor ON
ok
""",
    """\
echo:Steps per unit:
echo:  M92 X79.00 Y79.00 Z399.00 E94.00
echo:Maximum feedrates (units/s):
echo:  M203 X250.00 Y250.00 Z9.00 E40.00
echo:Maximum Acceleration (units/s2):
echo:  M201 X1200 Y1200 Z90 E4500
echo:Accelerations: P=printing, R=retract and T=travel
echo:  M204 P700.00 R900.00 T700.00
echo:Advanced variables (jerk):
echo:  M205 X10.00 Y10.00 Z0.40 E5.00
echo:Home offset (mm):
echo:  M206 X0.10 Y0.20 Z0.00
echo:PID settings:
echo:  M301 P20.00 I1.20 D70.00
ok
""",
)
COMMANDS = (
    "G28",
    "G1 X100 F6000",
    "G29",
    "M104 S200",
    "M109 S210",
    "M140 S60",
    "M302 P1",
    "M303 E0 S200 C8",
    "M112",
    "M500",
    "M502",
    "M997",
    "M42 P13 S255",
    "M206 T3 P200 X5",
    "M600",
    "M18",
    "M23 job.txt",
    "M24",
    "M30 job.txt",
    "M928 x",
    "T1",
    "M9999",
)
NUMBERS = ("1e9", "-1", "0", "99999999999", "NaN", "inf", "0x10", "1.2.3", "--5", "\u0663", "1,5", "", "+7", ".5", "5.")
SIGNS = (
    "\r",
    "\x00",
    "\x1b[2J",
    "\u2028",
    "\x85",
    "\xff",
    "*",
    ";",
    "N12 ",
    "\n",
    "\t",
    "\u202e",
    "ok\n",
    "(",
    "!",
    "$",
)


def damaged(seed: str) -> bytes:
    """One of the reports with one to six damages, as a file."""
    chance = Random(seed)  # noqa: S311 - repeatable on purpose
    text = chance.choice(REPORTS)
    for _ in range(chance.randint(1, 6)):
        text = chance.choice(_DAMAGES)(text, chance)
    return text.encode("latin-1" if chance.random() < 0.2 else "utf-8", "replace")


def _lines_of(text: str) -> list[str]:
    return text.split("\n")


def _place(text: str, chance: Random) -> int:
    return chance.randrange(len(text) + 1)


def _command_put_in(text: str, chance: Random) -> str:
    lines = _lines_of(text)
    head = chance.choice(("", "echo:  ", "echo:", "echo:; ", "; ", "Recv: ", "echo:N3 "))
    lines.insert(chance.randrange(len(lines)), head + chance.choice(COMMANDS) + chance.choice(("", "*71", " ; (mm)")))
    return "\n".join(lines)


def _command_appended(text: str, chance: Random) -> str:
    lines = _lines_of(text)
    at = chance.randrange(len(lines))
    lines[at] += chance.choice((" ", "\r", "; ", "\\n", "\x0b", "|", " & ", "\u2028")) + chance.choice(COMMANDS)
    return "\n".join(lines)


def _code_replaced(text: str, chance: Random) -> str:
    words = text.split(" ")
    codes = [n for n, word in enumerate(words) if word[:1] in "MG" and word[1:].isdigit()]
    if codes:
        words[chance.choice(codes)] = chance.choice(COMMANDS).split(" ")[0]
    return " ".join(words)


def _number_replaced(text: str, chance: Random) -> str:
    words = text.split(" ")
    values = [n for n, word in enumerate(words) if word[:1].isalpha() and word[1:2].isdigit()]
    if values:
        at = chance.choice(values)
        words[at] = words[at][0] + chance.choice(NUMBERS)
    return " ".join(words)


def _sign_put_in(text: str, chance: Random) -> str:
    at = _place(text, chance)
    return text[:at] + chance.choice(SIGNS) + text[at:]


def _sign_changed(text: str, chance: Random) -> str:
    at = chance.randrange(max(1, len(text)))
    return text[:at] + chr(chance.randrange(32, 127)) + text[at + 1 :]


def _sign_removed(text: str, chance: Random) -> str:
    at = chance.randrange(max(1, len(text)))
    return text[:at] + text[at + 1 :]


def _line_doubled(text: str, chance: Random) -> str:
    lines = _lines_of(text)
    lines.insert(chance.randrange(len(lines)), chance.choice(lines))
    return "\n".join(lines)


def _line_removed(text: str, chance: Random) -> str:
    lines = _lines_of(text)
    del lines[chance.randrange(len(lines))]
    return "\n".join(lines)


def _lines_joined(text: str, chance: Random) -> str:
    lines = _lines_of(text)
    if len(lines) > 1:
        at = chance.randrange(len(lines) - 1)
        lines[at : at + 2] = [lines[at] + " " + lines[at + 1].removeprefix("echo:").strip()]
    return "\n".join(lines)


def _end_cut(text: str, chance: Random) -> str:
    return text[: _place(text, chance)] if chance.random() < 0.3 else text


def _units_changed(text: str, chance: Random) -> str:
    return text.replace("G21", "G20") if chance.random() < 0.5 else text.replace("M149 C", "M149 F")


def _lower_case(text: str, chance: Random) -> str:
    at = _place(text, chance)
    return text[:at] + text[at:].lower()


def _other_line_ends(text: str, chance: Random) -> str:
    return text.replace("\n", chance.choice(("\r\n", "\r", "\n\n", "\r\r\n")))


_DAMAGES: tuple[Callable[[str, Random], str], ...] = (
    _command_put_in,
    _command_put_in,
    _command_appended,
    _command_appended,
    _code_replaced,
    _number_replaced,
    _number_replaced,
    _sign_put_in,
    _sign_put_in,
    _sign_changed,
    _sign_removed,
    _line_doubled,
    _line_removed,
    _lines_joined,
    _end_cut,
    _units_changed,
    _lower_case,
    _other_line_ends,
)
