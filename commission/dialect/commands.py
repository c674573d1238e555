"""What we may say to a printer, each with its purpose, its effect and what a complete answer contains.

Effects decide what must be released by a person first; the rule itself stands in the procedures. A few commands look
like reading and are not; their `caution` says so. What reads on one family and sets on another cannot be made a
question without the identified printer that it is for.
"""

import re
from dataclasses import dataclass
from enum import Enum

from commission.dialect.answers import (
    COLD_EXTRUSION_ANSWER,
    COUNTERS_ANSWER,
    IDENTITY_ANSWER,
    KEEPALIVE_ANSWER,
    PIN_ANSWER,
    POSITION_ANSWER,
    RUNOUT_ANSWER,
    SETTINGS_ANSWER,
    SILENT,
    STORAGE_ANSWER,
    SWITCHES_ANSWER,
    TEMPERATURES_ANSWER,
    Answer,
)
from commission.dialect.family import Identified
from commission.dialect.purity import require_question

# Input lines are cut silently at 96 bytes in common builds; the line number, checksum and line end need room too.
COMMAND_LIMIT_BYTES = 90

# A letter and a number; or, on a host computer's console, a whole word.
_BEGINS = re.compile(r"[A-Z]\d{1,4}(?:\.\d{1,2})?(?= |$)|[A-Z][A-Z_]{3,40}(?= |$)")
_FORBIDDEN = re.compile(r"[;*()]")


class Effect(Enum):
    """What a command does to the machine."""

    READ_ONLY = "reads only"
    SETTING = "changes a setting until the next restart"
    MOTION = "moves"
    HEAT = "heats"
    SAVE = "saves the settings"
    ERASE = "discards settings"
    EMERGENCY = "stops everything"
    HOST = "talks to the host side of the printer"


@dataclass(frozen=True)
class Command:
    """One line we may send.

    Attributes:
        text: the line, without number, checksum, comment and line end.
        purpose: why it is sent, in a few words for the record.
        effect: what it does to the machine.
        answer: what its complete answer contains.
        caution: what an operator must know before it; empty when there is nothing.
        urgent: it is taken even while the printer is blocked, where the build supports that.
        asked_of: the printer it is for, where what it does depends on the family.
    """

    text: str
    purpose: str
    effect: Effect
    answer: Answer = SILENT
    caution: str = ""
    urgent: bool = False
    asked_of: Identified | None = None

    def __post_init__(self) -> None:
        if not (self.text.isascii() and self.text.isprintable()):
            raise ValueError(f"a command is one line of printable ASCII: {self.text!r}")
        if len(self.text) > COMMAND_LIMIT_BYTES:
            raise ValueError(f"a command has at most {COMMAND_LIMIT_BYTES} bytes: {self.text!r}")
        if found := _FORBIDDEN.search(self.text):
            raise ValueError(f"a command holds no comment and no checksum, so no {found[0]!r}: {self.text!r}")
        if not _BEGINS.match(self.text) or self.text.startswith("N"):
            raise ValueError(f"a command begins with a letter and a number, or with a word: {self.text!r}")
        if not self.purpose:
            raise ValueError(f"say what the command is for: {self.text!r}")
        if self.effect is Effect.READ_ONLY:
            require_question(self.text, self.asked_of)


def _read(text: str, purpose: str, answer: Answer) -> Command:
    return Command(text, purpose, Effect.READ_ONLY, answer)


