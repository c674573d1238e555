"""The facts of parts.toml, checked once when they are read."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from functools import cache
from importlib.resources import files
from typing import Any


class PartsError(ValueError):
    """The file of facts is not as it should be; the text names file and entry."""


class SensorKind(Enum):
    """What the operator bought."""

    SWITCH = "switch"
    OPEN_COLLECTOR = "open-collector"
    PUSH_PULL = "push-pull"
    HALL = "hall"
    BALL_AND_LEVER = "ball-and-lever"
    MOTION_WHEEL = "motion-wheel"


@dataclass(frozen=True)
class SensorFacts:
    """What is known of a kind of sensor, whichever way it is wired."""

    title: str
    supply_min_v: float
    supply_max_v: float
    presence_input: bool
    source: str
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class Limit:
    """A guaranteed level as the datasheet gives it: slope x logic voltage + offset."""

    slope: float
    offset_v: float

    def at_v(self, logic_v: float) -> float:
        """The limit in volts at this logic voltage."""
        return self.slope * logic_v + self.offset_v


@dataclass(frozen=True)
class InputClass:
    """One class of board input.

    Attributes:
        name: the word by which it is chosen.
        vil: at or below this it is guaranteed to read low.
        vih: at or above this it is guaranteed to read high.
        pull_up_ohm: least and greatest internal pull-up, or nothing when it has none.
        pull_down_ohm: likewise for the pull-down.
        leakage_a: the greatest current into or out of the pin.
        over_logic_v: how far above the logic voltage the pin may be taken, in volts.
        tolerates_5_v: whether it bears more than that while it is powered, an input, and its own pull is off.
    """

    name: str
    title: str
    logic_v: float
    vil: Limit
    vih: Limit
    pull_up_ohm: tuple[float, ...]
    pull_down_ohm: tuple[float, ...]
    leakage_a: float
    over_logic_v: float
    tolerates_5_v: bool
    source: str

    def __post_init__(self) -> None:
        if not self.vil.at_v(self.logic_v) < self.vih.at_v(self.logic_v):
            raise PartsError(f"parts.toml, inputs.{self.name}: vil must lie below vih.")
        for pull in (self.pull_up_ohm, self.pull_down_ohm):
            if len(pull) not in {0, 2} or list(pull) != sorted(pull) or any(ohm <= 0 for ohm in pull):
                raise PartsError(f"parts.toml, inputs.{self.name}: a pull is [least, greatest] in ohm, or [].")


@dataclass(frozen=True)
class ContactLoad:
    """The least load a contact needs to stay clean."""

    title: str
    minimum_a: float
    at_v: float
    source: str


@dataclass(frozen=True)
class Model:
    """The resistances and voltages the circuit is worked out with; parts.toml says where each comes from."""

    wire_ohm: float
    contact_ohm: float
    output_ohm: float
    module_pull_ohm: tuple[float, float]
    board_pull_ohm: tuple[float, float]
    bridge_ohm: float
    proof_ohm: float
    short_ohm: float
    tolerant_limit_v: float
    module_ohm: float
    module_drop_v: float
    output_low_v: float
    output_high_drop_v: float


@dataclass(frozen=True)
class Parts:
    """All facts of the file."""

    sensors: Mapping[SensorKind, SensorFacts]
    inputs: Mapping[str, InputClass]
    contacts: Mapping[str, ContactLoad]
    default_input: Mapping[float, str]
    model: Model

    def input_for(self, logic_v: float) -> InputClass:
        """The careful class of input for a logic voltage in volts.

        Raises:
            PartsError: no class is known for this voltage.
        """
        if logic_v not in self.default_input:
            known = " or ".join(f"{volts:g}" for volts in sorted(self.default_input))
            raise PartsError(f"No class of input is known for {logic_v:g} V logic; give {known}.")
        return self.inputs[self.default_input[logic_v]]


@cache
def parts() -> Parts:
    """The facts that ship with the product."""
    return read_parts(files(__package__).joinpath("parts.toml").read_text(encoding="utf-8"))


def read_parts(text: str) -> Parts:
    """Read and check a file of facts.

    Raises:
        PartsError: it is no TOML, has another format, or an entry has missing, unknown or impossible keys.
    """
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise PartsError(f"parts.toml is not TOML: {error}") from error
    if data.pop("format", None) != 1:
        raise PartsError("parts.toml must begin with format = 1; this release reads no other.")
    try:
        return _parts(data)
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        if isinstance(error, PartsError):
            raise
        raise PartsError(f"parts.toml has a missing, unknown or impossible entry: {error}") from error


def _parts(data: dict[str, Any]) -> Parts:
    sensors = {SensorKind(name): SensorFacts(**_tuples(facts)) for name, facts in data["sensors"].items()}
    missing = set(SensorKind) - set(sensors)
    if missing:
        raise PartsError(f"parts.toml says nothing about {sorted(kind.value for kind in missing)}.")
    inputs = {name: _input(name, facts) for name, facts in data["inputs"].items()}
    defaults = {float(volts): name for volts, name in data["default_input"].items()}
    for name in defaults.values():
        if name not in inputs:
            raise PartsError(f"parts.toml, default_input names {name}, which is not among the inputs.")
    contacts = {name: ContactLoad(**facts) for name, facts in data["contacts"].items()}
    return Parts(sensors, inputs, contacts, defaults, Model(**_tuples(data["model"])))


def _input(name: str, facts: dict[str, Any]) -> InputClass:
    rest = _tuples({key: value for key, value in facts.items() if key not in {"vil", "vih"}})
    return InputClass(name=name, vil=Limit(**facts["vil"]), vih=Limit(**facts["vih"]), **rest)


def _tuples(facts: dict[str, Any]) -> dict[str, Any]:
    return {key: tuple(value) if isinstance(value, list) else value for key, value in facts.items()}
