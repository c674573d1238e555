"""What can be wrong with an installation, as data, and what each of it makes of the installation.

The diagnosis weighs these conditions against what was read. Each is a change of the declared installation, a fault
of the hardware, or both; what it reads follows from `behaviour` and is written down nowhere.
"""

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from enum import Enum
from functools import cache
from importlib.resources import files

from commission.vocabulary import Contact, Level, Pull
from commission.wiring.installation import (
    Changeover,
    DryContact,
    Installation,
    OpenCollector,
    PullBy,
    PushPull,
    Sensor,
    Terminal,
)
from commission.wiring.parts import PartsError
from commission.wiring.situation import SOUND, Fault, Output


@dataclass(frozen=True)
class Condition:
    """One thing that may be wrong.

    Attributes:
        name: the word under which it is kept.
        title: what it is, for a person.
        prior: its weight before anything was tried; relative, above zero.
        cures: what to do about it, in the order of trying.
    """

    name: str
    title: str
    prior: float
    cures: tuple[str, ...]

    def __post_init__(self) -> None:
        if not (self.prior > 0 and self.title and self.cures):
            raise PartsError(
                f"conditions.toml, conditions.{self.name}: title, a prior above zero and cures are needed."
            )


class Occasion(Enum):
    """When a fault that comes and goes does so."""

    ALWAYS = "at any time"
    CABLE_WORKED = "while the cable is worked by hand"
    MACHINE_MOVING = "while motors move"


@dataclass(frozen=True)
class Variant:
    """An installation as a condition leaves it.

    Attributes:
        installation: what it really is.
        fault: what is wrong with the hardware.
        words_reversed: the reply says the opposite of what the firmware concludes.
        sometimes: the fault that comes and goes in its place, if one does.
        when: the occasion on which it does so.
    """

    installation: Installation
    fault: Fault = SOUND
    words_reversed: bool = False
    sometimes: Fault | None = None
    when: Occasion = Occasion.ALWAYS


def variant(installation: Installation, condition: str) -> Variant | None:
    """The installation under a condition, or nothing where the condition cannot be (a wire that is not there).

    Raises:
        PartsError: no condition has this name.
    """
    if condition not in _MADE:
        raise PartsError(f"{condition!r} is no condition; known are {', '.join(_MADE)}.")
    return _MADE[condition](installation)


@cache
def conditions() -> tuple[Condition, ...]:
    """Every condition, in the order of the file."""
    return read_conditions(files(__package__).joinpath("conditions.toml").read_text(encoding="utf-8"))


def conditions_of(installation: Installation) -> dict[Condition, Variant]:
    """Every condition that can be, with what it makes of this installation."""
    found = {condition: variant(installation, condition.name) for condition in conditions()}
    return {condition: made for condition, made in found.items() if made is not None}


def read_conditions(text: str) -> tuple[Condition, ...]:
    """Read and check a file of conditions.

    Raises:
        PartsError: it is no TOML, has another format, or does not describe exactly the conditions that can be made.
    """
    try:
        data = tomllib.loads(text)
        if data.get("format") != 1:
            raise PartsError("conditions.toml must begin with format = 1; this release reads no other.")
        read = tuple(
            Condition(name, entry.pop("title"), float(entry.pop("prior")), tuple(entry.pop("cures")))
            for name, entry in data["conditions"].items()
        )
    except (tomllib.TOMLDecodeError, KeyError, TypeError, ValueError, AttributeError) as error:
        if isinstance(error, PartsError):
            raise
        raise PartsError(f"conditions.toml has a missing or impossible entry: {error}") from error
    spare = {key for entry in data["conditions"].values() for key in entry}
    if spare or {condition.name for condition in read} != set(_MADE):
        wrong = spare | ({condition.name for condition in read} ^ set(_MADE))
        raise PartsError(f"conditions.toml must describe what can be made, no more and no less: {sorted(wrong)}.")
    return read


