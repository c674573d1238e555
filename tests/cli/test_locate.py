"""Where a printer is looked for after its power was off: it is followed by who its adapter is."""

import pytest

from commission.cli.locate import Locator
from commission.link.base import PortMissing
from commission.link.discover import FoundPort

OLD_NAME, NEW_NAME = "/dev/ttyUSB0", "/dev/ttyUSB1"


def adapter(device: str, serial: str, place: str = "1-1", usb_id: str = "1209:0002") -> FoundPort:
    """An adapter as the system lists it."""
    return FoundPort(device, serial_number=serial, location=place, usb_id=usb_id)


class Machine:
    """A computer with adapters that come and go."""

    def __init__(self, *present: FoundPort) -> None:
        self.present = list(present)

    def __call__(self) -> list[FoundPort]:
        """The ports of now."""
        return self.present


def test_a_printer_is_followed_to_another_name() -> None:
    """Its adapter has another name now, and another adapter has the old one."""
    machine = Machine(adapter(OLD_NAME, "OWN-7"))
    locate = Locator(OLD_NAME, machine)
    machine.present = [adapter(OLD_NAME, "OTHER-9", "1-2"), adapter(NEW_NAME, "OWN-7")]

    assert NEW_NAME == locate(OLD_NAME)


@pytest.mark.parametrize(
    "stranger",
    [adapter(OLD_NAME, "OTHER-9", "1-1"), adapter(OLD_NAME, "", "1-2", "1209:0003")],
    ids=["another serial number", "another chip in another place"],
)
def test_a_stranger_with_the_old_name_is_left_alone(stranger: FoundPort) -> None:
    """While only another adapter is there nothing is opened; once the own one is back it is found."""
    machine = Machine(adapter(OLD_NAME, "OWN-7"))
    locate = Locator(OLD_NAME, machine)
    machine.present = [stranger]

    with pytest.raises(PortMissing) as missing:
        locate(OLD_NAME)
    assert (
        "The printer's own port is not there; /dev/ttyUSB0 is another adapter now. Plug the printer in again. If it "
        "did come back as another adapter, name its port when asked."
    ) == str(missing.value)
    machine.present = [stranger, adapter(NEW_NAME, "OWN-7")]
    assert NEW_NAME == locate(OLD_NAME)


@pytest.mark.parametrize(
    "present",
    [[], [adapter(OLD_NAME, "", "1-2")], [adapter(OLD_NAME, "OWN-7", "1-1", "1209:0004")]],
    ids=["nothing there", "one without a number", "another product in its place"],
)
def test_what_may_be_the_printer_is_looked_at(present: list[FoundPort]) -> None:
    """Where it cannot be told, the old name is tried: the printer's own answer decides."""
    machine = Machine(adapter(OLD_NAME, "OWN-7"))
    locate = Locator(OLD_NAME, machine)
    machine.present = present

    assert OLD_NAME == locate(OLD_NAME)


def test_a_port_without_an_identity_stays_where_it_was() -> None:
    """A socket or a pseudo-terminal has no number: it is looked for under its name."""
    assert "/dev/pts/3" == Locator("/dev/pts/3", Machine(adapter(OLD_NAME, "OTHER-9")))("/dev/pts/3")
