"""The units that are walked, and what a person at each of them does and answers."""

from collections.abc import Mapping

from scripts.walking.eyes import Size
from scripts.walking.person import Habit, Person
from scripts.walking.walk import PORT, Order

OFF = ("mains off", "usb out")
ON = ("mains on", "usb in")
TRIALS = (
    Habit("INSERT THE FILAMENT", hands=("insert",)),
    Habit("WITHDRAW THE FILAMENT", hands=("withdraw",)),
    Habit("Wiggle: bend and tap cable and sensor", hands=("shake 10",)),
    Habit("Unplugged: filament in", hands=("insert",)),
    Habit("Unplugged: filament out", hands=("withdraw",)),
    Habit("Now: cut the filament once", hands=("withdraw",)),
    Habit("Pull the filament out of the sensor, and leave it out.", hands=("withdraw",)),
)
TURN_PAGE = Habit("Enter: more", "")
BEFORE = (
    Habit("Type: Name of who does this", "R. Okafor"),
    Habit("Do not connect to a printer that is printing", "yes"),
)
SOUND = (
    *TRIALS,
    *BEFORE,
    Habit("Type: Material loaded", "PLA"),
    Habit("What is done in this run", ""),
    Habit("How is the sensor wired?", "NO, up, high"),
    Habit("Does this stand?", ""),
    Habit("What else may be on this input?", "1"),
    Habit("Beside the header stands", "RUNOUT, 42"),
    Habit("one report about pin 42", "yes"),
    Habit("Power off: free the sensor's cable for the meter", "yes", (*OFF, "unplug board", "usb in")),
    Habit("What the meter shows", "1 1 2 1 3.3", takes_s=120),
    Habit("Power off: plug the sensor in", "yes", ("usb out", "plug", *ON)),
    Habit("The mechanical sheet", "y", takes_s=60),
    Habit("Is the filament out and are you ready?", "yes", ("withdraw",)),
    Habit("Is the filament in and are you ready?", "yes", ("insert",)),
    Habit("Release: the X axis moves?", "yes"),
    Habit("Power off: unplug the sensor (power-up 1 of 2)", "yes", (*OFF, "unplug board", "usb in")),
    Habit("Power off: unplug the sensor (power-up 2 of 2)", "yes", ("usb out", "usb in")),
    Habit("Power off: clip two test leads to the free header", "yes", ("usb out", "usb in")),
    Habit("The current through the resistor", "0.07 mA", ("lay 1k signal-ground",)),
    Habit("at its own end", "yes", ("usb out", "take-away", "plug", "unplug sensor", "usb in")),
    Habit("Power off: plug the sensor back in", "yes", ("usb out", "take-away", "plug", "insert", *ON)),
    Habit("Type in one line, with commas (- for none): Trip point to gear", "60 mm, 45 mm"),
    Habit("The lengths along the filament path", ""),
    Habit("Start the warm test?", "yes"),
    Habit("Is filament in the sensor, and are you ready?", "yes", ("insert",)),
    Habit("Is new filament in", "yes", ("insert",)),
    Habit("Did the nozzle come back to its old place and height", "yes"),
    Habit("Is the filament out of the sensor?", "yes", ("withdraw",)),
    Habit("Is the filament well in the sensor now?", "yes", ("insert",)),
    Habit("Power off and on again", "yes", (*OFF, *ON)),
    Habit("The sign-off", "y"),
)
NO_METER = (
    Habit("Why was it not measured?", "no probes that fit"),
    Habit("What the meter shows", "4 4 4 4 -", takes_s=20),
)
CAUSE = (
    Habit("Look for the cause now?", "yes"),
    Habit("I have no meter", "2"),
    Habit("Do this test now:", "1"),
    Habit("Is it as declared?", "1", takes_s=20),
    Habit("Is the filament out, and is a finger on what the filament moves?", "yes", ("withdraw",)),
    Habit("Put by hand what the filament moves", hands=("press-lever",)),
    Habit("Have the filament out first. Insert it now", hands=("withdraw", "insert")),
    Habit("Take it out now, so that the switch is free", hands=("withdraw",)),
    Habit("bend the cable and tug at it gently", hands=("insert",)),
    Habit("Was the filament in, all the time?", "yes"),
    Habit("Is it done, and is USB plugged back in?", "yes", (*OFF, "unplug board", "usb in")),
    Habit("Is it done, the printer closed, and on?", "yes", ("usb out", "release-lever", "plug", *ON)),
    Habit("Declare the wiring anew, as it is", "no"),
    Habit("When? 1. do it now", "2"),
)
HABITS: Mapping[str, tuple[Habit, ...]] = {
    "sound": SOUND,
    "inverted-by-contact": (*NO_METER, *CAUSE, *SOUND),
    "two-errors-cancel": (*NO_METER, *CAUSE, *SOUND),
    "thin-filament": (*NO_METER, *CAUSE, *SOUND),
    "starts-empty": SOUND,
}
"""By unit. Where the contact is not what is declared nobody has a meter: with one it shows before any trial."""


def order(unit: str, size: Size, seed: int) -> Order:
    """The walk through an installation of this unit."""
    words = ("install", "bench-3", "--port", f"./{PORT}", "--seed", str(seed), "--bench", "workshop-1")
    places = ("--book", "book.sqlite3", "--reports", "reports")
    return Order((*words, *places), unit, Person((TURN_PAGE, *HABITS[unit])), size)
