"""What the operator declares: a sensor, its cable, the input it goes to, and what the firmware takes for "absent"."""

from dataclasses import dataclass
from enum import Enum

from commission.vocabulary import Contact, Level, Presence, Pull
from commission.wiring.parts import InputClass, SensorFacts, SensorKind, parts

LEAST_SUPPLY_V, MOST_SUPPLY_V = 1.8, 60.0
"""No header gives less: a reading near zero is a header without supply, or a probe at the wrong pin."""


class WiringError(ValueError):
    """What was declared cannot be, or is not enough; the text says what to declare instead."""


class Terminal(Enum):
    """A terminal by its function. Colours and positions of a connector say nothing reliable."""

    SIGNAL = "signal"
    GROUND = "ground"
    SUPPLY = "supply"


class PullBy(Enum):
    """Where the pull resistor sits: what is on the module goes away with the plug."""

    BOARD = "board"
    MODULE = "module"


class WorksBy(Enum):
    """What the filament moves, and so what can be wrong with it."""

    LEVER = "lever"
    BALL = "ball"
    BEAM = "beam"
    MAGNET = "magnet"
    MODULE = "module"


@dataclass(frozen=True)
class DryContact:
    """A contact that joins the signal to ground or supply while it is closed.

    Attributes:
        contact: its state at rest.
        to: what it joins the signal to.
        pressed_when: the presence with which the filament presses it.
    """

    contact: Contact
    to: Terminal
    pressed_when: Presence = Presence.IN

    def __post_init__(self) -> None:
        if self.to is Terminal.SIGNAL:
            raise WiringError("A two-wire contact joins the signal to ground or to supply, not to itself.")


@dataclass(frozen=True)
class Changeover:
    """A contact with three terminals: the common one touches one side at rest and the other when pressed."""

    common: Terminal
    no_side: Terminal
    nc_side: Terminal
    pressed_when: Presence = Presence.IN

    def __post_init__(self) -> None:
        if {self.common, self.no_side, self.nc_side} != set(Terminal):
            raise WiringError(
                "The three terminals of a changeover contact go to signal, ground and supply, each once. "
                "If one of them is left empty, it is a two-wire contact."
            )


@dataclass(frozen=True)
class OpenCollector:
    """An output that joins the signal to ground while it conducts, and lets go of it otherwise."""

    conducts_when: Presence


@dataclass(frozen=True)
class PushPull:
    """An output that drives the signal both ways."""

    output_when_in: Level

    def __post_init__(self) -> None:
        if self.output_when_in is Level.FLOATING:
            raise WiringError("A push-pull output drives high or low.")


Sensor = DryContact | Changeover | OpenCollector | PushPull

_FORMS: dict[SensorKind, tuple[type, ...]] = {
    SensorKind.SWITCH: (DryContact, Changeover),
    SensorKind.BALL_AND_LEVER: (DryContact, Changeover, OpenCollector),
    SensorKind.OPEN_COLLECTOR: (OpenCollector,),
    SensorKind.HALL: (OpenCollector,),
    SensorKind.PUSH_PULL: (PushPull,),
}


