"""What must not be connected at all: a supply shorted by the switch, and more volts than a pin or a part may see."""

from commission.vocabulary import Presence
from commission.wiring.behaviour import joined_terminals
from commission.wiring.installation import Installation, Terminal
from commission.wiring.parts import parts
from commission.wiring.single_faults import Single, Table
from commission.wiring.situation import SOUND, Situation

_ROUNDING_V = 1e-6


def hazards(installation: Installation, predicted: Table) -> tuple[str, ...]:
    """Every reason, in plain words, not to connect this wiring; empty when there is none."""
    found = (_shorts(installation, predicted), _over_voltage(installation, predicted), _over_supply(installation))
    return tuple(text for text in found if text)


def over_voltage_v(installation: Installation, predicted: Table) -> float | None:
    """The highest voltage at the pin where that is more than an ordinary pin may see, in volts; else nothing.

    Looked at sound and with each wire broken.
    """
    highest_v = max(_pin_volts(predicted), default=0.0)
    return highest_v if highest_v > installation.logic_v + installation.input.over_logic_v + _ROUNDING_V else None


def _pin_volts(predicted: Table, *, sound_only: bool = False) -> list[float]:
    pairs = [
        pair for single, pair in predicted.items() if single is Single.SOUND or (single.interrupted and not sound_only)
    ]
    return [pin_v for pair in pairs if pair for state in pair.both for pin_v in state.volts]


def _shorts(installation: Installation, predicted: Table) -> str:
    sound = predicted[Single.SOUND]
    if sound is None:
        return ""
    when = [presence for presence in Presence if sound.of(presence).supply_short]
    if not when:
        return ""
    sides = " and ".join(f"filament {presence.value}" for presence in when)
    joined = joined_terminals(installation, Situation(when[0]), SOUND)
    through = " and ".join(terminal.value for terminal in joined or ())
    return (
        f"Do not connect: with {sides} the switch joins {through}, a dead short of the supply. The board restarts or "
        "goes dark, and its regulator or the computer that feeds it can be destroyed. Leaving the supply wire off "
        "removes the short, but then the signal never changes."
    )


def _over_voltage(installation: Installation, predicted: Table) -> str:
    pin_v = over_voltage_v(installation, predicted)
    if pin_v is None or pin_v <= installation.bears_v:
        return ""
    text = f"Do not connect: {_where(installation, predicted, pin_v)} an input of {installation.logic_v:g} V logic"
    if installation.input.tolerates_5_v and pin_v <= parts().model.tolerant_limit_v:
        return (
            f"{text}. Even a tolerant pin bears that only with its own pull switched off and the board powered: "
            "feed the sensor with the logic voltage instead."
        )
    return (
        f"{text}, which bears {installation.bears_v:g} V: that can kill the controller, at once or later. Feed the "
        f"sensor with {installation.logic_v:g} V if it works on that, or put a level shifter between."
    )


def _where(installation: Installation, predicted: Table, pin_v: float) -> str:
    """Which voltage stands at the input, and when."""
    sound_v = max(_pin_volts(predicted, sound_only=True), default=0.0)
    if sound_v <= installation.bears_v:
        return f"with the ground wire broken about {pin_v:.1f} V would come through the module to"
    through = ", by the module's own pull-up," if installation.own_pull_up else ""
    return f"{sound_v:.1f} V would stand{through} at"


def _over_supply(installation: Installation) -> str:
    facts = installation.facts
    feeds = not installation.has_contact and Terminal.SUPPLY in installation.conductors
    if not feeds or installation.supply_v <= facts.supply_max_v:
        return ""
    return (
        f"Do not connect: the {facts.title} stands {facts.supply_max_v:g} V at most and the header gives "
        f"{installation.supply_v:g} V. Take its supply from a header that gives {installation.logic_v:g} V."
    )
