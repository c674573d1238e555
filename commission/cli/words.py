"""The words of the trade that this tool uses, each with its meaning: one word for one thing."""

from collections.abc import Mapping

WORDS: Mapping[str, str] = {
    "class A, B, C": "of an open item: A unsafe to go on, B incomplete, C minor",
    "conditional pass": "nothing was wrong, and something that a full pass takes was not shown",
    "dwell": "the short time in which a trial is read, whatever it shows",
    "fail-to-danger": "a broken or unplugged wire reads as filament in; the opposite is fail-safe",
    "gate": "a condition that must hold before the printer can pause",
    "hold point": "a place where the run goes on only after your yes, with the power off for instance",
    "latch": "what the printer keeps of a runout, so that the same one is not acted on twice",
    "leftover": "the distance that the printer still prints after the filament has passed the sensor",
    "proof test": "the check with hands that is repeated at its date",
    "pull-up": "the resistor that holds an input high while nothing drives it; a pull-down holds it low",
    "reserve": "the filament between sensor and drive gear, less what is used up before the pause",
    "runout detection": "the printer acts on the sensor by itself; a sensor that is only read protects nothing",
    "trial": "filament in or out on a prompt, and what the switch read then",
    "trip point": "the place of the filament's end at which the switch changes",
}
"""In the order of the alphabet; the README has the same table."""