IDENTITY = _read("M115", "ask for the firmware's identity", IDENTITY_ANSWER)
SWITCHES = _read("M119", "ask for the switch states", SWITCHES_ANSWER)
SETTINGS = _read("M503", "list the settings in working memory", SETTINGS_ANSWER)
ALT_SETTINGS = _read("M205", "list the settings of an older family", SETTINGS_ANSWER)
RUNOUT_CONTROL = _read("M412", "ask for the state of runout control", RUNOUT_ANSWER)
TEMPERATURES = _read("M105", "ask for the temperatures", TEMPERATURES_ANSWER)
POSITION = _read("M114", "ask for the planned position", POSITION_ANSWER)
COUNTERS = _read("M78", "ask for the counters of hours and filament", COUNTERS_ANSWER)
RELOAD_STORED = Command(
    "M501",
    "reload the stored settings",
    Effect.ERASE,
    SETTINGS_ANSWER,
    caution="Unsaved values are lost; if the store is bad, the defaults are loaded.",
)
SAVE_STORED = Command("M500", "save the settings in working memory", Effect.SAVE, STORAGE_ANSWER)
LOAD_DEFAULTS = Command(
    "M502",
    "load the built-in defaults into working memory",
    Effect.ERASE,
    STORAGE_ANSWER,
    caution="Every tuned value in working memory is replaced; the store is untouched until the next save.",
)


def count_lines_from(number: int) -> Command:
    """Have the printer count the lines from this number on; its count lives in its working memory alone."""
    return Command(f"M110 N{number}", "start the line numbers again", Effect.HOST)


def counts_from(command: Command) -> int | None:
    """The number that such a command names; None for any other command."""
    return int(command.text.removeprefix("M110 N")) if command.text.startswith("M110 N") else None


RESET_LINE_NUMBER = count_lines_from(0)

EMERGENCY_STOP = Command(
    "M112",
    "emergency stop",
    Effect.EMERGENCY,
    caution="The printer is dead until it is reset; heaters and motors are off.",
    urgent=True,
)
CONTINUE = Command("M108", "end the printer's wait for a person", Effect.HOST, urgent=True)

WAIT_FOR_MOVES = Command("M400", "wait until the queued moves are done", Effect.READ_ONLY)
START_JOB = Command("M75", "start the print job timer", Effect.HOST)
STOP_JOB = Command("M77", "stop the print job timer", Effect.HOST)
HOME = Command("G28", "home all axes", Effect.MOTION)
ABSOLUTE_MOVES = Command("G90", "take coordinates as absolute", Effect.SETTING)
RELATIVE_MOVES = Command("G91", "take coordinates as relative", Effect.SETTING)
ABSOLUTE_EXTRUSION = Command("M82", "take filament lengths as absolute", Effect.SETTING)
RELATIVE_EXTRUSION = Command("M83", "take filament lengths as relative", Effect.SETTING)
COLD_EXTRUSION = _read("M302", "ask for the cold extrusion limit", COLD_EXTRUSION_ANSWER)
KEEPALIVE = _read("M113", "ask for the keepalive interval", KEEPALIVE_ANSWER)
HEATERS_OFF = (
    Command("M104 S0", "hotend heater off", Effect.SETTING),
    Command("M140 S0", "bed heater off", Effect.SETTING),
)
FAN_ON = Command("M106 S255", "part fan at full speed", Effect.MOTION)
FAN_OFF = Command("M107", "part fan off", Effect.SETTING)


def _number(value: float) -> str:
    text = f"{value:.5f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _not_negative(value: float, what: str) -> float:
    if not 0 <= value < 1e6:
        raise ValueError(f"{what} must be zero or more, not {value}")
    return value


def enable_runout(on: bool) -> Command:  # noqa: FBT001 - the switch is all there is to say
    """Switch the watching for a runout on or off; this also resets its state."""
    return Command(f"M412 S{int(on)}", f"switch runout control {'on' if on else 'off'}", Effect.SETTING)


def leftover_distance(mm: float) -> Command:
    """Set the length that is still printed after the sensor opened, in millimetres.

    Raises:
        ValueError: the length is negative.
    """
    return Command(
        f"M412 D{_number(_not_negative(mm, 'the leftover distance'))}",
        "set the leftover distance",
        Effect.SETTING,
    )


