"""What each condition makes of an installation: a change of what was declared, a fault of the hardware, or both."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from enum import Enum

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
from commission.wiring.situation import SOUND, Fault, Output


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
        denies: the parts of the declaration that are then wrong.
        lasting: what comes and goes stays for longer than anyone reads at a time.
    """

    installation: Installation
    fault: Fault = SOUND
    words_reversed: bool = False
    sometimes: Fault | None = None
    when: Occasion = Occasion.ALWAYS
    denies: frozenset[str] = frozenset()
    lasting: bool = False


def _swapped(sensor: Sensor) -> Sensor:
    match sensor:
        case DryContact():
            other = {Contact.NORMALLY_OPEN: Contact.NORMALLY_CLOSED, Contact.NORMALLY_CLOSED: Contact.NORMALLY_OPEN}
            return replace(sensor, contact=other[sensor.contact])
        case Changeover():
            return replace(sensor, no_side=sensor.nc_side, nc_side=sensor.no_side)
        case OpenCollector():
            return replace(sensor, conducts_when=sensor.conducts_when.other)
        case PushPull():  # pragma: no branch - the types allow no other
            return replace(sensor, output_when_in=_opposite(sensor.output_when_in))


def _opposite(level: Level) -> Level:
    return Level.LOW if level is Level.HIGH else Level.HIGH


def _contact_swapped(installation: Installation) -> Variant:
    return Variant(replace(installation, sensor=_swapped(installation.sensor)))


def _logic_flipped(installation: Installation) -> Variant:
    return Variant(replace(installation, absent=_opposite(installation.absent)))


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


def _pull(installation: Installation, pull: Pull) -> Variant:
    return Variant(replace(installation, pull=pull, pull_by=PullBy.BOARD))


def _pull_other_way(installation: Installation) -> Variant | None:
    if installation.pull is Pull.NONE:
        return None
    return _pull(installation, Pull.DOWN if installation.pull is Pull.UP else Pull.UP)


def _pull_there(pull: Pull) -> Callable[[Installation], Variant | None]:
    return lambda installation: _pull(installation, pull) if installation.pull is Pull.NONE else None


def _pull_elsewhere(installation: Installation) -> Variant | None:
    # a pull on the module needs the wire of its rail
    if installation.pull is Pull.NONE or installation.pull_end not in installation.conductors:
        return None
    other = {PullBy.BOARD: PullBy.MODULE, PullBy.MODULE: PullBy.BOARD}
    return Variant(replace(installation, pull_by=other[installation.pull_by], own_pull_up=False))


def _also(
    first: Callable[[Installation], Variant | None], second: Callable[[Installation], Variant | None]
) -> Callable[[Installation], Variant | None]:
    def both(installation: Installation) -> Variant | None:
        changed = first(installation)
        return None if changed is None else second(changed.installation)

    return both


def _intermittent(installation: Installation) -> Variant:
    return Variant(installation, sometimes=Fault(broken=frozenset({Terminal.SIGNAL})))


def _loose(installation: Installation) -> Variant:
    return replace(_intermittent(installation), when=Occasion.CABLE_WORKED)


def _motor_noise(installation: Installation) -> Variant:
    return Variant(installation, sometimes=Fault(disturbed=True), when=Occasion.MACHINE_MOVING)


def _sticky(installation: Installation) -> Variant:
    return Variant(installation, sometimes=Fault(output=Output.HELD), lasting=True)


MADE: Mapping[str, Callable[[Installation], Variant | None]] = {
    "as-declared": _with(SOUND),
    "slipped": _with(SOUND),
    "contact-swapped": _contact_swapped,
    "logic-flipped": _logic_flipped,
    "words-reversed": lambda installation: Variant(installation, words_reversed=True),
    "contact-and-logic": _also(_contact_swapped, _logic_flipped),
    "pull-missing": _pull_missing,
    "pull-other-way": _pull_other_way,
    "pull-up-there": _pull_there(Pull.UP),
    "pull-down-there": _pull_there(Pull.DOWN),
    "pull-elsewhere": _pull_elsewhere,
    "contact-and-pull": _also(_contact_swapped, _pull_other_way),
    "pull-and-logic": _also(_pull_other_way, _logic_flipped),
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
