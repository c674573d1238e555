"""Installations as the specification writes them, and short ways to read an assessment."""

from commission.vocabulary import Contact, Level, Presence, Pull
from commission.wiring.assessment import Assessment, assess
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
from commission.wiring.parts import SensorKind, parts
from commission.wiring.single_faults import Single

NO, NC = Contact.NORMALLY_OPEN, Contact.NORMALLY_CLOSED
SIGNAL, GROUND, SUPPLY = Terminal.SIGNAL, Terminal.GROUND, Terminal.SUPPLY
IN, OUT = Presence.IN, Presence.OUT
HIGH, LOW = Level.HIGH, Level.LOW
SHORT, FLOATS = "short", "floats"


def wired(
    sensor: Sensor,
    pull: Pull,
    absent: Level,
    *,
    pull_by: PullBy = PullBy.BOARD,
    logic_v: float = 3.3,
    supply_v: float | None = None,
    kind: SensorKind | None = None,
    input_class: str = "",
) -> Installation:
    """An installation with the usual rest."""
    usual = {OpenCollector: SensorKind.OPEN_COLLECTOR, PushPull: SensorKind.PUSH_PULL}
    chosen = parts().inputs[input_class] if input_class else parts().input_for(logic_v)
    return Installation(
        kind or usual.get(type(sensor), SensorKind.SWITCH),
        sensor,
        pull,
        pull_by,
        absent,
        logic_v,
        supply_v or logic_v,
        chosen,
    )


def two_wire(contact: Contact, to: Terminal) -> DryContact:
    """A two-wire contact that the filament presses."""
    return DryContact(contact, to)


def three_wire(common: Terminal, no_side: Terminal, nc_side: Terminal) -> Changeover:
    """A changeover contact that the filament presses."""
    return Changeover(common, no_side, nc_side)


def right_way_round(sensor: Sensor, pull: Pull) -> Assessment:
    """The assessment with the firmware's absent level chosen so that in reads in, as the truth table has it."""
    chosen = [assess(wired(sensor, pull, absent)) for absent in (HIGH, LOW)]
    direct = [assessment for assessment in chosen if assessment.polarity and assessment.polarity.value == "direct"]
    assert len(direct) == 1

    return direct[0]


def levels(assessment: Assessment, single: Single = Single.SOUND) -> tuple[str, str]:
    """What stands at the pin with filament in and out: H, L, short or floats."""
    pair = assessment.states[single]
    assert pair is not None

    words = {Level.HIGH: "H", Level.LOW: "L", Level.FLOATING: FLOATS}
    return tuple(SHORT if s.supply_short else words[s.level] for s in pair.both)  # type: ignore[return-value]


def concludes(assessment: Assessment, single: Single = Single.SOUND) -> tuple[str, str]:
    """What is concluded with filament in and out."""
    pair = assessment.states[single]
    assert pair is not None

    return tuple("undefined" if s.concluded is None else s.concluded.value for s in pair.both)  # type: ignore[return-value]
