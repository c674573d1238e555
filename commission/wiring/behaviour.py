"""From an installation, what is wrong with it and what the hands do, to the level at the pin and what is concluded.

The circuit is built as it stands on the bench and worked out by `circuit`; no case is decided by a table here.
"""

from dataclasses import dataclass, field
from enum import Enum

from commission.vocabulary import Contact, Level, Presence, Pull
from commission.wiring.circuit import Node, Resistor, current_a, resistance_ohm, voltages_v
from commission.wiring.installation import (
    Changeover,
    DryContact,
    Installation,
    OpenCollector,
    PullBy,
    PushPull,
    Terminal,
)
from commission.wiring.parts import parts

HEADER = {
    Terminal.SIGNAL: Node.PIN,
    Terminal.SUPPLY: Node.BOARD_SUPPLY,
    Terminal.GROUND: Node.BOARD_GROUND,
}
FAR_END = {
    Terminal.SIGNAL: Node.SENSOR_SIGNAL,
    Terminal.SUPPLY: Node.SENSOR_SUPPLY,
    Terminal.GROUND: Node.SENSOR_GROUND,
}
_EXCHANGED = {Terminal.SIGNAL: Node.BOARD_SUPPLY, Terminal.SUPPLY: Node.PIN}


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


@dataclass(frozen=True)
class State:
    """What stands at the pin.

    Attributes:
        level: high, low, or floating when nothing decides it.
        concluded: the presence the firmware concludes, or nothing when it is undefined.
        supply_short: a dead short between supply and ground.
        volts: the voltage at the pin with the least and the greatest pull, where there is one.
    """

    level: Level
    concluded: Presence | None
    supply_short: bool = False
    volts: tuple[float, ...] = field(default=(), compare=False)

    def as_json(self) -> dict[str, object]:
        """The state as plain data."""
        concluded = self.concluded.value if self.concluded else "undefined"
        return {"level": self.level.value, "concluded": concluded, "supply_short": self.supply_short}


SOUND = Fault()


def state(installation: Installation, situation: Situation, fault: Fault = SOUND) -> State:
    """The level at the pin and what the firmware makes of it.

    With the supply shorted the board restarts or stays dark, so nothing it reads counts: level and conclusion are
    then undefined, whatever the rest of the circuit would give.
    """
    held_v = {
        Node.BOARD_SUPPLY: installation.supply_v,
        Node.BOARD_GROUND: 0.0,
        Node.LOGIC_RAIL: installation.logic_v,
    }
    if fault.foreign is not None:
        held_v[Node.FOREIGN] = installation.logic_v if fault.foreign is Level.HIGH else 0.0
    circuits = [circuit(installation, situation, fault, pull_ohm=ohm) for ohm in installation.pull_ohm]
    if any(_shorted(resistors, held_v, installation.supply_v) for resistors in circuits):
        return State(Level.FLOATING, None, supply_short=True)
    pins = [voltages_v(resistors, held_v).get(Node.PIN) for resistors in circuits]
    volts = tuple(pin for pin in pins if pin is not None)
    level = _level(installation, volts)
    if fault.connected and _undefined_output(installation, situation, fault):
        level = Level.FLOATING
    if fault.disturbed and situation.plug is not Plug.OFF_AT_BOARD:
        level = {Level.HIGH: Level.LOW, Level.LOW: Level.HIGH}.get(level, level)
    level = fault.dead_at or level
    return State(level, concluded(installation, level), volts=volts)


def concluded(installation: Installation, level: Level) -> Presence | None:
    """What the firmware concludes from a level: its absent level is out, the other one is in."""
    if level is Level.FLOATING:
        return None
    return Presence.OUT if level is installation.absent else Presence.IN


def meter_ohm(
    installation: Installation, situation: Situation, one: Terminal, other: Terminal, fault: Fault = SOUND
) -> float:
    """What an ohmmeter shows at the free connector of the cable, before anything is plugged in; infinite for open.

    Semiconductors are left out: a module's own parts show some value that no table can promise.
    """
    resistors = _far_side(installation, situation, fault, installation.pull_ohm[0], powered=False)
    return resistance_ohm(resistors + _cable(installation, fault), HEADER[one], HEADER[other])


def circuit(installation: Installation, situation: Situation, fault: Fault, *, pull_ohm: float) -> list[Resistor]:
    """All connections as they stand, with this value of the pull."""
    resistors: list[Resistor] = []
    if situation.plug is not Plug.OFF_AT_BOARD and fault.connected:
        resistors += _cable(installation, fault)
        if situation.plug is Plug.PLUGGED:
            powered = _powered(installation, fault)
            resistors += _far_side(installation, situation, fault, pull_ohm, powered=powered)
    if installation.pull is not Pull.NONE and installation.pull_by is PullBy.BOARD and not fault.pull_missing:
        rail = Node.LOGIC_RAIL if installation.pull is Pull.UP else Node.BOARD_GROUND
        resistors.append(Resistor(Node.PIN, rail, pull_ohm))
    if situation.bridge and fault.connected:  # the bridge sits at the header the cable goes to
        resistors.append(Resistor(Node.PIN, Node.BOARD_GROUND, parts().model.bridge_ohm))
    if fault.foreign is not None:
        resistors.append(Resistor(Node.PIN, Node.FOREIGN, parts().model.output_ohm))
    return resistors


