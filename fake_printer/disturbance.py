"""Disturbances: the things that happen on real lines between a question and its answer, each by name.

Most are armed and strike once, at the next occasion that suits them; a few act at once on the board or the port.
`sentence` is a neutral key for what the person at the other end has to be told.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from random import Random

from fake_printer.firmware.command import Command
from fake_printer.firmware.core import Firmware
from fake_printer.firmware.intake import Refusal
from fake_printer.firmware.outbox import Piece, encoded
from fake_printer.firmware.timers import Timer
from fake_printer.firmware.voice import Handler, Steps
from fake_printer.specs import DisturbanceSpec

_LINE_PAUSE_S = 0.25
_LATE_S = 3.0
_ENDLESS_LINE_S = 0.02
_LONG_LINE_BYTES = 8192

Lines = Sequence[str]
Rewrite = Callable[[Lines, Random], list[Piece]]


@dataclass(frozen=True)
class Disturbance:
    """One disturbance.

    Attributes:
        sentence: restarted, heard-aside, shown-as-unrecognised, not-understood, asked-again, no-answer, nothing-lost,
            never-ending, line-too-long, made-visible or port-lost.
        rewrite: changes a reply on its way out. handler: answers in place of the firmware.
        at_once: restart or port, acted on by the printer.
    """

    name: str
    help: str
    sentence: str
    rewrite: Rewrite | None = None
    handler: Handler[Firmware] | None = None
    at_once: str = ""


def _plain(lines: Lines) -> list[Piece]:
    return [encoded(line) for line in lines]


def _with_inside(text: str) -> Rewrite:
    def rewrite(lines: Lines, rng: Random) -> list[Piece]:
        place = rng.randint(1, max(1, len(lines) - 1))
        return _plain([*lines[:place], text, *lines[place:]])

    return rewrite


def _without_ok(lines: Lines, _: Random) -> list[Piece]:
    return _plain([line for line in lines if line != "ok" and not line.startswith("ok ")])


def _with_nul(lines: Lines, rng: Random) -> list[Piece]:
    place = rng.randrange(len(lines) - 1)
    return [encoded(line).replace(b"\n", b"\0\n") if n == place else encoded(line) for n, line in enumerate(lines)]


def _in_two(lines: Lines, rng: Random) -> list[Piece]:
    data = b"".join(encoded(line) for line in lines)
    place = rng.choice([n for n in range(1, len(data)) if data[n - 1 : n] != b"\n"])
    return [data[:place], _LINE_PAUSE_S, data[place:]]


def _broken(lines: Lines, rng: Random) -> list[Piece]:
    number = max(range(len(lines) - 1), key=lambda n: len(lines[n]))
    place = rng.randint(1, max(1, len(lines[number]) - 1))
    return _plain([*lines[:number], lines[number][:place], lines[number][place:], *lines[number + 1 :]])


def _late(lines: Lines, _: Random) -> list[Piece]:
    return [_LATE_S, *_plain(lines)]


def _long_line(lines: Lines, _: Random) -> list[Piece]:
    return [encoded(lines[0]), b"#" * _LONG_LINE_BYTES, *_plain(["", *lines[1:]])]


def _escapes(lines: Lines, _: Random) -> list[Piece]:
    name = "\x1b[2J\x1b[31m\x1b]0;switch\x07y\x9b\u202e_max"
    hostile = f"{name}: open".encode() + b"\n"
    return [encoded(lines[0]), hostile, *_plain(lines[1:])]


def _mangled(firmware: Firmware, command: Command) -> None:
    text = command.text[:1] + "\xfe" + command.text[2:]
    firmware.say(*firmware.voice.unknown(Command(text)))


def _refused(firmware: Firmware, _: Command) -> Steps:
    # the printer's own acknowledgement of the refused line takes the place of the command's
    last_line = firmware.reception.intake.last_line
    lines = firmware.voice.refused(Refusal("checksum", last_line, last_line + 1))
    firmware.say(*(lines[:-1] if lines[-1] == "ok" else lines))
    yield 0.0


def _endless(firmware: Firmware, _: Command) -> Steps:
    number = 0
    while True:
        firmware.say(f"echo:; line {number}")
        number += 1
        yield _ENDLESS_LINE_S


def _hang(_firmware: Firmware, _: Command) -> Steps:
    while True:
        yield 3600.0


CATALOGUE: tuple[Disturbance, ...] = (
    Disturbance("banner", "the board restarts by itself", "restarted", at_once="restart"),
    Disturbance("vanish", "the port is lost until the USB plug goes in again", "port-lost", at_once="port"),
    Disturbance("keepalive", "a keepalive inside a reply", "heard-aside", _with_inside("echo:busy: processing")),
    Disturbance(
        "autoreport",
        "temperatures inside a reply",
        "heard-aside",
        _with_inside(" T:21.48 /0.00 B:21.50 /0.00 @:0 B@:0"),
    ),
    Disturbance(
        "debug-line", "a debug line inside a reply", "shown-as-unrecognised", _with_inside("driver bus 2: 0x1F retry")
    ),
    Disturbance("unknown-command", "a command arrives damaged", "not-understood", handler=_mangled),
    Disturbance("resend", "a line is asked for again", "asked-again", handler=_refused),
    Disturbance("lost-ok", "an acknowledgement is lost", "no-answer", _without_ok),
    Disturbance("nul", "a NUL byte ends a line", "nothing-lost", _with_nul),
    Disturbance("split-line", "a reply pauses in the middle of a line", "nothing-lost", _in_two),
    Disturbance("broken-line", "a line is broken in two", "shown-as-unrecognised", _broken),
    Disturbance("late", "a reply comes three seconds late", "nothing-lost", _late),
    Disturbance("silence", "the firmware hangs until a restart", "no-answer", handler=_hang),
    Disturbance("endless", "a reply that never ends", "never-ending", handler=_endless),
    Disturbance("long-line", "8 kB without a line end", "line-too-long", _long_line),
    Disturbance("escapes", "escape sequences in a switch name", "made-visible", _escapes),
)
BY_NAME = {disturbance.name: disturbance for disturbance in CATALOGUE}


class Disturber:
    """Arms disturbances, by hand or by itself, and lets each strike at the next occasion that suits it.

    `at_once` is called with the kind of a disturbance that does not wait for an occasion.
    """

    def __init__(self, spec: DisturbanceSpec, rng: Random, at_once: Callable[[str], None]) -> None:
        self._spec = spec
        self._rng = rng
        self._at_once = at_once
        self._armed: list[Disturbance] = []
        self._timer = self._next_timer()

    def _next_timer(self) -> Timer:
        mean_s = self._spec.mean_interval_s
        return Timer(self._rng.expovariate(1 / mean_s) if mean_s else 0.0)

    @property
    def armed(self) -> list[str]:
        """Names of those that have not struck yet."""
        return [disturbance.name for disturbance in self._armed]

    def arm(self, name: str) -> Disturbance:
        """Have this one strike; KeyError for an unknown name."""
        disturbance = BY_NAME[name]
        if disturbance.at_once:
            self._at_once(disturbance.at_once)
        else:
            self._armed.append(disturbance)
        return disturbance

    def handler_for(self, command: Command) -> Handler[Firmware] | None:
        """The handler of a disturbance that answers in place of the firmware."""
        return self._strike(lambda one: one.handler is not None).handler if command.code and self._waits() else None

    def _waits(self) -> bool:
        return any(one.handler is not None for one in self._armed)

    def _strike(self, suits: Callable[[Disturbance], bool]) -> Disturbance:
        chosen = next(one for one in self._armed if suits(one))
        self._armed.remove(chosen)
        return chosen

    def sent(self, lines: Lines, command: Command) -> list[Piece]:
        """What becomes of a reply; a disturbance inside a reply waits for one that has an inside."""
        waiting = any(one.rewrite is not None and _suits(one, lines, command) for one in self._armed)
        if not waiting:
            return _plain(lines)
        chosen = self._strike(lambda one: one.rewrite is not None and _suits(one, lines, command))
        return chosen.rewrite(lines, self._rng) if chosen.rewrite is not None else _plain(lines)

    def advance(self, elapsed_s: float) -> None:
        """Let time pass; now and then one is armed by itself."""
        if self._timer.due_after(elapsed_s):
            self._timer = self._next_timer()
            self.arm(self._rng.choice(self._spec.names))

    def until_next_s(self) -> float:
        """Seconds until one is armed by itself."""
        return self._timer.left_s


def _suits(disturbance: Disturbance, lines: Lines, command: Command) -> bool:
    if disturbance.name in {"lost-ok", "late", "split-line"}:
        return any(line == "ok" or line.startswith("ok ") for line in lines)
    return len(lines) >= 2 and (disturbance.name != "escapes" or command.code == "M119")
