"""The hands at the printer: every verb, what it needs, and the sentence that says what was done."""

import difflib
import json
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from fake_printer import hands_sockets
from fake_printer.disturbance import BY_NAME
from fake_printer.hands_error import HandsError
from fake_printer.profile import ProfileError, load_profile

if TYPE_CHECKING:
    from fake_printer.printer import Printer

__all__ = ["HANDS", "HandsError", "perform"]

_POWER_CYCLE_S = 2.0
_LONGEST_S = 600.0
_TERMINALS = ("signal", "ground", "supply")
_ANSWERS = {"continue": 1, "purge": 0, "disable": 1}

HANDS: dict[str, str] = {
    "insert": "push filament in past the sensor",
    "withdraw": "pull the filament out",
    "cut": "MM: cut the filament that far upstream of the sensor",
    "free-gear": "open the drive, so that its gear turns without taking the filament along",
    "close-gear": "close the drive again",
    "press-lever": "hold the sensor's lever down with a finger",
    "release-lever": "take the finger off the lever",
    "unplug": "board|sensor: pull the sensor cable there",
    "plug": "[board|sensor]: plug the cable in again, at both ends unless one is named",
    "break-wire": "signal|ground|supply: break that conductor of the cable",
    "mend-wire": "signal|ground|supply: mend it",
    "short": "signal-ground|signal-supply|supply-ground: bridge two terminals at the board's header",
    "release-short": "take every bridge off the header",
    "shake": "SECONDS: shake the cable",
    "mains": "on|off: the power switch",
    "usb": "in|out: the USB plug",
    "power-cycle": "[SECONDS]: mains off and USB out, and both back after that time (2 s)",
    "press-reset": "press the board's reset button",
    "button": "press the button of the printer's own display",
    "answer-pause": "continue|purge|disable: choose that on the printer's own display while it waits",
    "print-card": "FILE: put a card with that job file in and start it on the display",
    "reflash": "UNIT: put the build of that unit into the board, with its input settings",
    "disturb": "NAME: have a disturbance strike; without a name, list them",
    **hands_sockets.HANDS,
    "state": "everything that is true of the printer, as one line of JSON",
}


def perform(printer: "Printer", verb: str, words: tuple[str, ...]) -> str:
    """Do it, and say in one sentence what was done.

    Raises:
        HandsError: an unknown verb, words it cannot use, or a printer that is not in the state for it.
    """
    doing = _DOING.get(verb) or hands_sockets.DOING.get(verb)
    if doing is None:
        near = difflib.get_close_matches(verb, HANDS, n=1)
        hint = f" Did you mean '{near[0]}'?" if near else f" Known: {', '.join(HANDS)}."
        raise HandsError(f"Nobody here knows how to '{verb}'.{hint}")
    return doing(printer, words)


def _one_of(verb: str, words: tuple[str, ...], choices: tuple[str, ...]) -> str:
    if len(words) != 1 or words[0] not in choices:
        raise HandsError(f"Say '{verb}' with one of: {', '.join(choices)}.")
    return words[0]


def _number(verb: str, words: tuple[str, ...], unit: str, otherwise: float | None = None) -> float:
    if not words and otherwise is not None:
        return otherwise
    try:
        value = float(words[0])
    except (IndexError, ValueError) as missing:
        raise HandsError(f"Say '{verb}' with a number of {unit}, for example: {verb} 5") from missing
    if not 0 < value <= _LONGEST_S:
        raise HandsError(f"Say '{verb}' with a number of {unit} above 0, at most {_LONGEST_S:.0f}.")
    return value


def _nothing_more(verb: str, words: tuple[str, ...]) -> None:
    if words:
        raise HandsError(f"'{verb}' takes nothing behind it; leave '{' '.join(words)}' away.")


def _insert(printer: "Printer", words: tuple[str, ...]) -> str:
    _nothing_more("insert", words)
    already = printer.plant.filament.at_trip_point
    printer.plant.filament.insert()
    return "The filament was in already." if already else "The filament is being pushed in past the sensor."


