"""Who a port is, apart from what it is called today: names like ttyUSB0 are dealt out anew at every plug-in."""

from dataclasses import dataclass

# Serial numbers that whole production runs share, because the maker never programmed one (from memory).
SHARED_SERIALS = frozenset({"0", "0000", "0001", "00000000", "000000000001", "0123456789", "123456", "12345678"})


@dataclass(frozen=True)
class PortIdentity:
    """By what a port can be followed.

    Attributes:
        usb_id: vendor and product in hexadecimal, as in `fffe:0001`; empty for a port that is not on USB.
        serial_number: what the device announces, as it came; empty when it announces none.
        location: the place in the USB tree, as in `1-2.3`; empty when the system does not say.
        path: the name it was found under, or the network address.
    """

    usb_id: str
    serial_number: str
    location: str
    path: str

    def __post_init__(self) -> None:
        if not self.path:
            raise ValueError("a port identity needs at least the path the port was found under")

    @property
    def own_serial(self) -> str:
        """The serial number when it tells this device from its sisters, else empty.

        An `&` is in texts that Windows makes up for the place of a device without a number (from the library's source).
        """
        number = self.serial_number.strip()
        return "" if number in SHARED_SERIALS or "&" in number else number


@dataclass(frozen=True)
class Sameness:
    """Whether two identities are one device.

    Attributes:
        same: True, False, or None when that cannot be told.
        reason: why, in half a sentence.
    """

    same: bool | None
    reason: str


def compare(one: PortIdentity, other: PortIdentity) -> Sameness:
    """Whether two identities are the same device, with the reason.

    The order of trust: a serial number of its own, then the chip together with the place it is plugged in. A different
    chip in the same place is left open: a board in its boot loader announces itself as another product.
    """
    if not one.usb_id or not other.usb_id:
        return _without_usb(one, other)
    here = bool(one.location) and one.location == other.location
    if one.usb_id != other.usb_id:
        return _other_chip(here=here)
    if one.own_serial and other.own_serial:
        if one.own_serial == other.own_serial:
            return Sameness(same=True, reason="same chip with the same serial number")
        return Sameness(same=False, reason="the serial numbers differ")
    if here:
        return Sameness(same=True, reason="same chip in the same USB place, without a serial number of its own")
    return Sameness(same=None, reason="same chip without a serial number of its own, in another USB place")


def _other_chip(*, here: bool) -> Sameness:
    if here:
        return Sameness(
            same=None,
            reason="another USB product in the same place: another board, or this one in its boot loader or reflashed",
        )
    return Sameness(same=False, reason="another USB product in another place")


def _without_usb(one: PortIdentity, other: PortIdentity) -> Sameness:
    if bool(one.usb_id) != bool(other.usb_id):
        return Sameness(same=False, reason="one is a USB port and the other is not")
    if one.path == other.path:
        return Sameness(same=True, reason="same name, which is all there is to go by")
    return Sameness(same=False, reason="another name, which is all there is to go by")
