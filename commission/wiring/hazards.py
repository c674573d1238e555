"""What must not be connected at all: a supply shorted by the switch, and more volts than a pin or a part may see."""

from commission.vocabulary import Presence, Pull
from commission.wiring.behaviour import SOUND, Situation, joined_terminals
from commission.wiring.installation import Installation, PullBy, Terminal
from commission.wiring.parts import parts
from commission.wiring.single_faults import Pair, Single, Table

_TOLERANT_LIMIT_V = (
    5.5  # STM32F405/407 datasheet, table 44: FT inputs up to 5.5 V; also the 8-bit class at VCC 5.0 + 0.5
)


def hazards(installation: Installation, predicted: Table) -> tuple[str, ...]:
    """Every reason, in plain words, not to connect this wiring; empty when there is none."""
    found = (_shorts(installation, predicted), _over_voltage(installation, predicted), _over_supply(installation))
    return tuple(text for text in found if text)


def over_voltage_v(installation: Installation, predicted: Table) -> float | None:
    """The highest voltage at the pin where that is more than an ordinary pin may see, in volts; else nothing.

    Looked at sound and with each wire broken. Limit: logic voltage + 0.3 V.
    """
    pairs = [pair for single, pair in predicted.items() if single is Single.SOUND or single.interrupted]
    highest_v = max(_pin_volts(pairs), default=0.0)
    return highest_v if highest_v > installation.logic_v + parts().model.over_voltage_v else None


def borne_by_input(installation: Installation, pin_v: float) -> bool:
    """Whether this input bears that voltage: a tolerant pin does, as long as its own pull is off."""
    own_pull = installation.input.pull_up_ohm if installation.pull is Pull.UP else installation.input.pull_down_ohm
    pulled = installation.pull is not Pull.NONE and installation.pull_by is PullBy.BOARD and bool(own_pull)
    return installation.input.tolerates_5_v and pin_v <= _TOLERANT_LIMIT_V and not pulled


def _pin_volts(pairs: list[Pair | None]) -> list[float]:
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
    if pin_v is None or borne_by_input(installation, pin_v):
        return ""
    text = f"Do not connect: {pin_v:.1f} V would stand at an input of {installation.logic_v:g} V logic"
    if installation.input.tolerates_5_v and pin_v <= _TOLERANT_LIMIT_V:
        return (
            f"{text}. Even a tolerant pin bears that only with its own pull switched off and the board powered: "
            "feed the sensor with the logic voltage instead."
        )
    return (
        f"{text}, which can kill the controller, at once or later. Feed the sensor with {installation.logic_v:g} V "
        "if it works on that, or put a level shifter between."
    )


def _over_supply(installation: Installation) -> str:
    facts = installation.facts
    feeds = not installation.has_contact and Terminal.SUPPLY in installation.conductors
    if not feeds or installation.supply_v <= facts.supply_max_v:
        return ""
    return (
        f"Do not connect: the {facts.title} stands {facts.supply_max_v:g} V at most and the header gives "
        f"{installation.supply_v:g} V. Take its supply from a header that gives {installation.logic_v:g} V."
    )
