"""`commission ports`: the serial ports of this machine, as a person recognises them."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING

import click

from commission.cli.telling import hand_out, say

if TYPE_CHECKING:
    from commission.link.discover import FoundPort

NOTHING_FOUND = """\
No USB serial port is present.
  1. Plug the printer in by USB and switch it on.
  2. Try another cable: many charging cables carry no data.
  3. Unplug and plug in again while watching this list; a port that comes and goes within seconds is taken by
     another program (on some desktops a Braille display service takes USB serial chips).
  4. A port that is not on USB shows with --all. A printer shared over the network is not listed:
     give its address, socket://HOST:PORT or rfc2217://HOST:PORT."""
NO_SERIAL_HINT = """\
* announces no serial number of its own: two boards of this kind share one name in the system's list by serial
  number. Tell them apart by the USB place, and keep each in its place."""
WIDEST_TEXT = 38  # keeps a usual row below 100 columns; --json gives every text whole
IN_USE = {True: "yes", False: "no", None: "not seen"}
HEADINGS = ("port", "what it is", "serial number", "USB place", "in use")


@click.command(epilog="Example: commission ports --all")
@click.option("--all", "everything", is_flag=True, help="Show ports that are not on USB as well.")
@click.option("--json", "as_json", is_flag=True, help="Write a JSON array with every text as the device gave it.")
def ports(*, everything: bool, as_json: bool) -> None:
    """List the serial ports of this machine without opening any.

    Opening a port can restart a printer, so this only looks: at what each device says of itself, where it is plugged
    in, the name that stays with it, and whether a program has it open.
    """
    from commission.link.discover import found_ports, in_use

    found = found_ports(everything=everything)
    used = {port.device: in_use(port.device) for port in found}
    hand_out(json_of(found, used)) if as_json else say(text_of(found, used))


def json_of(found: Sequence["FoundPort"], used: Mapping[str, bool | None]) -> str:
    """The ports as a JSON array in plain ASCII; `in_use` is null where the system does not show it."""
    return json.dumps([{**asdict(port), "in_use": used.get(port.device)} for port in found], indent=2)


def text_of(found: Sequence["FoundPort"], used: Mapping[str, bool | None]) -> str:
    """The ports as a table with the stable names below each row; without any, what to do about it."""
    if not found:
        return NOTHING_FOUND
    rows = [_row(port, used.get(port.device)) for port in found]
    widths = [max(len(row[column]) for row in (HEADINGS, *rows)) for column in range(len(HEADINGS))]
    lines = [_aligned(HEADINGS, widths)]
    for port, row in zip(found, rows, strict=True):
        lines += [_aligned(row, widths), *_names(port)]
    if any(_nameless(port) for port in found):
        lines += ["", NO_SERIAL_HINT]
    return "\n".join(lines)


def _row(port: "FoundPort", used: bool | None) -> tuple[str, ...]:  # noqa: FBT001 - a value to show, not a switch
    own = port.identity.own_serial and port.serial_number
    return (
        _shown(port.device),
        _what(port),
        _shown(own) if own else ("*" if port.usb_id else "-"),
        _shown(port.location) or "-",
        IN_USE[used],
    )


def _what(port: "FoundPort") -> str:
    maker = f" ({port.manufacturer})" if port.manufacturer else ""
    usb_id = f", {port.usb_id}" if port.usb_id else ""
    text = _shown(port.product or port.description or "serial port") + _shown(maker)
    room = WIDEST_TEXT - len(usb_id)
    return (text if len(text) <= room else text[: room - 3] + "...") + usb_id


def _names(port: "FoundPort") -> list[str]:
    lines = []
    if port.stable_link:
        lines.append(f"    follows the board:  {_shown(port.stable_link)}")
    if port.place_link:
        lines.append(f"    stays at the place: {_shown(port.place_link)}")
    return lines


def _nameless(port: "FoundPort") -> bool:
    return bool(port.usb_id) and not port.identity.own_serial


def _aligned(row: Sequence[str], widths: Sequence[int]) -> str:
    return "  ".join(text.ljust(width) for text, width in zip(row, widths, strict=True)).rstrip()


def _shown(text: str) -> str:
    from commission.dialect.sanitise import clean_text

    return clean_text(text)
