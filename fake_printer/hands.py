"""The hands at the printer: what every verb does, and the sentence that says what was done."""

import difflib
import json
from collections.abc import Callable
from pathlib import Path

from fake_printer import hands_sockets
from fake_printer.board import Laid
from fake_printer.disturbance import BY_NAME
from fake_printer.firmware import card_job
from fake_printer.hand_words import HANDS, HandsError, nothing_more, number, one_of
from fake_printer.planned import Deed
from fake_printer.profile import ProfileError, load_profile
from fake_printer.workpiece import Workpiece

__all__ = ["HANDS", "HandsError", "perform"]

_POWER_CYCLE_S = 2.0
_RESISTORS = {"1k": 1_000.0, "220k": 220_000.0}
_TERMINALS = ("signal", "ground", "supply")
_ANSWERS = {"continue": 1, "purge": 0, "disable": 1}


def perform(printer: Workpiece, verb: str, words: tuple[str, ...]) -> str:
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


def _insert(printer: Workpiece, words: tuple[str, ...]) -> str:
    nothing_more("insert", words)
    already = printer.plant.filament.at_trip_point
    printer.plant.filament.insert()
    return "The filament was in already." if already else "The filament is being pushed in past the sensor."


def _withdraw(printer: Workpiece, words: tuple[str, ...]) -> str:
    nothing_more("withdraw", words)
    already_out = not printer.plant.filament.at_trip_point and not printer.plant.filament.moving
    if not printer.plant.filament.withdraw():
        raise HandsError("The end of the filament is past the sensor; there is nothing to pull. Try: insert")
    return "The filament was out already." if already_out else "The filament is being pulled out."


def _pull(printer: Workpiece, words: tuple[str, ...]) -> str:
    try:
        distance_mm, seconds = map(float, words)
    except ValueError as wrong:
        raise HandsError("Say 'pull' with millimetres and seconds, for example: pull 200 10") from wrong
    if not 0 < abs(distance_mm) <= 3000 or not 0 < seconds <= 600:
        raise HandsError("Say 'pull' with up to 3000 mm, not 0, in up to 600 seconds.")
    if not printer.plant.filament.at_trip_point:
        raise HandsError("There is no filament in the sensor to pull. Try: insert")
    printer.plant.filament.pull_by_hand(distance_mm, seconds)
    return f"The filament is being pulled by {distance_mm:g} mm in {seconds:g} s."


def _cut(printer: Workpiece, words: tuple[str, ...]) -> str:
    distance_mm = number("cut", words, "mm", otherwise=20.0)
    if not printer.plant.filament.at_trip_point:
        raise HandsError("There is no filament in the sensor to cut. Try: insert")
    printer.plant.filament.cut(distance_mm)
    return f"The filament is cut {distance_mm:g} mm upstream of the sensor."


def _free_gear(printer: Workpiece, words: tuple[str, ...]) -> str:
    nothing_more("free-gear", words)
    printer.plant.filament.gear_free = True
    return "The drive gear is free of the filament."


def _close_gear(printer: Workpiece, words: tuple[str, ...]) -> str:
    nothing_more("close-gear", words)
    printer.plant.filament.gear_free = False
    return "The drive gear can take the filament again."


def _press_lever(printer: Workpiece, words: tuple[str, ...]) -> str:
    nothing_more("press-lever", words)
    printer.plant.lever.held_by_hand = True
    return "A finger holds the lever down."


def _release_lever(printer: Workpiece, words: tuple[str, ...]) -> str:
    nothing_more("release-lever", words)
    printer.plant.lever.held_by_hand = False
    return "The finger is off the lever."


def _set_plug(printer: Workpiece, end: str, *, plugged: bool) -> None:
    if end == "board":
        printer.plant.cable.plugged_at_board = plugged
    else:
        printer.plant.cable.plugged_at_sensor = plugged


def _unplug(printer: Workpiece, words: tuple[str, ...]) -> str:
    end = one_of("unplug", words, ("board", "sensor"))
    _set_plug(printer, end, plugged=False)
    return f"The sensor cable is unplugged at the {end}."


def _plug(printer: Workpiece, words: tuple[str, ...]) -> str:
    ends = (one_of("plug", words, ("board", "sensor")),) if words else ("board", "sensor")
    for end in ends:
        _set_plug(printer, end, plugged=True)
    return f"The sensor cable is plugged in at the {' and the '.join(ends)}."


def _break_wire(printer: Workpiece, words: tuple[str, ...]) -> str:
    conductors = printer.plant.cable.conductors
    name = one_of("break-wire", words, _TERMINALS)
    if conductors[name] == "absent":
        raise HandsError(f"This cable has no {name} conductor to break.")
    conductors[name] = "open"
    return f"The {name} conductor is broken."


def _mend_wire(printer: Workpiece, words: tuple[str, ...]) -> str:
    conductors = printer.plant.cable.conductors
    name = one_of("mend-wire", words, _TERMINALS)
    if conductors[name] == "absent":
        raise HandsError(f"This cable has no {name} conductor to mend.")
    conductors[name] = "sound"
    return f"The {name} conductor is whole."


def _short(printer: Workpiece, words: tuple[str, ...]) -> str:
    pair = one_of("short", words, ("signal-ground", "signal-supply", "supply-ground"))
    one, other = pair.split("-")
    printer.board.bridges.add((f"board.{one}", f"board.{other}"))
    return f"{one.capitalize()} and {other} are bridged at the board's header."


