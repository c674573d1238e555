"""The words of the hands: every verb with its meaning, and what stands behind it."""

from fake_printer import hands_sockets
from fake_printer.hands_error import HandsError

__all__ = ["HANDS", "HandsError", "nothing_more", "number", "one_of"]

_LONGEST_S = 600.0

HANDS: dict[str, str] = {
    "insert": "push filament in past the sensor",
    "withdraw": "pull the filament out",
    "pull": "MM SECONDS: move the filament that far by hand, evenly; forward is positive, back negative",
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
    "lay": "1k|220k signal-ground|signal-supply: lay that resistor between two leads clipped to the board's header",
    "take-away": "take that resistor away",
    "shake": "SECONDS: shake the cable",
    "mains": "on|off: the power switch",
    "usb": "in|out: the USB plug",
    "power-cycle": "[SECONDS]: mains off and USB out, and both back after that time (2 s)",
    "press-reset": "press the board's reset button",
    "button": "press the button of the printer's own display",
    "answer-pause": "continue|purge|disable: choose that on the printer's own display while it waits",
    "print-card": "FILE: put a card with that job file in and start it on the display",
    "card-goes-on": "have the job on the card that is held go on, at the display",
    "reflash": "UNIT: put the build of that unit into the board, with its input settings",
    "when": "WORD DEED: do that as soon as the printer receives a line that begins with WORD",
    "disturb": "NAME: have a disturbance strike; without a name, list them",
    **hands_sockets.HANDS,
    "state": "everything that is true of the printer, as one line of JSON",
}


def one_of(verb: str, words: tuple[str, ...], choices: tuple[str, ...]) -> str:
    """The one word behind the verb, which has to be one of these.

    Raises:
        HandsError: it is none of them, or there is more.
    """
    if len(words) != 1 or words[0] not in choices:
        raise HandsError(f"Say '{verb}' with one of: {', '.join(choices)}.")
    return words[0]


def number(verb: str, words: tuple[str, ...], unit: str, otherwise: float | None = None) -> float:
    """The number behind the verb.

    Raises:
        HandsError: there is none, or it is out of bounds.
    """
    if not words and otherwise is not None:
        return otherwise
    try:
        value = float(words[0])
    except (IndexError, ValueError) as missing:
        raise HandsError(f"Say '{verb}' with a number of {unit}, for example: {verb} 5") from missing
    if not 0 < value <= _LONGEST_S:
        raise HandsError(f"Say '{verb}' with a number of {unit} above 0, at most {_LONGEST_S:.0f}.")
    return value


def nothing_more(verb: str, words: tuple[str, ...]) -> None:
    """Nothing stands behind the verb.

    Raises:
        HandsError: something does.
    """
    if words:
        raise HandsError(f"'{verb}' takes nothing behind it; leave '{' '.join(words)}' away.")
