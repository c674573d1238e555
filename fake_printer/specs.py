"""What a simulated unit is made of: frozen records that check themselves, one per table of a profile file."""

from dataclasses import dataclass, field
from typing import Literal

from fake_printer.build_spec import FirmwareSpec
from fake_printer.checks import require
from fake_printer.socket_spec import RUNOUT, SECOND_SENSOR, LevelName, SocketSpec

Terminal = Literal["signal", "ground", "supply"]


@dataclass(frozen=True)
class FilamentSpec:
    """The filament and its path; positions in mm, the trip point at 0, downstream positive.

    Attributes:
        start: where the filament is when the unit is first looked at.
        out_mm, in_mm: where a hand leaves the leading end after withdrawing and after inserting.
        hand_move_s: how long such a movement takes.
        trip_to_gear_mm, gear_to_nozzle_mm: the geometry downstream.
        diameter_mm: how thick it is.
        gear_slips: share of a turn of the drive gear that does not take the filament along.
    """

    start: Literal["in", "out"] = "out"
    out_mm: float = -30.0
    in_mm: float = 50.0
    hand_move_s: float = 0.3
    trip_to_gear_mm: float = 40.0
    gear_to_nozzle_mm: float = 60.0
    diameter_mm: float = 1.75
    gear_slips: float = 0.0

    def __post_init__(self) -> None:
        require(self.out_mm < 0 < self.in_mm, "out_mm must be below 0 and in_mm above 0: the trip point is 0")
        require(self.hand_move_s > 0, "hand_move_s must be above 0")
        require(min(self.trip_to_gear_mm, self.gear_to_nozzle_mm) > 0, "distances along the path must be above 0")
        require(self.diameter_mm > 0, "diameter_mm must be above 0")
        require(0 <= self.gear_slips < 1, "gear_slips is a share, from 0 and below 1")


@dataclass(frozen=True)
class LeverSpec:
    """What the filament pushes aside.

    Attributes:
        hysteresis_mm: how far the filament goes back past the trip point before the lever returns.
        stuck: the lever stays there whatever the filament does.
        sticks_pressed: probability that it does not return after a withdrawal (until the next insertion).
        least_diameter_mm: thinner filament does not move it far enough.
        pulse_mm: above 0, a wheel in place of a lever: pressed and released by turns, each for so much filament.
        catches_after, catches_mm: after so many changes it stands still while so much filament slides over it.
    """

    hysteresis_mm: float = 2.0
    stuck: Literal["no", "pressed", "released"] = "no"
    sticks_pressed: float = 0.0
    least_diameter_mm: float = 0.0
    pulse_mm: float = 0.0
    catches_after: int = 0
    catches_mm: float = 0.0

    def __post_init__(self) -> None:
        require(self.hysteresis_mm >= 0, "hysteresis_mm must not be negative")
        require(0 <= self.sticks_pressed <= 1, "sticks_pressed is a probability, 0 to 1")
        require(self.least_diameter_mm >= 0, "least_diameter_mm must not be negative")
        require(self.pulse_mm >= 0, "pulse_mm must not be negative")
        require(min(self.catches_after, self.catches_mm) >= 0, "catches_after and catches_mm must not be negative")


@dataclass(frozen=True)
class ContactSpec:
    """One contact of the sensor, between two of its terminals.

    Attributes:
        between: the two terminals it joins.
        closed_when: the lever position in which it conducts.
        bounce_ms: how long it chatters after the lever moved.
        opens_per_s, opens_for_ms: a bad contact: how often it lets go while closed, and for how long.
        needs_supply: conducts only while the sensor has supply and ground (a transistor, not a dry contact).
        fault: welded conducts always, dead never.
    """

    between: tuple[Terminal, ...] = ("signal", "ground")
    closed_when: Literal["pressed", "released"] = "pressed"
    bounce_ms: float = 4.0
    opens_per_s: float = 0.0
    opens_for_ms: float = 30.0
    needs_supply: bool = False
    fault: Literal["none", "welded", "dead"] = "none"

    def __post_init__(self) -> None:
        require(len(set(self.between)) == 2, "between must name two different terminals")
        require(0 <= self.bounce_ms <= 1000, "bounce_ms must be 0 to 1000")
        require(0 <= self.opens_per_s <= 100, "opens_per_s must be 0 to 100")
        require(self.opens_for_ms > 0, "opens_for_ms must be above 0")