def _release_short(printer: Workpiece, words: tuple[str, ...]) -> str:
    nothing_more("release-short", words)
    printer.board.bridges.clear()
    return "No bridge is left at the board's header."


def _lay(printer: Workpiece, words: tuple[str, ...]) -> str:
    if len(words) != 2:
        raise HandsError("Say 'lay' with a resistor and two terminals, for example: lay 220k signal-ground")
    size = one_of("lay", words[:1], tuple(_RESISTORS))
    pair = one_of("lay", words[1:], ("signal-ground", "signal-supply"))
    printer.board.laid = Laid(_RESISTORS[size], pair.partition("-")[2])
    return f"{size} lies between signal and {printer.board.laid.to} at the board's header."


def _take_away(printer: Workpiece, words: tuple[str, ...]) -> str:
    nothing_more("take-away", words)
    printer.board.laid = None
    return "No resistor is left at the board's header."


def _shake(printer: Workpiece, words: tuple[str, ...]) -> str:
    seconds = number("shake", words, "seconds")
    printer.plant.cable.shaken_for_s = seconds
    return f"The cable is being shaken for {seconds:g} s."


def _mains(printer: Workpiece, words: tuple[str, ...]) -> str:
    printer.mains_on = one_of("mains", words, ("on", "off")) == "on"
    return f"The power switch is {words[0]}."


def _usb(printer: Workpiece, words: tuple[str, ...]) -> str:
    printer.plug_usb(plugged=one_of("usb", words, ("in", "out")) == "in")
    return f"The USB plug is {words[0]}."


def _power_cycle(printer: Workpiece, words: tuple[str, ...]) -> str:
    seconds = number("power-cycle", words, "seconds", otherwise=_POWER_CYCLE_S)
    printer.power_cycle(seconds)
    return f"Mains is off and the USB plug is out; both come back after {seconds:g} s."


def _press_reset(printer: Workpiece, words: tuple[str, ...]) -> str:
    nothing_more("press-reset", words)
    if not printer.alive:
        raise HandsError("The board has no power. Try: mains on")
    printer.restart("External Reset")
    return "The board restarts."


def _button(printer: Workpiece, words: tuple[str, ...]) -> str:
    nothing_more("button", words)
    return _answer_pause(printer, ("continue",))


def _answer_pause(printer: Workpiece, words: tuple[str, ...]) -> str:
    answer = one_of("answer-pause", words, tuple(_ANSWERS))
    firmware = printer.firmware
    if not printer.profile.firmware.display:
        raise HandsError("This printer has no display of its own; it has to be answered over the line.")
    if firmware is None or not firmware.dialogue.waiting:
        raise HandsError("The printer does not wait for a person at the moment.")
    firmware.dialogue.choose(_ANSWERS[answer])
    return f"'{answer}' is chosen on the printer's display."


def _print_card(printer: Workpiece, words: tuple[str, ...]) -> str:
    if len(words) != 1 or printer.firmware is None:
        raise HandsError("Say 'print-card' with one job file, with the printer switched on.")
    try:
        lines = Path(words[0]).read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as unreadable:
        raise HandsError(f"{words[0]} cannot be read: {unreadable}.") from unreadable
    printer.firmware.runner.start_card(lines)
    printer.firmware.job.start()
    return f"The job {words[0]} runs from the card."


def _card_goes_on(printer: Workpiece, words: tuple[str, ...]) -> str:
    nothing_more("card-goes-on", words)
    held = printer.firmware is not None and card_job.go_on(printer.firmware)
    return "The job on the card goes on." if held else "No job on the card is held."


def _reflash(printer: Workpiece, words: tuple[str, ...]) -> str:
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


def _disturb(printer: Workpiece, words: tuple[str, ...]) -> str:
    if not words:
        return "; ".join(f"{one.name}: {one.help}" for one in BY_NAME.values())
    name = one_of("disturb", words, tuple(BY_NAME))
    return f"Disturbance: {printer.disturber.arm(name).help}."


def _when(printer: Workpiece, words: tuple[str, ...]) -> str:
    if len(words) < 2 or words[1] not in HANDS:
        raise HandsError("Say 'when' with the beginning of a line and a deed, for example: when M201 power-cycle 1")
    start, verb, *rest = words
    printer.planned.plan(start, Deed(verb, tuple(rest)))
    return f"At the next line that begins with {start}: {' '.join(words[1:])}."


def _state(printer: Workpiece, words: tuple[str, ...]) -> str:
    nothing_more("state", words)
    return json.dumps(printer.state())


_DOING: dict[str, Callable[[Workpiece, tuple[str, ...]], str]] = {
    "insert": _insert,
    "withdraw": _withdraw,
    "pull": _pull,
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
    "lay": _lay,
    "take-away": _take_away,
    "shake": _shake,
    "mains": _mains,
    "usb": _usb,
    "power-cycle": _power_cycle,
    "press-reset": _press_reset,
    "button": _button,
    "answer-pause": _answer_pause,
    "print-card": _print_card,
    "card-goes-on": _card_goes_on,
    "reflash": _reflash,
    "when": _when,
    "disturb": _disturb,
    "state": _state,
}