@dataclass(frozen=True)
class Installation:
    """A sensor as it is wired to one input.

    Attributes:
        kind: what the sensor is.
        sensor: how its output behaves.
        pull: the pull that gives the input its resting level.
        pull_by: where that resistor sits.
        absent: the level the firmware takes for missing filament.
        logic_v: the logic voltage of the board, in volts.
        supply_v: the voltage at the supply terminal of the header, in volts.
        input: the class of input.
        own_conductors: conductors the sensor has besides those its output needs (a module with a light).
        own_pull_up: the module has a pull-up to its supply, whatever else holds the input.
    """

    kind: SensorKind
    sensor: Sensor
    pull: Pull
    pull_by: PullBy
    absent: Level
    logic_v: float
    supply_v: float
    input: InputClass
    own_conductors: frozenset[Terminal] = frozenset()
    own_pull_up: bool = False

    def __post_init__(self) -> None:
        if not isinstance(self.sensor, _FORMS.get(self.kind, ())):
            raise WiringError(f"A {self.facts.title} is not wired as {type(self.sensor).__name__}.")
        if self.absent is Level.FLOATING:
            raise WiringError("The firmware treats one level, high or low, as no filament: declare which.")
        if not 1.0 <= self.logic_v <= 6.0:
            raise WiringError(f"{self.logic_v:g} V is no logic voltage; boards use 3.3 or 5.")
        if not LEAST_SUPPLY_V <= self.supply_v <= MOST_SUPPLY_V:
            raise WiringError(
                f"{self.supply_v:g} V is no supply this tool knows ({LEAST_SUPPLY_V:g} to {MOST_SUPPLY_V:g} V); "
                "measure the header again, from its ground to its supply terminal."
            )
        if self.own_pull_up and not self.is_module:
            raise WiringError(f"A {self.facts.title} wired so carries no pull-up of its own; leave that out.")

    @property
    def facts(self) -> SensorFacts:
        """What is known of this kind of sensor."""
        return parts().sensors[self.kind]

    @property
    def conductors(self) -> frozenset[Terminal]:
        """The wires of the cable, by function."""
        needed = {Terminal.SIGNAL, self.sensor.to} if isinstance(self.sensor, DryContact) else set(Terminal)
        if self.pull_by is PullBy.MODULE and self.pull is not Pull.NONE:
            needed.add(self.pull_end)
        return frozenset(needed) | self.own_conductors

    @property
    def pull_end(self) -> Terminal:
        """Where the pull resistor goes to, away from the signal."""
        return Terminal.SUPPLY if self.pull is Pull.UP else Terminal.GROUND

    @property
    def board_pull_ohm(self) -> tuple[float, float]:
        """Least and greatest resistance of a pull on the board, in ohm: the input's own, else one fitted by hand."""
        own = self.input.pull_up_ohm if self.pull is Pull.UP else self.input.pull_down_ohm
        return (own[0], own[1]) if own else parts().model.board_pull_ohm

    @property
    def pull_ohm(self) -> tuple[float, float]:
        """Least and greatest resistance of the pull, wherever it sits."""
        return self.board_pull_ohm if self.pull_by is PullBy.BOARD else parts().model.module_pull_ohm

    @property
    def pull_rail_v(self) -> float:
        """The voltage the pull-up goes to: the board's logic rail, or the module's supply."""
        return self.logic_v if self.pull_by is PullBy.BOARD else self.supply_v

    @property
    def works_by(self) -> WorksBy:
        """What the filament moves."""
        if self.kind is SensorKind.BALL_AND_LEVER:
            return WorksBy.BALL if self.has_contact else WorksBy.BEAM
        kinds = {
            SensorKind.OPEN_COLLECTOR: WorksBy.BEAM,
            SensorKind.HALL: WorksBy.MAGNET,
            SensorKind.PUSH_PULL: WorksBy.MODULE,
        }
        return kinds.get(self.kind, WorksBy.LEVER)

    @property
    def bears_v(self) -> float:
        """The highest voltage the input bears as it is used here, in volts."""
        own = self.input.pull_up_ohm if self.pull is Pull.UP else self.input.pull_down_ohm
        pulled = self.pull is not Pull.NONE and self.pull_by is PullBy.BOARD and bool(own)
        ordinary_v = self.logic_v + self.input.over_logic_v
        return parts().model.tolerant_limit_v if self.input.tolerates_5_v and not pulled else ordinary_v

    @property
    def is_module(self) -> bool:
        """Whether it may carry parts of its own between supply, signal and ground: a light, a pull-up."""
        return isinstance(self.sensor, DryContact | OpenCollector) and Terminal.SUPPLY in self.conductors

    @property
    def has_contact(self) -> bool:
        """Whether bare metal makes and breaks the circuit."""
        return isinstance(self.sensor, DryContact | Changeover)
