"""What each probe shows under each condition: the table the diagnosis weighs.

A probe is one thing to try on the bench: filament in or out, a plug pulled, the lever worked by hand, the header
bridged, one measurement with a meter before anything is powered, or a second look at one part of the declaration.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from commission.vocabulary import Presence
from commission.wiring.behaviour import meter_ohm, state
from commission.wiring.conditions import Condition, conditions_of
from commission.wiring.installation import Installation, Terminal
from commission.wiring.meter import JOINED_BELOW_OHM
from commission.wiring.situation import Fault, Plug, Situation
from commission.wiring.variants import Occasion, Variant


class Probe(Enum):
    """Something to try."""

    LOOK_CONTACT = "a second look at how the sensor is wired, and which way round it works"
    LOOK_PULL = "a second look at the pull that the firmware is set to"
    LOOK_LEVEL = "a second look at the level that the firmware takes for missing filament"
    METER_SUPPLY_IN = "meter, supply to ground, filament in"
    METER_SUPPLY_OUT = "meter, supply to ground, filament out"
    METER_SIGNAL_IN = "meter, signal to ground, filament in"
    METER_SIGNAL_OUT = "meter, signal to ground, filament out"
    FILAMENT_IN = "filament in"
    FILAMENT_OUT = "filament out"
    UNPLUGGED_AT_BOARD = "unplugged at the board"
    UNPLUGGED_AT_SENSOR = "unplugged at the sensor"
    CABLE_WORKED = "cable and plugs worked by hand, filament in"
    MACHINE_MOVING = "hands off, the machine moving, filament in"
    WORKED_BY_HAND = "lever worked by hand, filament out"
    BRIDGED = "signal bridged to ground at the header, cable unplugged there"

    @property
    def metered(self) -> bool:
        """Whether it is measured without power."""
        return self in _METERED

    @property
    def looked(self) -> str:
        """The part of the declaration that is looked at; empty for what is read or measured."""
        return _LOOKED.get(self, "")

    @property
    def own_power_up(self) -> bool:
        """Whether power has to be off before and after it, so that a floating input starts anew."""
        return self.metered or self in _UNPLUGGED


_METERED: Mapping[Probe, tuple[Terminal, Presence]] = {
    Probe.METER_SUPPLY_IN: (Terminal.SUPPLY, Presence.IN),
    Probe.METER_SUPPLY_OUT: (Terminal.SUPPLY, Presence.OUT),
    Probe.METER_SIGNAL_IN: (Terminal.SIGNAL, Presence.IN),
    Probe.METER_SIGNAL_OUT: (Terminal.SIGNAL, Presence.OUT),
}
_LOOKED = {Probe.LOOK_CONTACT: "contact", Probe.LOOK_PULL: "pull", Probe.LOOK_LEVEL: "level"}
_UNPLUGGED = {Probe.UNPLUGGED_AT_BOARD, Probe.UNPLUGGED_AT_SENSOR, Probe.BRIDGED}
_SITUATIONS = {
    Probe.FILAMENT_IN: Situation(Presence.IN),
    Probe.FILAMENT_OUT: Situation(Presence.OUT),
    Probe.UNPLUGGED_AT_BOARD: Situation(Presence.OUT, Plug.OFF_AT_BOARD),
    Probe.UNPLUGGED_AT_SENSOR: Situation(Presence.OUT, Plug.OFF_AT_SENSOR),
    Probe.CABLE_WORKED: Situation(Presence.IN),
    Probe.MACHINE_MOVING: Situation(Presence.IN),
    Probe.WORKED_BY_HAND: Situation(Presence.OUT, worked_by_hand=True),
    Probe.BRIDGED: Situation(Presence.OUT, Plug.OFF_AT_BOARD, bridge=True),
}


_OCCASIONS = {Probe.CABLE_WORKED: Occasion.CABLE_WORKED, Probe.MACHINE_MOVING: Occasion.MACHINE_MOVING}


class Show(Enum):
    """What a probe shows."""

    ACTIVE = "reads active"
    INACTIVE = "reads inactive"
    UNDEFINED = "floats"
    RESTARTS = "the board restarts"
    JOINED = "near zero ohm"
    NOT_JOINED = "not near zero ohm"
    AS_DECLARED = "as declared"
    NOT_AS_DECLARED = "not as declared"


@dataclass(frozen=True)
class Prediction:
    """What a probe shows under one condition.

    Attributes:
        show: what it shows.
        sometimes: what it shows while a connection that comes and goes is gone; nothing where that changes nothing.
        lasting: that stays for longer than anyone reads at a time.
    """

    show: Show
    sometimes: Show | None = None
    lasting: bool = False


PredictedTable = dict[Condition, dict[Probe, Prediction]]


def predicted_table(installation: Installation) -> PredictedTable:
    """Every probe under every condition that can be."""
    return {
        condition: {probe: predict(made, probe) for probe in Probe}
        for condition, made in conditions_of(installation).items()
    }


def predict(made: Variant, probe: Probe) -> Prediction:
    """What this probe shows on an installation as a condition leaves it.

    A firmware reads *active* for filament in; where its words are reversed it reads the opposite.
    """
    if probe.looked:
        return Prediction(Show.NOT_AS_DECLARED if probe.looked in made.denies else Show.AS_DECLARED)
    show = _show(made, probe, made.fault)
    if made.sometimes is None or made.when not in {Occasion.ALWAYS, _OCCASIONS.get(probe)}:
        return Prediction(show)
    other = _show(made, probe, made.sometimes)
    return Prediction(show) if other is show else Prediction(show, other, made.lasting)


def _show(made: Variant, probe: Probe, fault: Fault) -> Show:
    if probe in _METERED:
        end, presence = _METERED[probe]
        ohm = meter_ohm(made.installation, Situation(presence), end, Terminal.GROUND, fault)
        return Show.JOINED if ohm < JOINED_BELOW_OHM else Show.NOT_JOINED
    found = state(made.installation, _SITUATIONS[probe], fault)
    if found.supply_short:
        return Show.RESTARTS
    if found.concluded is None:
        return Show.UNDEFINED
    active = (found.concluded is Presence.IN) is not made.words_reversed
    return Show.ACTIVE if active else Show.INACTIVE