def _swapped(sensor: Sensor) -> Sensor:
    match sensor:
        case DryContact():
            other = {Contact.NORMALLY_OPEN: Contact.NORMALLY_CLOSED, Contact.NORMALLY_CLOSED: Contact.NORMALLY_OPEN}
            return replace(sensor, contact=other[sensor.contact])
        case Changeover():
            return replace(sensor, no_side=sensor.nc_side, nc_side=sensor.no_side)
        case OpenCollector():
            return replace(sensor, conducts_when=sensor.conducts_when.other)
        case PushPull():
            return replace(sensor, output_when_in=_opposite(sensor.output_when_in))


def _opposite(level: Level) -> Level:
    return Level.LOW if level is Level.HIGH else Level.HIGH


def _contact_swapped(installation: Installation) -> Variant:
    return Variant(replace(installation, sensor=_swapped(installation.sensor)))


def _logic_flipped(installation: Installation) -> Variant:
    return Variant(replace(installation, absent=_opposite(installation.absent)))


def _both(installation: Installation) -> Variant:
    return _logic_flipped(_contact_swapped(installation).installation)


def _with(fault: Fault) -> Callable[[Installation], Variant | None]:
    return lambda installation: Variant(installation, fault)


def _broken(terminal: Terminal) -> Callable[[Installation], Variant | None]:
    fault = Fault(broken=frozenset({terminal}))
    return lambda installation: Variant(installation, fault) if terminal in installation.conductors else None


def _pull_missing(installation: Installation) -> Variant | None:
    return None if installation.pull is Pull.NONE else Variant(installation, Fault(pull_missing=True))


def _wrong_and_floating(installation: Installation) -> Variant | None:
    # where the pull is on the module or missing anyway, the other input floats without a second fault
    own_pull = installation.pull is not Pull.NONE and installation.pull_by is PullBy.BOARD
    return Variant(installation, Fault(connected=False, pull_missing=True)) if own_pull else None


def _output(output: Output) -> Callable[[Installation], Variant | None]:
    # a push-pull stage has no contact that could be dead or welded
    fault = Fault(output=output)
    return lambda installation: None if isinstance(installation.sensor, PushPull) else Variant(installation, fault)


def _intermittent(installation: Installation) -> Variant:
    return Variant(installation, sometimes=Fault(broken=frozenset({Terminal.SIGNAL})))


def _loose(installation: Installation) -> Variant:
    return replace(_intermittent(installation), when=Occasion.CABLE_WORKED)


def _motor_noise(installation: Installation) -> Variant:
    return Variant(installation, sometimes=Fault(disturbed=True), when=Occasion.MACHINE_MOVING)


def _sticky(installation: Installation) -> Variant:
    return Variant(installation, Fault(output=Output.HELD), sometimes=SOUND)


_MADE: Mapping[str, Callable[[Installation], Variant | None]] = {
    "as-declared": _with(SOUND),
    "contact-swapped": _contact_swapped,
    "logic-flipped": _logic_flipped,
    "words-reversed": lambda installation: Variant(installation, words_reversed=True),
    "contact-and-logic": _both,
    "pull-missing": _pull_missing,
    "signal-broken": _broken(Terminal.SIGNAL),
    "ground-broken": _broken(Terminal.GROUND),
    "supply-missing": _broken(Terminal.SUPPLY),
    "output-dead": _output(Output.NEVER_MAKES),
    "output-always": _output(Output.ALWAYS_MAKES),
    "signal-to-ground": _with(Fault(bridged=Terminal.GROUND)),
    "signal-to-supply": _with(Fault(bridged=Terminal.SUPPLY)),
    "exchanged": _with(Fault(exchanged=True)),
    "wrong-input": _with(Fault(connected=False)),
    "wrong-input-floating": _wrong_and_floating,
    "driven-high": _with(Fault(foreign=Level.HIGH)),
    "driven-low": _with(Fault(foreign=Level.LOW)),
    "pin-dead-high": _with(Fault(dead_at=Level.HIGH)),
    "pin-dead-low": _with(Fault(dead_at=Level.LOW)),
    "lever-not-reached": _with(Fault(output=Output.NEVER_MOVED)),
    "lever-stuck": _with(Fault(output=Output.HELD)),
    "lever-sticky": _sticky,
    "intermittent": _intermittent,
    "loose": _loose,
    "motor-noise": _motor_noise,
}