Conductor = Literal["sound", "open", "absent"]


@dataclass(frozen=True)
class CableSpec:
    """The cable: a two-wire sensor has no supply conductor.

    Attributes:
        signal, ground, supply: each conductor; open is broken, absent was never there.
        loose: the conductor that lets go while the cable is shaken.
        loose_opens_per_s, loose_opens_for_ms: how often, and for how long.
        chafed: two terminals that touch inside the cable.
        picks_up_per_s, picks_up_for_ms: while motors turn: how often what their cables couple in turns the level at the
            input round, and for about how long.
    """

    signal: Conductor = "sound"
    ground: Conductor = "sound"
    supply: Conductor = "absent"
    loose: Literal["none", "signal", "ground", "supply"] = "none"
    loose_opens_per_s: float = 4.0
    loose_opens_for_ms: float = 40.0
    chafed: tuple[Terminal, ...] = ()
    picks_up_per_s: float = 0.0
    picks_up_for_ms: float = 40.0

    def __post_init__(self) -> None:
        require(0 < self.loose_opens_per_s <= 100, "loose_opens_per_s must be above 0, at most 100")
        require(self.loose_opens_for_ms > 0, "loose_opens_for_ms must be above 0")
        require(0 <= self.picks_up_per_s <= 100, "picks_up_per_s must be 0 to 100")
        require(self.picks_up_for_ms > 0, "picks_up_for_ms must be above 0")
        require(not self.chafed or len(set(self.chafed)) == 2, "chafed must name two different terminals, or none")


@dataclass(frozen=True)
class PlantSpec:
    """Everything in front of the board's plug."""

    filament: FilamentSpec = FilamentSpec()
    lever: LeverSpec = LeverSpec()
    contacts: tuple[ContactSpec, ...] = (ContactSpec(),)
    cable: CableSpec = CableSpec()


@dataclass(frozen=True)
class InputSpec:
    """The input the runout logic looks at, as the build sets it up and as the board has it.

    Attributes:
        pull: the resistor that is really there.
        pull_ohm: its resistance; a large one gives way to what is laid against it.
        absent_level: the level the build takes to mean that there is no filament.
        flips_per_s: mean rate at which the input changes by itself while nothing holds it.
        sticks_per_power_up: probability that a free input keeps one level from one power-up to the next.
        rests_high: probability that it comes to rest high after a power-up.
        driven: another part of the board holds the line at this level.
        number, port, names: what a pin report calls it; a second name is a second user of the pin.
    """

    pull: Literal["up", "down", "none"] = "up"
    absent_level: LevelName = "high"
    flips_per_s: float = 1.0
    sticks_per_power_up: float = 0.0
    driven: Literal["no", "high", "low"] = "no"
    pull_ohm: float = 40_000.0
    rests_high: float = 0.5
    number: int = 42
    port: str = "C10"
    names: tuple[str, ...] = ("RUNOUT_PIN",)

    def __post_init__(self) -> None:
        require(0 < self.flips_per_s <= 200, "flips_per_s must be above 0, at most 200")
        require(0 <= self.sticks_per_power_up <= 1, "sticks_per_power_up is a probability, 0 to 1")
        require(0 <= self.rests_high <= 1, "rests_high is a probability, 0 to 1")
        require(self.pull_ohm > 0, "pull_ohm must be above 0")
        require(self.number >= 0, "number must not be negative")
        require(len(self.names) > 0, "names must hold at least one name")


