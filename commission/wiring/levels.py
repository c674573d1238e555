"""How far a level lies beyond what the input is guaranteed to understand, and what current keeps a contact clean."""

from dataclasses import dataclass

from commission.vocabulary import Contact, Level, Presence, Pull
from commission.wiring.behaviour import joined_terminals, state
from commission.wiring.installation import DryContact, Installation, Terminal
from commission.wiring.parts import ContactLoad, parts
from commission.wiring.situation import Situation


@dataclass(frozen=True)
class Margin:
    """One level held against its guarantee.

    Attributes:
        presence: with filament in or out.
        level: the level meant.
        worst_v: the voltage at the pin in the worst case, in volts.
        limit_v: the guaranteed limit, in volts: it must be reached from above for high, from below for low.
        damage_v: the highest voltage at the pin where that is more than it bears: then nothing is to spare.
        bears_v: what the pin bears, in volts.
    """

    presence: Presence
    level: Level
    worst_v: float
    limit_v: float
    damage_v: float | None = None
    bears_v: float = 0.0

    @property
    def margin_v(self) -> float:
        """Volts to spare; negative when the level is not guaranteed."""
        spare = self.worst_v - self.limit_v
        return spare if self.level is Level.HIGH else -spare

    @property
    def sentence(self) -> str:
        """The comparison in words."""
        if self.damage_v is not None:
            where = f"{self.damage_v:.2f} V at the input, which bears {self.bears_v:.2f} V"
            return f"Filament {self.presence.value}: {where}: damage."
        side = "at least" if self.level is Level.HIGH else "at most"
        text = (
            f"Filament {self.presence.value}: {self.level.value}, {self.worst_v:.2f} V in the worst case; "
            f"the input wants {side} {self.limit_v:.2f} V"
        )
        if self.margin_v < 0:
            return f"{text}: not guaranteed, {-self.margin_v:.2f} V short."
        return f"{text}: {self.margin_v:.2f} V to spare."


def margins(installation: Installation) -> tuple[Margin, ...]:
    """The level meant with filament in and out, each against VIL or VIH; nothing for a state without a level.

    Worst case: a pull loses leakage x its greatest resistance; a closed contact divides against the least pull; an
    output stage gives the low and high of the LVTTL standard (VOL 0.4 V, supply minus 0.9 V).
    """
    found = [_margin(installation, presence) for presence in Presence]
    return tuple(margin for margin in found if margin is not None)


def divider_v(top_v: float, top_ohm: float, bottom_ohm: float) -> float:
    """The voltage between two resistors in series from `top_v` to ground, in volts."""
    return top_v * bottom_ohm / (top_ohm + bottom_ohm)


def _margin(installation: Installation, presence: Presence) -> Margin | None:
    joined = joined_terminals(installation, Situation(presence))
    if joined is None or Terminal.SIGNAL not in joined:
        return _pulled(installation, presence)
    end = joined[0] if joined[1] is Terminal.SIGNAL else joined[1]
    worst_v = _contact_v(installation, end) if installation.has_contact else _output_v(installation, end)
    return _against(installation, presence, Level.HIGH if end is Terminal.SUPPLY else Level.LOW, worst_v)


def _pulled(installation: Installation, presence: Presence) -> Margin | None:
    if installation.pull is Pull.NONE:
        return None
    lost_v = installation.input.leakage_a * installation.pull_ohm[1]
    if installation.pull is Pull.UP:
        return _against(installation, presence, Level.HIGH, installation.pull_rail_v - lost_v)
    return _against(installation, presence, Level.LOW, lost_v)


def _contact_v(installation: Installation, end: Terminal) -> float:
    model = parts().model
    path_ohm = model.contact_ohm + 2 * model.wire_ohm
    if end is Terminal.SUPPLY:
        if installation.pull is not Pull.DOWN:
            return installation.supply_v
        return divider_v(installation.supply_v, path_ohm, installation.pull_ohm[0])
    if installation.pull is not Pull.UP:
        return 0.0
    return divider_v(installation.pull_rail_v, installation.pull_ohm[0], path_ohm)


def _output_v(installation: Installation, end: Terminal) -> float:
    model = parts().model
    return installation.supply_v - model.output_high_drop_v if end is Terminal.SUPPLY else model.output_low_v


def _against(installation: Installation, presence: Presence, level: Level, worst_v: float) -> Margin:
    limit = installation.input.vih if level is Level.HIGH else installation.input.vil
    damage_v = state(installation, Situation(presence)).damage_v
    return Margin(presence, level, worst_v, limit.at_v(installation.logic_v), damage_v, installation.bears_v)


@dataclass(frozen=True)
class Wetting:
    """The current through a closed contact, least and greatest, in ampere, and what a contact wants."""

    least_a: float
    greatest_a: float
    wanted: ContactLoad
    closed_when: Presence
    pull_ohm_for_wanted: float

    @property
    def enough(self) -> bool:
        """Whether even the least current keeps this class of contact clean."""
        return self.least_a >= self.wanted.minimum_a

    @property
    def sentence(self) -> str:
        """The comparison, and the cure where it falls short."""
        text = (
            f"The closed contact carries {_milliampere(self.least_a)} to {_milliampere(self.greatest_a)} mA; "
            f"a {self.wanted.title} contact wants {_milliampere(self.wanted.minimum_a)} mA"
        )
        if self.enough:
            return f"{text}: enough to keep it clean."
        what = "nuisance trips" if self.closed_when is Presence.IN else "missed runouts"
        return (
            f"{text}. Film may build up on it and bring {what}: use a gold contact, or fit an outside pull of "
            f"{min(4700.0, self.pull_ohm_for_wanted):.0f} ohm or a little less (not below 1000)."
        )


def wetting(installation: Installation, contact: str = "micro-load") -> Wetting | None:
    """The current through a two-wire contact against the least load of its class; nothing where no contact switches.

    Formula: rail voltage / pull, at both ends of the pull's tolerance.
    """
    sensor = installation.sensor
    if not isinstance(sensor, DryContact) or installation.pull is Pull.NONE:
        return None
    if (sensor.to is Terminal.GROUND) is not (installation.pull is Pull.UP):
        return None  # the pull and the contact lead to the same rail: no current flows at all
    rail_v = installation.pull_rail_v if sensor.to is Terminal.GROUND else installation.supply_v
    wanted, (least_ohm, greatest_ohm) = parts().contacts[contact], installation.pull_ohm
    closed_pressed = sensor.contact is Contact.NORMALLY_OPEN
    closed_when = sensor.pressed_when if closed_pressed else sensor.pressed_when.other
    return Wetting(rail_v / greatest_ohm, rail_v / least_ohm, wanted, closed_when, rail_v / wanted.minimum_a)


def _milliampere(current_a: float) -> str:
    return f"{1000 * current_a:.2f}"
