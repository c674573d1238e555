"""What is wrong with the hardware and what the hands do: the two things a state of the input follows from."""

from dataclasses import dataclass
from enum import Enum

from commission.vocabulary import Level, Presence
from commission.wiring.installation import Terminal


class Plug(Enum):
    """Where the cable is interrupted, if anywhere."""

    PLUGGED = "plugged in"
    OFF_AT_BOARD = "unplugged at the board"
    OFF_AT_SENSOR = "unplugged at the sensor"


class Output(Enum):
    """What the filament or a defect makes of the sensor's output."""

    FOLLOWS = "follows the filament"
    NEVER_MOVED = "stays as with filament out"
    HELD = "stays as with filament in"
    NEVER_MAKES = "never makes contact or conducts"
    ALWAYS_MAKES = "always makes contact or conducts"


@dataclass(frozen=True)
class Fault:
    """What is wrong with the hardware; nothing, by default.

    Attributes:
        broken: conductors without continuity.
        bridged: what the signal conductor touches inside the cable.
        output: how the sensor's output is held.
        pull_missing: the pull resistor is not there or not switched on.
        foreign: the level to which another part of the board drives the pin.
        dead_at: the level the damaged input reads, whatever stands at it.
        connected: false when the cable goes to another pin than the one that is read.
        exchanged: signal and supply have changed places at the connector.
        disturbed: what other cables couple in turns the level round.
    """

    broken: frozenset[Terminal] = frozenset()
    bridged: Terminal | None = None
    output: Output = Output.FOLLOWS
    pull_missing: bool = False
    foreign: Level | None = None
    dead_at: Level | None = None
    connected: bool = True
    exchanged: bool = False
    disturbed: bool = False


@dataclass(frozen=True)
class Situation:
    """What the hands are doing.

    Attributes:
        presence: where the filament is.
        plug: where the cable is interrupted.
        worked_by_hand: the lever, ball or flag is moved by hand to where the filament would move it.
        bridge: the signal is bridged to ground at the header through the resistor of parts.toml.
    """

    presence: Presence
    plug: Plug = Plug.PLUGGED
    worked_by_hand: bool = False
    bridge: bool = False


SOUND = Fault()
