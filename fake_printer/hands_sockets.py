"""Hands at a unit with more than one sensor, or with other sockets than the sensor's own."""

from collections.abc import Callable
from typing import Protocol

from fake_printer.front import Front
from fake_printer.hands_error import HandsError
from fake_printer.plant import Plant
from fake_printer.socket_spec import RUNOUT, SECOND_SENSOR

HANDS = {
    "plug-into": "SOCKET: move the sensor's plug to that socket (a switch of its own is taken out), or back to runout",
    "own-switch": "SOCKET hit|free: press the switch that belongs into that socket, or let it go",
    "own-plug": "SOCKET in|out: the plug of the switch that belongs into that socket",
    "lay-at": "SOCKET 1k|nothing: lay 1 kilohm between signal and ground of that socket, or take it away",
    "insert-second": "push filament in past the second sensor",
    "withdraw-second": "pull it out of the second sensor",
    "unplug-second": "pull the second sensor's cable at the board",
    "plug-second": "plug it in again",
    "lay-second": "1k|220k|nothing: lay that resistor between signal and ground of its socket, or take it away",
    "cross-plugs": "exchange the plugs of both sensors",
}


class Fronted(Protocol):
    """A printer, as far as its sensors and sockets go."""

    front: Front


def _second(printer: Fronted) -> Plant:
    if printer.front.second is None:
        raise HandsError("This unit has one sensor only; leave '-second' away.")
    return printer.front.second


def _socket(printer: Fronted, verb: str, words: tuple[str, ...]) -> str:
    known = [name for name, each in printer.front.sockets.items() if each.spec.name == name and each.spec.reported]
    choices = [*known, RUNOUT] if verb == "plug-into" else known
    if not known:
        raise HandsError("This unit has no other socket.")
    if not words or words[0] not in choices:
        raise HandsError(f"Say '{verb}' with one of: {', '.join(choices)}.")
    return words[0]


def _either(verb: str, words: tuple[str, ...], choices: tuple[str, str]) -> bool:
    if len(words) != 2 or words[1] not in choices:
        raise HandsError(f"Say '{verb}' with a socket and one of: {', '.join(choices)}.")
    return words[1] == choices[0]


def _plug_into(printer: Fronted, words: tuple[str, ...]) -> str:
    name = _socket(printer, "plug-into", words)
    printer.front.plug_first_into(name)
    return f"The sensor's plug is in the socket {name}."


def _own_switch(printer: Fronted, words: tuple[str, ...]) -> str:
    name = _socket(printer, "own-switch", words)
    printer.front.sockets[name].own_hit = _either("own-switch", words, ("hit", "free"))
    return f"The switch that belongs into {name} is {words[1]}."


def _own_plug(printer: Fronted, words: tuple[str, ...]) -> str:
    name = _socket(printer, "own-plug", words)
    plugged = _either("own-plug", words, ("in", "out"))
    if plugged and printer.front.plugged_into == name:
        raise HandsError(f"The sensor's plug is in {name}. Try: plug-into runout")
    printer.front.sockets[name].own_plugged = plugged
    return f"The plug of the switch that belongs into {name} is {words[1]}."


def _lay_at(printer: Fronted, words: tuple[str, ...]) -> str:
    name = _socket(printer, "lay-at", words)
    printer.front.sockets[name].small_laid = _either("lay-at", words, ("1k", "nothing"))
    return f"Between signal and ground of {name} lies {words[1]}."


def _insert(printer: Fronted, _: tuple[str, ...]) -> str:
    _second(printer).filament.insert()
    return "Filament is being pushed in past the second sensor."


def _withdraw(printer: Fronted, _: tuple[str, ...]) -> str:
    if not _second(printer).filament.withdraw():
        raise HandsError("The end is past the second sensor; there is nothing to pull. Try: insert-second")
    return "Filament is being pulled out of the second sensor."


def _unplug(printer: Fronted, _: tuple[str, ...]) -> str:
    _second(printer).cable.plugged_at_board = False
    return "The second sensor's cable is unplugged at the board."


def _plug(printer: Fronted, _: tuple[str, ...]) -> str:
    _second(printer).cable.plugged_at_board = True
    return "The second sensor's cable is plugged in at the board."


def _lay_second(printer: Fronted, words: tuple[str, ...]) -> str:
    _second(printer)
    if len(words) != 1 or words[0] not in ("1k", "220k", "nothing"):
        raise HandsError("Say 'lay-second' with one of: 1k, 220k, nothing.")
    socket = printer.front.sockets[SECOND_SENSOR]
    socket.small_laid, socket.large_laid = words[0] == "1k", words[0] == "220k"
    return f"Between signal and ground of the second sensor's socket lies {words[0]}."


def _cross_plugs(printer: Fronted, _: tuple[str, ...]) -> str:
    _second(printer)
    printer.front.crossed = not printer.front.crossed
    return "The plugs of both sensors are exchanged."


DOING: dict[str, Callable[[Fronted, tuple[str, ...]], str]] = {
    "plug-into": _plug_into,
    "own-switch": _own_switch,
    "own-plug": _own_plug,
    "lay-at": _lay_at,
    "insert-second": _insert,
    "withdraw-second": _withdraw,
    "unplug-second": _unplug,
    "plug-second": _plug,
    "lay-second": _lay_second,
    "cross-plugs": _cross_plugs,
}
