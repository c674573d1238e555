"""From an installation, what is wrong with it and what the hands do, to the level at the pin and what is concluded.

The circuit is built as it stands on the bench and worked out by `circuit`; no case is decided by a table here.
"""

from dataclasses import dataclass, field
from functools import lru_cache
from itertools import product

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
from commission.wiring.situation import SOUND, Fault, Output, Plug, Situation

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


@dataclass(frozen=True)
class State:
    """What stands at the pin.

    Attributes:
        level: high, low, or floating when nothing decides it.
        concluded: the presence the firmware concludes, or nothing when it is undefined.
        supply_short: a dead short between supply and ground.
        damage_v: the voltage at the pin where it is more than the input bears; nothing it reads counts then.
        volts: the voltage at the pin at the ends of the pulls' tolerances, where there is one.
    """

    level: Level
    concluded: Presence | None
    supply_short: bool = False
    damage_v: float | None = None
    volts: tuple[float, ...] = field(default=(), compare=False)

    @property
    def words(self) -> str:
        """The state in a few words, as a cell of the table shows it."""
        if self.supply_short:
            return "SUPPLY SHORTED"
        if self.damage_v is not None:
            return f"{short_volts(self.damage_v)} on the input: damage"
        read = f"reads {self.concluded.value}" if self.concluded else "undefined"
        return f"{self.level.value}, {read}"

    def as_json(self) -> dict[str, object]:
        """The state as plain data."""
        concluded = self.concluded.value if self.concluded else "undefined"
        return {
            "level": self.level.value,
            "concluded": concluded,
            "supply_short": self.supply_short,
            "damage_v": None if self.damage_v is None else round(self.damage_v, 3),
        }


_MOST_KEPT = 4096
"""So many states are kept: a diagnosis asks for those of a few hundred faults again at each of its readings."""
_ROUNDING_V = 1e-6
"""A voltage this little above a limit is the limit."""


def short_volts(volts: float) -> str:
    """A voltage without needless digits, as in `24 V` or `4.9 V`."""
    return f"{round(volts, 1):g} V"


def state(installation: Installation, situation: Situation, fault: Fault = SOUND) -> State:
    """The level at the pin and what the firmware makes of it.

    With the supply shorted the board restarts or stays dark, and with more volts than the pin bears it may be dead, so
    nothing it reads counts: level and conclusion are then undefined, whatever the rest of the circuit would give.
    """
    return _worked_out(installation, situation, fault)


@lru_cache(_MOST_KEPT)
def _worked_out(installation: Installation, situation: Situation, fault: Fault) -> State:
    held_v = _held_v(installation, fault)
    circuits = _circuits(installation, situation, fault)
    if any(_shorted(resistors, held_v, installation.supply_v) for resistors in circuits):
        return State(Level.FLOATING, None, supply_short=True)
    plain = _volts([voltages_v(resistors, held_v).get(Node.PIN) for resistors in circuits])
    lifting = _lifting(installation, situation, fault)
    volts = _volts([_lifted_v(resistors, held_v, lifting) for resistors in circuits]) if lifting else plain
    if max(volts, default=0.0) > installation.bears_v + _ROUNDING_V:
        return State(Level.FLOATING, None, damage_v=max(volts), volts=volts)
    level = _level(installation, plain)
    # what leaks through a module without ground is no level to rely on
    if level is not _level(installation, volts) or _undefined_output(installation, situation, fault):
        level = Level.FLOATING
    if fault.disturbed and situation.plug is not Plug.OFF_AT_BOARD:
        level = {Level.HIGH: Level.LOW, Level.LOW: Level.HIGH}.get(level, level)
    level = fault.dead_at or level
    return State(level, concluded(installation, level), volts=volts)


def _held_v(installation: Installation, fault: Fault) -> dict[Node, float]:
    held_v = {
        Node.BOARD_SUPPLY: installation.supply_v,
        Node.BOARD_GROUND: 0.0,
        Node.LOGIC_RAIL: installation.logic_v,
    }
    if fault.foreign is not None:
        held_v[Node.FOREIGN] = installation.logic_v if fault.foreign is Level.HIGH else 0.0
    return held_v


def _circuits(installation: Installation, situation: Situation, fault: Fault) -> list[list[Resistor]]:
    """The circuit at every end of the pulls' tolerances."""
    own = parts().model.module_pull_ohm if installation.own_pull_up else (0.0,)
    return [
        circuit(installation, situation, fault, pull_ohm=pull_ohm, own_ohm=own_ohm)
        for pull_ohm, own_ohm in product(installation.pull_ohm, own)
    ]


def _volts(pins: list[float | None]) -> tuple[float, ...]:
    return tuple(pin_v for pin_v in pins if pin_v is not None)


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


def circuit(
    installation: Installation, situation: Situation, fault: Fault, *, pull_ohm: float, own_ohm: float = 0.0
) -> list[Resistor]:
    """All connections as they stand, with these values of the pull and of the module's own pull-up (0 for none)."""
    resistors: list[Resistor] = []
    if situation.plug is not Plug.OFF_AT_BOARD and fault.connected:
        resistors += _cable(installation, fault)
        if situation.plug is Plug.PLUGGED:
            powered = _powered(installation, fault)
            resistors += _far_side(installation, situation, fault, pull_ohm, powered=powered)
            resistors += [Resistor(Node.SENSOR_SIGNAL, Node.SENSOR_SUPPLY, own_ohm)] if own_ohm else []
    if installation.pull is not Pull.NONE and installation.pull_by is PullBy.BOARD and not fault.pull_missing:
        rail = Node.LOGIC_RAIL if installation.pull is Pull.UP else Node.BOARD_GROUND
        resistors.append(Resistor(Node.PIN, rail, pull_ohm))
    if situation.bridge and fault.connected:  # the bridge sits at the header the cable goes to
        resistors.append(Resistor(Node.PIN, Node.BOARD_GROUND, parts().model.bridge_ohm))
    if fault.foreign is not None:
        resistors.append(Resistor(Node.PIN, Node.FOREIGN, parts().model.output_ohm))
    return resistors


def _lifting(installation: Installation, situation: Situation, fault: Fault) -> list[Resistor]:
    """The way of a module's own current when its ground is lost: over its light to its ground, and on to the signal."""
    module = installation.is_module or isinstance(installation.sensor, PushPull)
    if not module or situation.plug is not Plug.PLUGGED or fault.broken != {Terminal.GROUND} or not fault.connected:
        return []
    model = parts().model
    through = [Resistor(Node.MODULE_LIGHT, Node.SENSOR_GROUND, model.module_ohm)]
    if not installation.has_contact:  # the output stage lets current through from its ground, whatever it drives
        through.append(Resistor(Node.SENSOR_GROUND, Node.SENSOR_SIGNAL, model.output_ohm))
    return through


def _lifted_v(resistors: list[Resistor], held_v: dict[Node, float], lifting: list[Resistor]) -> float | None:
    """The voltage at the pin with the module's own current; it flows through a light in one direction only."""
    light_v = held_v[Node.BOARD_SUPPLY] - parts().model.module_drop_v
    pins = [
        voltages_v(resistors, held_v).get(Node.PIN),
        voltages_v([*resistors, *lifting], held_v | {Node.MODULE_LIGHT: light_v}).get(Node.PIN),
    ]
    return max(_volts(pins), default=None)


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
        case PushPull():  # pragma: no branch - the types allow no other
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
    plugged = fault.connected and situation.plug is Plug.PLUGGED
    if not isinstance(installation.sensor, PushPull) or not plugged:
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