def _withdraw(printer: "Printer", words: tuple[str, ...]) -> str:
    _nothing_more("withdraw", words)
    already_out = not printer.plant.filament.at_trip_point and not printer.plant.filament.moving
    if not printer.plant.filament.withdraw():
        raise HandsError("The end of the filament is past the sensor; there is nothing to pull. Try: insert")
    return "The filament was out already." if already_out else "The filament is being pulled out."


def _cut(printer: "Printer", words: tuple[str, ...]) -> str:
    distance_mm = _number("cut", words, "mm", otherwise=20.0)
    if not printer.plant.filament.at_trip_point:
        raise HandsError("There is no filament in the sensor to cut. Try: insert")
    printer.plant.filament.cut(distance_mm)
    return f"The filament is cut {distance_mm:g} mm upstream of the sensor."


def _free_gear(printer: "Printer", words: tuple[str, ...]) -> str:
    _nothing_more("free-gear", words)
    printer.plant.filament.gear_free = True
    return "The drive gear is free of the filament."


def _close_gear(printer: "Printer", words: tuple[str, ...]) -> str:
    _nothing_more("close-gear", words)
    printer.plant.filament.gear_free = False
    return "The drive gear can take the filament again."


def _press_lever(printer: "Printer", words: tuple[str, ...]) -> str:
    _nothing_more("press-lever", words)
    printer.plant.lever.held_by_hand = True
    return "A finger holds the lever down."


def _release_lever(printer: "Printer", words: tuple[str, ...]) -> str:
    _nothing_more("release-lever", words)
    printer.plant.lever.held_by_hand = False
    return "The finger is off the lever."


def _set_plug(printer: "Printer", end: str, *, plugged: bool) -> None:
    if end == "board":
        printer.plant.cable.plugged_at_board = plugged
    else:
        printer.plant.cable.plugged_at_sensor = plugged


def _unplug(printer: "Printer", words: tuple[str, ...]) -> str:
    end = _one_of("unplug", words, ("board", "sensor"))
    _set_plug(printer, end, plugged=False)
    return f"The sensor cable is unplugged at the {end}."


def _plug(printer: "Printer", words: tuple[str, ...]) -> str:
    ends = (_one_of("plug", words, ("board", "sensor")),) if words else ("board", "sensor")
    for end in ends:
        _set_plug(printer, end, plugged=True)
    return f"The sensor cable is plugged in at the {' and the '.join(ends)}."


def _break_wire(printer: "Printer", words: tuple[str, ...]) -> str:
    conductors = printer.plant.cable.conductors
    name = _one_of("break-wire", words, _TERMINALS)
    if conductors[name] == "absent":
        raise HandsError(f"This cable has no {name} conductor to break.")
    conductors[name] = "open"
    return f"The {name} conductor is broken."


def _mend_wire(printer: "Printer", words: tuple[str, ...]) -> str:
    conductors = printer.plant.cable.conductors
    name = _one_of("mend-wire", words, _TERMINALS)
    if conductors[name] == "absent":
        raise HandsError(f"This cable has no {name} conductor to mend.")
    conductors[name] = "sound"
    return f"The {name} conductor is whole."


def _short(printer: "Printer", words: tuple[str, ...]) -> str:
    pair = _one_of("short", words, ("signal-ground", "signal-supply", "supply-ground"))
    one, other = pair.split("-")
    printer.board.bridges.add((f"board.{one}", f"board.{other}"))
    return f"{one.capitalize()} and {other} are bridged at the board's header."


def _release_short(printer: "Printer", words: tuple[str, ...]) -> str:
    _nothing_more("release-short", words)
    printer.board.bridges.clear()
    return "No bridge is left at the board's header."


def _shake(printer: "Printer", words: tuple[str, ...]) -> str:
    seconds = _number("shake", words, "seconds")
    printer.plant.cable.shaken_for_s = seconds
    return f"The cable is being shaken for {seconds:g} s."


