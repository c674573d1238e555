"""Follows a printer that comes back under another port name after its power was off."""

from commission.link.discover import FoundPort, find_again, found_ports, identify


class Locator:
    """Remembers what the port was when the run began, and says where it is now.

    A port without an identity of its own (a socket, a pseudo-terminal) is looked for where it was. So is one that
    cannot be told from another: the printer's own answer then decides whether it is the right one.
    """

    def __init__(self, address: str) -> None:
        self._identity = identify(address, found_ports())

    def __call__(self, address: str) -> str:
        """The address at which to look now."""
        if not self._identity.usb_id:
            return address
        found = find_again(self._identity, found_ports())
        return found.device if isinstance(found, FoundPort) else address
