"""What went wrong in a function test, with what to do about it: one sentence each."""

from dataclasses import dataclass

from commission.command_lines import FUNCTION, RESERVE

AGAIN = f"Put it right, then run the function test from its beginning: `{FUNCTION}`."
RUNS_TWICE = (
    "Have one thing only begin the change, either the firmware's own action on a runout or a script of the job or the "
    f"host. Then run the function test again: `{FUNCTION}`."
)
NOT_SEEN = (
    "The firmware does not see the filament after loading: check the wiring and the logic of the input with the loop "
    "check, never by switching the sensor off."
)
NOT_ANSWERED = "Answer it at its display; a build that cannot be answered over the line needs one."
SWITCHED_OFF = (
    "Switch runout detection on again and save it. Then find what switched it off: a choice at the printer's display, "
    "or a line in a script of the change."
)
IN_THE_PRINT = (
    f"Set the lengths of unloading, loading and purging to the measured path (`{RESERVE}`) and see that the axes stay "
    f"held while it waits. Then run the warm test again: `{FUNCTION}`."
)
EMPTY_START = (
    "See that filament is in before every job: read the switch, or look. A firmware that looks at the switch when a "
    "job begins, and not only when it changes, makes that needless."
)
NEVER_SAVED = "Switch runout detection on, save the settings, and make the power cycle again."


@dataclass(frozen=True)
class Fault:
    """One of them."""

    text: str
    cure: str = AGAIN