def _cable(installation: Installation, fault: Fault) -> list[Resistor]:
    wire_ohm = parts().model.wire_ohm
    sound = installation.conductors - fault.broken
    at_header = HEADER | (_EXCHANGED if fault.exchanged else {})
    wires = [Resistor(at_header[t], FAR_END[t], wire_ohm) for t in sorted(sound, key=lambda t: t.value)]
    if fault.bridged is not None:
        wires.append(Resistor(Node.PIN, HEADER[fault.bridged], wire_ohm))
    return wires


def _far_side(
    installation: Installation, situation: Situation, fault: Fault, pull_ohm: float, *, powered: bool
) -> list[Resistor]:
    resistors = []
    joined = joined_terminals(installation, situation, fault, powered=powered)
    if joined is not None:
        model = parts().model
        ohm = model.contact_ohm if installation.has_contact else model.output_ohm
        resistors.append(Resistor(FAR_END[joined[0]], FAR_END[joined[1]], ohm))
    if installation.pull is not Pull.NONE and installation.pull_by is PullBy.MODULE and not fault.pull_missing:
        resistors.append(Resistor(Node.SENSOR_SIGNAL, FAR_END[installation.pull_end], pull_ohm))
    return resistors


def joined_terminals(
    installation: Installation, situation: Situation, fault: Fault = SOUND, *, powered: bool = True
) -> tuple[Terminal, Terminal] | None:
    """The two terminals the sensor joins in this situation, or nothing when it leaves them apart."""
    sensor, seen = installation.sensor, _seen_presence(installation, situation, fault)
    match sensor:
        case DryContact():
            pressed = seen is sensor.pressed_when
            made = _held(fault, pressed is (sensor.contact is Contact.NORMALLY_OPEN))
            return (Terminal.SIGNAL, sensor.to) if made else None
        case Changeover():
            pressed = seen is sensor.pressed_when
            if fault.output is Output.NEVER_MAKES:
                return None
            on_no_side = pressed or fault.output is Output.ALWAYS_MAKES
            return (sensor.common, sensor.no_side if on_no_side else sensor.nc_side)
        case OpenCollector():
            conducts = _held(fault, seen is sensor.conducts_when)
            return (Terminal.SIGNAL, Terminal.GROUND) if powered and conducts else None
        case PushPull():
            high = (seen is Presence.IN) is (sensor.output_when_in is Level.HIGH)
            end = Terminal.SUPPLY if high else Terminal.GROUND
            return (Terminal.SIGNAL, end) if powered else None


def _seen_presence(installation: Installation, situation: Situation, fault: Fault) -> Presence:
    """What the mechanics make the sensor see: the filament, a hand, or a stuck lever."""
    if fault.output is Output.HELD:
        return Presence.IN
    if situation.worked_by_hand:
        return _worked(installation)
    return Presence.OUT if fault.output is Output.NEVER_MOVED else situation.presence


def _worked(installation: Installation) -> Presence:
    # a hand presses a lever, which for a switch that filament releases is the state without filament
    sensor = installation.sensor
    return sensor.pressed_when if isinstance(sensor, DryContact | Changeover) else Presence.IN


def _held(fault: Fault, made: bool) -> bool:  # noqa: FBT001 - a truth handed through, not a switch
    if fault.output is Output.NEVER_MAKES:
        return False
    return made or fault.output is Output.ALWAYS_MAKES


def _powered(installation: Installation, fault: Fault) -> bool:
    return not fault.exchanged and installation.conductors - fault.broken >= {Terminal.SUPPLY, Terminal.GROUND}


def _undefined_output(installation: Installation, situation: Situation, fault: Fault) -> bool:
    """A push-pull stage that has lost a rail may do anything, and it outweighs any pull."""
    if not isinstance(installation.sensor, PushPull) or situation.plug is not Plug.PLUGGED:
        return False
    return Terminal.SIGNAL not in fault.broken and fault.bridged is None and not _powered(installation, fault)


def _shorted(resistors: list[Resistor], held_v: dict[Node, float], supply_v: float) -> bool:
    return current_a(resistors, held_v, Node.BOARD_SUPPLY) > supply_v / parts().model.short_ohm


def _level(installation: Installation, volts: tuple[float, ...]) -> Level:
    """High or low when both ends of the pull's tolerance lie beyond the guaranteed level; else undecided."""
    vil_v = installation.input.vil.at_v(installation.logic_v)
    vih_v = installation.input.vih.at_v(installation.logic_v)
    if volts and all(pin >= vih_v for pin in volts):
        return Level.HIGH
    if volts and all(pin <= vil_v for pin in volts):
        return Level.LOW
    return Level.FLOATING
