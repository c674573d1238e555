"""Holds what is left after an interruption against what may be left: on the printer, the screen and in the book."""

from typing import Any

from tests.interruptions.cases import Case
from tests.interruptions.struck import Aftermath

UNMENTIONED = "hot or moving and unmentioned"
ANSWER = "Making safe, wait:"
STOPPED, UNSAFE = 130, 1
NEVER_SHOWN = ("Traceback", "Aborted!", "Exception ignored")


def ways_out(after: Aftermath) -> list[dict[str, Any]]:
    """What the book says was made safe."""
    return [made["way_out"] for made in after.of_kind("made_safe")]


def left_on(state: dict[str, Any]) -> list[str]:
    """What of the printer is hot by its target, moves, runs or is permitted, in truth."""
    on = [f"{name} heated to {target_c:g} °C" for name, target_c in state["targets_c"].items() if target_c]
    if state["killed"]:
        return on
    on += ["moves queued"] if state["planned_moves"] else []
    on += ["the job runs"] if state["job_running"] else []
    on += ["waits for a person"] if state["waiting_for_person"] else []
    return on + (["cold extrusion permitted"] if state["cold_extrusion_allowed"] else [])


def unmentioned(after: Aftermath, *, seen: bool = True) -> list[str]:
    """What is hot or moves and is not named as not made safe, in the book and on the screen, if that is `seen`."""
    on = left_on(after.state)
    if not on:
        return []
    said = "NOT made safe" in after.screen or not seen
    written = any(not made["complete"] and made["attempted"] for made in ways_out(after))
    return [] if said and written else on


def faults(case: Case, after: Aftermath, *, seen: bool = True) -> list[str]:
    """Everything that is not as it must be, each in a few words; none where all is well.

    Args:
        case: what was done.
        after: what is left.
        seen: whether the terminal was there to the end.
    """
    found = [f"{UNMENTIONED}: {what}" for what in unmentioned(after, seen=seen)]
    ends, made = after.of_kind("run_ended"), ways_out(after)
    if len(ends) != 1:
        found.append(f"the run has {len(ends)} ends in the book")
    elif ends[0]["exit_code"] != after.code:
        found.append(f"exit code {after.code}, the run's is {ends[0]['exit_code']}")
    if after.code not in ({STOPPED, UNSAFE} if unsafe(after) else {STOPPED}):
        found.append(f"exit code {after.code} after a stop")
    if changed(after.received) and len(made) != 1:
        found.append(f"more than questions was sent, and {len(made)} make-safes are in the book")
    if left_on(after.state) and any(each["complete"] for each in made):
        found.append("the book calls it made safe, and it is not")
    found += [
        f"on the screen: {word}" for word in ("Traceback", "Aborted!", "Exception ignored") if word in after.screen
    ]
    if case.phase == "dry" and changed(after.received):
        found.append("something was changed although nothing was begun")
    return found


def unsafe(after: Aftermath) -> bool:
    """Whether an open item of class A stands in the book."""
    return any(item["grade"] == "A" for item in after.of_kind("punch"))


def changed(received: list[str]) -> list[str]:
    """What was sent that does more than ask: heat, moves, permissions."""
    words = ("M104 S", "M140 S", "G0", "G1", "G28", "G91", "M83", "M302 P", "M75", "M600")
    return [line for line in received if line.startswith(words) and not line.endswith(" S0")]


def answers(after: Aftermath) -> int:
    """How often it was said since the first press that it is made safe now."""
    return after.printed_after.count(ANSWER)