def show_message(text: str) -> Command:
    """Show a short message on the printer's own display; what a command cannot hold is replaced by blanks."""
    plain = "".join(letter if letter.isascii() and letter.isprintable() else " " for letter in text)
    plain = re.sub(r'[;*()\\"]', " ", plain)
    return Command(f"M117 {plain}"[:COMMAND_LIMIT_BYTES].rstrip(), "show a message", Effect.HOST)


def keepalive_interval(s: float) -> Command:
    """Set how often a busy printer says so, in seconds; zero silences it."""
    value = _number(_not_negative(s, "the keepalive interval"))
    return Command(f"M113 S{value}", "set the keepalive interval", Effect.SETTING)


def temperature_reports(s: int) -> Command:
    """Have temperatures reported by themselves every so many seconds; zero ends it."""
    value = _number(_not_negative(s, "the report interval"))
    return Command(f"M155 S{value}", "set the temperature report interval", Effect.SETTING)


def pin_report(pin: str) -> Command:
    """Ask what one pin is used for.

    Raises:
        ValueError: the pin's name is no number, port name or port.pin.
    """
    if not re.fullmatch(r"[A-Za-z]{0,2}\d{1,3}(?:\.\d{1,3})?", pin):
        raise ValueError(f"a pin is named like 4, 1.24 or PA9, not {pin!r}")
    return Command(
        f"M43 P{pin}",
        f"ask what pin {pin} is used for",
        Effect.READ_ONLY,
        PIN_ANSWER,
        caution="A pin report can be long and may restart some boards.",
    )


def hotend_target(celsius: float, tool: int = 0) -> Command:
    """Set a hotend's target in degrees Celsius; zero switches its heater off."""
    value = _number(_not_negative(celsius, "the target"))
    effect = Effect.HEAT if celsius > 0 else Effect.SETTING
    word = f" T{tool}" if tool else ""
    return Command(f"M104{word} S{value}", f"hotend target {value} C", effect)


def cold_extrusion_limit(celsius: float) -> Command:
    """Set the temperature in degrees Celsius below which filament is not driven."""
    value = _number(_not_negative(celsius, "the limit"))
    return Command(
        f"M302 S{value}",
        "set the cold extrusion limit",
        Effect.SETTING,
        caution="Below the melting point the drive gear grinds the filament.",
    )


def permit_cold_extrusion(on: bool) -> Command:  # noqa: FBT001 - the switch is all there is to say
    """Permit the filament to be driven at any temperature, or forbid it again below the limit."""
    return Command(
        f"M302 P{int(on)}",
        f"{'permit' if on else 'forbid'} cold extrusion",
        Effect.SETTING,
        caution="Below the melting point the drive gear grinds filament: keep the path empty." if on else "",
    )


def move(
    *,
    x_mm: float | None = None,
    y_mm: float | None = None,
    z_mm: float | None = None,
    e_mm: float | None = None,
    speed_mm_s: float,
) -> Command:
    """One straight move; whether lengths are relative was said before.

    Raises:
        ValueError: no axis is named, or the speed is not above zero.
    """
    axes = {"X": x_mm, "Y": y_mm, "Z": z_mm, "E": e_mm}
    words = [f"{axis}{_number(value)}" for axis, value in axes.items() if value is not None]
    if not words or not 0 < speed_mm_s < 10_000:
        raise ValueError("a move names at least one axis and a speed above zero")
    return Command(f"G1 {' '.join(words)} F{_number(speed_mm_s * 60)}", "move", Effect.MOTION)


def answer_prompt(choice: int) -> Command:
    """Press one of the buttons the printer offers; zero is the first."""
    if not 0 <= choice < 100:
        raise ValueError(f"a button is counted from zero, not {choice}")
    return Command(f"M876 S{choice}", f"press button {choice + 1} of the prompt", Effect.HOST, urgent=True)


def restore(line: str) -> Command:
    """A settings line to be given back, as the restore plan wrote it."""
    return Command(line, "restore a setting", Effect.SETTING)