def _mains(printer: "Printer", words: tuple[str, ...]) -> str:
    printer.mains_on = _one_of("mains", words, ("on", "off")) == "on"
    return f"The power switch is {words[0]}."


def _usb(printer: "Printer", words: tuple[str, ...]) -> str:
    printer.plug_usb(plugged=_one_of("usb", words, ("in", "out")) == "in")
    return f"The USB plug is {words[0]}."


def _power_cycle(printer: "Printer", words: tuple[str, ...]) -> str:
    seconds = _number("power-cycle", words, "seconds", otherwise=_POWER_CYCLE_S)
    printer.power_cycle(seconds)
    return f"Mains is off and the USB plug is out; both come back after {seconds:g} s."


def _press_reset(printer: "Printer", words: tuple[str, ...]) -> str:
    _nothing_more("press-reset", words)
    if not printer.alive:
        raise HandsError("The board has no power. Try: mains on")
    printer.restart("External Reset")
    return "The board restarts."


def _button(printer: "Printer", words: tuple[str, ...]) -> str:
    _nothing_more("button", words)
    return _answer_pause(printer, ("continue",))


def _answer_pause(printer: "Printer", words: tuple[str, ...]) -> str:
    answer = _one_of("answer-pause", words, tuple(_ANSWERS))
    firmware = printer.firmware
    if not printer.profile.firmware.display:
        raise HandsError("This printer has no display of its own; it has to be answered over the line.")
    if firmware is None or not firmware.dialogue.waiting:
        raise HandsError("The printer does not wait for a person at the moment.")
    firmware.dialogue.choose(_ANSWERS[answer])
    return f"'{answer}' is chosen on the printer's display."


def _print_card(printer: "Printer", words: tuple[str, ...]) -> str:
    if len(words) != 1 or printer.firmware is None:
        raise HandsError("Say 'print-card' with one job file, with the printer switched on.")
    try:
        lines = Path(words[0]).read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as unreadable:
        raise HandsError(f"{words[0]} cannot be read: {unreadable}.") from unreadable
    printer.firmware.runner.start_card(lines)
    printer.firmware.job.start()
    return f"The job {words[0]} runs from the card."


def _reflash(printer: "Printer", words: tuple[str, ...]) -> str:
    if len(words) != 1:
        raise HandsError("Say 'reflash' with the name of a unit whose build to take, for example: reflash sound")
    try:
        build = load_profile(words[0])
    except ProfileError as wrong:
        raise HandsError(str(wrong)) from wrong
    if not printer.alive:
        raise HandsError("The board has no power to be flashed. Try: usb in")
    printer.reflash(build)
    return f"The board holds the build of '{build.name}' now and restarts."


def _disturb(printer: "Printer", words: tuple[str, ...]) -> str:
    if not words:
        return "; ".join(f"{one.name}: {one.help}" for one in BY_NAME.values())
    name = _one_of("disturb", words, tuple(BY_NAME))
    return f"Disturbance: {printer.disturber.arm(name).help}."


def _state(printer: "Printer", words: tuple[str, ...]) -> str:
    _nothing_more("state", words)
    return json.dumps(printer.state())


_DOING: dict[str, Callable[["Printer", tuple[str, ...]], str]] = {
    "insert": _insert,
    "withdraw": _withdraw,
    "cut": _cut,
    "free-gear": _free_gear,
    "close-gear": _close_gear,
    "press-lever": _press_lever,
    "release-lever": _release_lever,
    "unplug": _unplug,
    "plug": _plug,
    "break-wire": _break_wire,
    "mend-wire": _mend_wire,
    "short": _short,
    "release-short": _release_short,
    "shake": _shake,
    "mains": _mains,
    "usb": _usb,
    "power-cycle": _power_cycle,
    "press-reset": _press_reset,
    "button": _button,
    "answer-pause": _answer_pause,
    "print-card": _print_card,
    "reflash": _reflash,
    "disturb": _disturb,
    "state": _state,
}
