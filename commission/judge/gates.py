"""The gates in front of a pause: each a condition that must hold before a printer can pause.

The first shut one is the finding, because nothing behind it can be reached.
What must hold is common practice of the trade, no source. A gate is *unknown* until something was read, answered or
tested; unknown is never open.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from commission.command_lines import RESERVE
from commission.units import millimetres as mm


class GateState(Enum):
    """Whether a gate lets a pause through."""

    OPEN = "open"
    SHUT = "shut"
    UNKNOWN = "unknown"


class How(Enum):
    """How the state of a gate was established."""

    READ = "read from the printer"
    ASKED = "the operator's answer"
    TESTED = "shown by a test"
    BY_DESIGN = "made so by the test's own moves"
    NOT = "not established"

    @property
    def short(self) -> str:
        """It in a word or two, for a narrow row; empty where nothing was."""
        return {
            How.READ: "read",
            How.ASKED: "answered by you",
            How.TESTED: "shown by a test",
            How.BY_DESIGN: "made by the test",
            How.NOT: "",
        }[self]


LEFTOVER = "leftover"
"""The gate of the leftover distance."""


class Heat(Enum):
    """What lets the filament drive turn in this test."""

    HOT = "hot enough"
    COLD_ALLOWED = "cold extrusion permitted"
    TOO_COLD = "too cold, and cold extrusion not permitted"


@dataclass(frozen=True)
class Gate:
    """One gate.

    Attributes:
        key: its fixed name, for the record.
        title: what must hold, in a few words.
        state: whether it does.
        how: how that was established.
        reason: what was seen, in one sentence.
        cure: what to do while it is not open; empty when it is.
    """

    key: str
    title: str
    state: GateState
    how: How
    reason: str
    cure: str = ""

    @property
    def only_late(self) -> bool:
        """Whether the printer pauses with this gate shut too, but too late."""
        return self.key == LEFTOVER


@dataclass(frozen=True)
class GateEvidence:
    """What is known; None is not known.

    Attributes:
        support_announced: the identity says that support is built in, or is not.
        control_known: the printer knows the command that controls runout detection.
        switch_reported: the list of switches has a filament line.
        enabled: watching is on, as reported now.
        enabled_after_power: it was still on after a power cycle.
        host_handling: a runout is left to the host computer.
        job_known: the board counts a print as running while this test runs.
        latched: a runout is latched already.
        leftover_mm, leftover_max_mm: as set, and the largest that the geometry allows.
        moves_travel: the moves that feed filament also travel.
        heat: what lets the drive turn.
        display, emergency_words: the two ways to answer *continue*.
        on_main_board: the sensor is plugged into the main board, not into a display.
    """

    support_announced: bool | None = None
    control_known: bool | None = None
    switch_reported: bool | None = None
    enabled: bool | None = None
    enabled_after_power: bool | None = None
    host_handling: bool | None = None
    job_known: bool | None = None
    job_how: How = How.READ
    latched: bool | None = None
    latched_how: How = How.TESTED
    leftover_mm: float | None = None
    leftover_max_mm: float | None = None
    moves_travel: bool | None = None
    moves_how: How = How.BY_DESIGN
    heat: Heat | None = None
    heat_how: How = How.READ
    display: bool | None = None
    emergency_words: bool | None = None
    on_main_board: bool | None = None


def gates(known: GateEvidence) -> tuple[Gate, ...]:
    """Every gate in the order in which a runout passes them."""
    return (
        _support(known),
        _board(known),
        _enabled(known),
        _after_power(known),
        _host(known),
        _job(known),
        _latch(known),
        _leftover(known),
        _moves(known),
        _heat(known),
        _answer(known),
    )


def first_shut(row: Sequence[Gate]) -> Gate | None:
    """The finding: the first gate that keeps the printer from pausing; where none does, the one that makes it late."""
    shut = [gate for gate in row if gate.state is GateState.SHUT]
    return min(shut, key=lambda gate: gate.only_late, default=None)


def unknown(row: Sequence[Gate]) -> tuple[Gate, ...]:
    """The gates of which nothing is known."""
    return tuple(gate for gate in row if gate.state is GateState.UNKNOWN)


def _support(known: GateEvidence) -> Gate:
    cure = "Build the firmware with runout support and the sensor's pin, put it on the board, and check again."
    key, title = "support", "runout support is built in"
    if known.switch_reported or known.support_announced or known.control_known:
        seen = "the printer lists a filament switch" if known.switch_reported else "the printer says so"
        return Gate(key, title, GateState.OPEN, How.READ, f"Built in: {seen}.")
    if known.support_announced is False or known.control_known is False:
        return Gate(key, title, GateState.SHUT, How.READ, "The printer says that it has no runout support.", cure)
    return _unknown(key, title, "The printer says nothing of runout support; older firmware does not.", cure)


def _board(known: GateEvidence) -> Gate:
    key, title = "main_board", "the sensor is on the main board"
    cure = (
        "Plug the sensor into the main board: what only the display reads cannot stop a job the display does not own."
    )
    if known.switch_reported:
        return Gate(key, title, GateState.OPEN, How.READ, "The main board reports the switch.")
    if known.on_main_board is None:
        return _unknown(key, title, "The main board reports no filament switch.", cure)
    state = GateState.OPEN if known.on_main_board else GateState.SHUT
    where = "main board" if known.on_main_board else "display"
    return Gate(
        key, title, state, How.ASKED, f"The sensor is plugged into the {where}.", "" if known.on_main_board else cure
    )


def _enabled(known: GateEvidence) -> Gate:
    cure = "Switch runout detection on, save the settings, and check after a power cycle that it is still on."
    return _yes_no(
        "watching", "runout detection is on", known.enabled, How.READ,
        ("Runout detection is on.", "Runout detection is off: the switch is read, and nothing is done about it.",
         "Whether runout detection is on is not stated."), cure,
    )  # fmt: skip


def _after_power(known: GateEvidence) -> Gate:
    cure = "Switch runout detection on and save the settings; then take the power off and read it again."
    return _yes_no(
        "after_power", "still enabled after a power cycle", known.enabled_after_power, How.TESTED,
        ("After a power cycle runout detection was still on.", "After a power cycle runout detection was off.",
         "No power cycle was made, so what is stored is not known."), cure,
    )  # fmt: skip


def _host(known: GateEvidence) -> Gate:
    not_left = None if known.host_handling is None else not known.host_handling
    cure = "Take the handling of a runout back from the host computer, and save the settings."
    return _yes_no(
        "not_host_alone", "the board itself pauses", not_left, How.READ,
        ("The printer itself acts on a runout.", "A runout is only announced to the host; the board itself goes on.",
         "Whether a runout is left to the host is not stated."), cure,
    )  # fmt: skip


def _job(known: GateEvidence) -> Gate:
    cure = "Print from the card, or have the job start the board's job timer before the first move."
    return _yes_no(
        "job", "the board counts a print as running", known.job_known, known.job_how,
        ("The board counts the time of a print.",
         "The board counts no print as running, and detects runouts only during one.",
         "Whether the board counts a print as running is not known before one runs."), cure,
    )  # fmt: skip


def _latch(known: GateEvidence) -> Gate:
    free = None if known.latched is None else not known.latched
    cure = "Finish the change that is open, or restart the printer; then test a second runout without a restart."
    return _yes_no(
        "not_latched", "no runout is latched already", free, known.latched_how,
        ("No earlier runout was latched.", "An earlier runout is still latched, so a new one is not acted on.",
         "A latched runout cannot be read; only a pause shows that none was."), cure,
    )  # fmt: skip


def _leftover(known: GateEvidence) -> Gate:
    key, title = LEFTOVER, "the leftover distance fits the path"
    if known.leftover_mm is None:
        return _unknown(key, title, "The leftover distance is not stated.", "Set a leftover distance and read it back.")
    if known.leftover_max_mm is None:
        said = f"It is {mm(known.leftover_mm)}; whether that fits takes the distances along the path."
        return _unknown(key, title, said, f"Measure from the trip point to the drive gear (`{RESERVE}`).")
    most = f"at most {mm(known.leftover_max_mm)}" if known.leftover_max_mm >= 0 else "none"
    said = f"It is {mm(known.leftover_mm)}; the path allows {most}."
    if known.leftover_mm <= known.leftover_max_mm:
        return Gate(key, title, GateState.OPEN, How.READ, said)
    cure = (
        f"Set at most {mm(known.leftover_max_mm)}, or move the sensor further up."
        if known.leftover_max_mm > 0
        else "Set none and move the sensor further up: the path is too short for any."
    )
    return Gate(key, title, GateState.SHUT, How.READ, said, cure)


def _moves(known: GateEvidence) -> Gate:
    cure = "Nothing to set: only moves that travel while they extrude count the leftover distance down."
    return _yes_no(
        "moves", "moves travel while they extrude", known.moves_travel, known.moves_how,
        ("The moves travel while they extrude.", "The moves extrude without travelling: the leftover never runs out.",
         "No moves were made."), cure,
    )  # fmt: skip


def _heat(known: GateEvidence) -> Gate:
    key, title = "heat", "hot enough, or cold extrusion permitted"
    cure = "Heat the nozzle to the material's temperature, or permit cold extrusion for a test with the path empty."
    if known.heat is None:
        return _unknown(key, title, "The moves of a test settle it: they heat, or permit cold extrusion.", cure)
    if known.heat is Heat.TOO_COLD:
        return Gate(key, title, GateState.SHUT, known.heat_how, f"It is {known.heat.value}.", cure)
    said = f"It is {known.heat.value}."
    if known.heat is Heat.COLD_ALLOWED:
        said += " Some newer builds heat the nozzle by themselves for a change, even in a cold test."
    return Gate(key, title, GateState.OPEN, known.heat_how, said)


def _answer(known: GateEvidence) -> Gate:
    key, title = "answer", "there is a way to answer 'continue'"
    cure = "Use the printer's own display, or build the firmware so that it takes emergency words while it waits."
    ways = [
        name for name, there in (("its display", known.display), ("the serial line", known.emergency_words)) if there
    ]
    if ways:
        how = How.READ if known.emergency_words else How.ASKED
        return Gate(key, title, GateState.OPEN, how, f"A waiting printer can be answered by {' and by '.join(ways)}.")
    if known.display is None or known.emergency_words is None:
        return _unknown(key, title, "No way to answer is known yet.", cure)
    return Gate(
        key, title, GateState.SHUT, How.ASKED, "No display, and no emergency words: it would wait for ever.", cure
    )


def _yes_no(
    key: str,
    title: str,
    value: bool | None,  # noqa: FBT001 - three-valued
    how: How,
    said: tuple[str, str, str],
    cure: str,
) -> Gate:
    if value is None:
        return _unknown(key, title, said[2], cure)
    return Gate(
        key, title, GateState.OPEN if value else GateState.SHUT, how, said[0 if value else 1], "" if value else cure
    )


def _unknown(key: str, title: str, reason: str, cure: str) -> Gate:
    return Gate(key, title, GateState.UNKNOWN, How.NOT, reason, cure)