@dataclass(frozen=True)
class BoardSpec:
    """The board around the input.

    Attributes:
        usb: bridge: a converter chip that stays when the board restarts; native: the port goes and comes back.
        boot_s: silence after a restart, in which bytes from the host are lost.
        settle_s: from the banner until commands are served.
        hold_up_ms: how long the supply rides through a short.
        sockets: inputs beside that of the runout logic.
    """

    usb: Literal["bridge", "native"] = "bridge"
    boot_s: float = 1.5
    settle_s: float = 0.3
    hold_up_ms: float = 2.0
    input: InputSpec = InputSpec()
    sockets: tuple[SocketSpec, ...] = ()

    def __post_init__(self) -> None:
        require(0 <= self.boot_s <= 30, "boot_s must be 0 to 30")
        require(0 <= self.settle_s <= 30, "settle_s must be 0 to 30")
        require(self.hold_up_ms >= 0, "hold_up_ms must not be negative")
        names = [socket.name for socket in self.sockets]
        own = len(set(names)) == len(names) and not {RUNOUT, SECOND_SENSOR} & set(names)
        require(own, f"sockets must have names of their own, and not {RUNOUT} or {SECOND_SENSOR}")


@dataclass(frozen=True)
class SecondSpec:
    """A second sensor with a filament, a cable and an input of its own.

    Attributes:
        fitted: whether there is one.
        plant: everything in front of the board's plug.
        input: the input it is plugged into.
        crossed: the plugs of both sensors are exchanged.
    """

    fitted: bool = False
    crossed: bool = False
    plant: PlantSpec = PlantSpec()
    input: InputSpec = InputSpec(number=43, port="C11", names=("RUNOUT2_PIN",))


@dataclass(frozen=True)
class WireSpec:
    """The line between host and board.

    Attributes:
        speed_baud: the only speed at which bytes arrive whole.
        reset_on_open: the board restarts when the host opens the port.
        loss_per_byte, damage_per_byte: probability of either, in both directions.
    """

    speed_baud: int = 115200
    reset_on_open: bool = True
    loss_per_byte: float = 0.0
    damage_per_byte: float = 0.0

    def __post_init__(self) -> None:
        require(self.speed_baud > 0, "speed_baud must be above 0")
        require(0 <= self.loss_per_byte <= 1, "loss_per_byte is a probability, 0 to 1")
        require(0 <= self.damage_per_byte <= 1, "damage_per_byte is a probability, 0 to 1")


@dataclass(frozen=True)
class DisturbanceSpec:
    """Disturbances that come by themselves: one of `names` about every `mean_interval_s`; 0: never."""

    names: tuple[str, ...] = ()
    mean_interval_s: float = 0.0

    def __post_init__(self) -> None:
        require(self.mean_interval_s >= 0, "mean_interval_s must not be negative")
        require(self.mean_interval_s == 0 or bool(self.names), "mean_interval_s needs names to choose from")


@dataclass(frozen=True)
class StoredSpec:
    """What the settings memory holds when the unit is first looked at.

    Attributes:
        version: the layout version in its head; empty: the memory was never written.
        values: what was tuned, on top of the build's own defaults.
    """

    version: str = ""
    values: dict[str, dict[str, float]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        require(len(self.version) <= 4 and self.version.isascii(), "version has at most four letters and digits")


@dataclass(frozen=True)
class Profile:
    """One simulated unit.

    Attributes:
        name: the file's name without its ending.
        summary: one line for a list.
        finding: what somebody who tests this unit must find.
    """

    name: str
    summary: str
    finding: str
    plant: PlantSpec = PlantSpec()
    board: BoardSpec = BoardSpec()
    second: SecondSpec = SecondSpec()
    firmware: FirmwareSpec = field(default_factory=FirmwareSpec)
    stored: StoredSpec = StoredSpec()
    wire: WireSpec = WireSpec()
    disturbances: DisturbanceSpec = DisturbanceSpec()
