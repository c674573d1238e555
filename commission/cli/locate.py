"""Follows a printer that comes back under another port name after its power was off."""

import os
from collections.abc import Callable, Sequence

from commission.link.base import PortMissing
from commission.link.discover import FoundPort, compare, find_again, identify, ports_about


class Locator:
    """Remembers what the port was when the run began, and says where it is now.

    A port without an identity of its own (a socket, a pseudo-terminal) is looked for where it was. So is one that
    cannot be told from another: the printer's own answer then decides whether it is the right one. Where another
    adapter surely has the old name by now, that one is left alone, and the own one is looked for again.

    Args:
        address: the port as the operator named it.
        listing: where the ports present now are asked for; of this machine unless given.
    """

    def __init__(self, address: str, listing: Callable[[], Sequence[FoundPort]] | None = None) -> None:
        self._listing = listing or (lambda: ports_about(address))
        self._identity = identify(address, self._listing())

    def __call__(self, address: str) -> str:
        """The address at which to look now.

        Raises:
            PortMissing: it is not there, and another adapter has its old name.
        """
        if not self._identity.usb_id:
            return address
        ports = self._listing()
        found = find_again(self._identity, ports)
        if isinstance(found, FoundPort):
            return found.device
        if self._has_a_stranger(address, ports):
            raise PortMissing(
                f"The printer's own port is not there; {address} is another adapter now.",
                "Plug the printer in again. If it did come back as another adapter, name its port when asked.",
            )
        return address

    def _has_a_stranger(self, address: str, ports: Sequence[FoundPort]) -> bool:
        """Whether the adapter that has this name now is surely not the one of before."""
        real = os.path.realpath(address)
        here = next((port for port in ports if real == os.path.realpath(port.device)), None)
        return here is not None and compare(self._identity, here.identity).same is False
