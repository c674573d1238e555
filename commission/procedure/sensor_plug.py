"""Where the sensor's plug is: asked where nobody knows, and never changed with the power on."""

from commission.procedure.power import End, around, by_itself, hold_point, plug_in, unplug
from commission.procedure.request import Confirm
from commission.procedure.steps import Steps, confirm

PLUGGED_IN = Confirm("sensor.plugged_in", "Is the sensor plugged in at the main board?")
FORBIDDEN = Confirm(
    "sensor.forbidden", "Is the sensor plugged in at the main board? With this wiring it must not stay there."
)


def plugged_in() -> Steps[bool]:
    """Whether it is, as the operator says."""
    return (yield from confirm(PLUGGED_IN))


def have_plugged_in() -> Steps[None]:
    """See that it is, before the switch is read."""
    if not (yield from plugged_in()):
        steps = around(plug_in(End.BOARD))
        asked = "Is the sensor plugged in and the printer on?"
        yield from by_itself(hold_point("sensor.plug_in", "plug the sensor in", steps, asked))


def have_unplugged() -> Steps[None]:
    """See that it is not, where the wiring forbids it."""
    if (yield from confirm(FORBIDDEN)):
        asked = "Is the sensor unplugged and the printer on?"
        steps = around(unplug(End.BOARD))
        yield from by_itself(hold_point("sensor.unplug", "unplug the sensor", steps, asked))
