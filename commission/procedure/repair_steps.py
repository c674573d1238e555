"""What is put right at once after a loop check that found the contact, the logic, or both the wrong way round."""

from commission.judge.advice import Advice
from commission.procedure.power import RUNNING, End, around, hold_point, plug_in, unplug
from commission.procedure.request import Hold

DONE = "Is it done, and is the printer on?"
CONTACT = hold_point(
    "repair.change_contact",
    "change the contact",
    around(
        unplug(End.BOARD),
        "Move the signal wire to the other contact of the switch (from normally closed to normally open, or the "
        "reverse).",
        "Measure at the cable's free plug, from supply to ground: it must be open with the lever pressed and free. If "
        "it is not, the wire is on the wrong contact: plug nothing in before it is open.",
        plug_in(End.BOARD),
    ),
    DONE,
)
LOGIC = Hold(
    "repair.invert_logic",
    "Reflash: invert the logic of the runout input",
    (
        "See that there is a record of the printer's settings: a new firmware may lose them.",
        "In the firmware's build configuration, invert the logic of the runout input. Change nothing else.",
        "Build it, put it on the board as its maker describes, and let the printer start.",
        RUNNING,
    ),
    DONE,
    power=True,
    reflash=True,
)
REPAIRS: dict[Advice, tuple[str, tuple[Hold, ...]]] = {
    Advice.CHANGE_CONTACT: ("Change the contact", (CONTACT,)),
    Advice.INVERT_LOGIC: ("Invert the logic", (LOGIC,)),
    Advice.CHANGE_BOTH: ("Change the contact and invert the logic", (CONTACT, LOGIC)),
}
"""For each piece of advice that can be followed at once its title and its hold points, in order."""

REFLASHING = (Advice.INVERT_LOGIC, Advice.CHANGE_BOTH)
