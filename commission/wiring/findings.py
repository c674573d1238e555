"""What the predicted table and the parts give to say, one sentence each, the weightiest first."""

from commission.vocabulary import Presence, Pull
from commission.wiring.behaviour import joined_terminals, short_volts, state
from commission.wiring.cautions import HANDS_AT_A_PLUG
from commission.wiring.hazards import over_voltage_v
from commission.wiring.installation import DryContact, Installation, OpenCollector, PullBy, Terminal, WorksBy
from commission.wiring.levels import margins, wetting
from commission.wiring.single_faults import Pair, Single, Table
from commission.wiring.situation import Fault, Output, Situation


def findings(installation: Installation, predicted: Table) -> tuple[str, ...]:
    """Everything worth telling about this wiring that does not forbid connecting it."""
    return (
        *_useless(predicted),
        *_interruptions(predicted),
        *_shorted_signal(installation, predicted),
        *_overloads(installation),
        *_dirt(installation),
        *_pull(installation),
        *_volts(installation, predicted),
        *_wetting(installation),
        *installation.facts.cautions,
    )


def _useless(predicted: Table) -> list[str]:
    sound = predicted[Single.SOUND]
    if sound is None or any(state.supply_short or state.damage_v is not None for state in sound.both):
        return []
    undefined = [p for p in Presence if sound.of(p).concluded is None]
    if undefined:
        sides = " and ".join(f"filament {presence.value}" for presence in undefined)
        return [f"Useless: with {sides} nothing gives the input a level, so it reads noise. Fit a pull resistor."]
    if sound.filament_in.level is sound.filament_out.level:
        level = sound.filament_in.level.value
        return [f"Useless: the input is {level} with filament in and out alike, so it never changes."]
    if sound.filament_in.concluded is Presence.OUT:
        return [
            "Inverted: with filament in the firmware concludes out. It would pause at once, and never when it should."
        ]
    return []


def _interruptions(predicted: Table) -> list[str]:
    found: list[str] = []
    sound = predicted[Single.SOUND]
    if sound is None or {state.concluded for state in sound.both} != set(Presence):
        return found  # what cannot tell in from out even when it is sound has nothing left to lose
    for single, pair in predicted.items():
        if pair is None or not single.interrupted:
            continue
        if pair.filament_out.concluded is Presence.IN:
            found.append(f"Fails to danger: {single.words}, it reads in with filament out: a runout would not be seen.")
        elif any(state.concluded is None for state in pair.both):
            when = _when([p for p in Presence if pair.of(p).concluded is None])
            tried = f"try it, more than once. {HANDS_AT_A_PLUG}"
            found.append(f"Unknown: {single.words}, the reading is undefined {when}: {tried}")
    return found


def _shorted_signal(installation: Installation, predicted: Table) -> list[str]:
    found = []
    for single in (Single.SIGNAL_TO_GROUND, Single.SIGNAL_TO_SUPPLY):
        pair, sound = predicted[single], predicted[Single.SOUND]
        if pair is None or sound is None or any(state.supply_short for state in sound.both):
            continue
        if pair.filament_out.concluded is Presence.IN:
            found.append(
                f"Hidden: {single.words}, it reads in with filament out. Pulling the plug does not show it; "
                "only the periodic trial with filament out does."
            )
        found += [
            f"With the {single.words}, filament {presence.value} makes a dead short of the supply: the board restarts."
            for presence in Presence
            if pair.of(presence).supply_short
        ]
        found += _damage(installation, single, pair)
    return found


def _damage(installation: Installation, single: Single, pair: Pair) -> list[str]:
    highest_v = max((state.damage_v for state in pair.both if state.damage_v is not None), default=None)
    if highest_v is None:
        return []
    return [
        f"With the {single.words}, {short_volts(highest_v)} stand at an input that bears {installation.bears_v:g} V: "
        f"damage. Use a header whose supply is {installation.logic_v:g} V, or keep that terminal out of the plug."
    ]


def _overloads(installation: Installation) -> list[str]:
    if installation.has_contact:
        return []
    ends = {joined_terminals(installation, Situation(presence)) for presence in Presence} - {None}
    against = {Terminal.GROUND: Terminal.SUPPLY, Terminal.SUPPLY: Terminal.GROUND}
    return [
        f"With the signal shorted to {against[joined[1]].value} the output works against the short and may be "
        "destroyed; it limits the current itself, so the board need not restart."
        for joined in sorted((pair for pair in ends if pair), key=lambda pair: pair[1].value)
    ]


def _dirt(installation: Installation) -> list[str]:
    """What becomes of a sensor that no longer sees: dirt, a lost light, a lost magnet; and one that always sees."""
    if not isinstance(installation.sensor, OpenCollector):
        return []
    found = []
    blind = Fault(output=Output.NEVER_MAKES)
    read = state(installation, Situation(Presence.OUT), blind).concluded
    if read is not None:
        danger = "dangerous" if read is Presence.IN else "safe, with a nuisance trip"
        magnet = installation.works_by is WorksBy.MAGNET
        lost = "magnet lost, or too far away" if magnet else "dirt, or light lost"
        found.append(f"An output that no longer conducts ({lost}) reads {read.value}: {danger}.")
    held = state(installation, Situation(Presence.OUT), Fault(output=Output.ALWAYS_MAKES)).concluded
    if held is Presence.IN:
        caught = "magnet caught" if installation.works_by is WorksBy.MAGNET else "flag transparent, or stuck"
        found.append(f"An output that always conducts ({caught}) reads in: dangerous.")
    return found


def _pull(installation: Installation) -> list[str]:
    if installation.pull is Pull.NONE:
        return []
    word = f"pull-{installation.pull.value}"
    if installation.pull_by is PullBy.MODULE:
        text = [f"The {word} sits on the module and goes away with the plug: a pull at the board is the safer one."]
        if isinstance(installation.sensor, DryContact) and installation.pull_end is not installation.sensor.to:
            end = installation.pull_end.value
            text.append(f"A {word} on the module needs a {end} wire of its own; it is taken to be there.")
        return text
    own = installation.input.pull_up_ohm if installation.pull is Pull.UP else installation.input.pull_down_ohm
    if not own:
        return [
            f"The {installation.input.title} has no {word} of its own: what is said here holds only with a real "
            "resistor fitted at the board, 1000 to 10000 ohm."
        ]
    if installation.pull is Pull.DOWN:
        return ["All this rests on a real pull-down: make sure that the firmware switches it on for this input."]
    return []


def _volts(installation: Installation, predicted: Table) -> list[str]:
    found = [f"Level not guaranteed. {m.sentence}" for m in margins(installation) if m.margin_v < 0]
    pin_v = over_voltage_v(installation, predicted)
    if pin_v is not None and pin_v <= installation.bears_v:
        found.append(
            f"{pin_v:.1f} V stand at the input: it bears them only powered, as an input, with its own pull off. "
            "Unpowered it bears 4 V at most."
        )
    facts = installation.facts
    if not installation.has_contact and installation.supply_v < facts.supply_min_v:
        found.append(
            f"The {facts.title} wants {facts.supply_min_v:g} V at least and gets {installation.supply_v:g} V: "
            "it may not work at all."
        )
    if installation.supply_v > installation.logic_v and Terminal.SUPPLY not in installation.conductors:
        found.append(
            f"The header's supply terminal carries {installation.supply_v:g} V: leave it empty, nothing here needs it."
        )
    return found


def _wetting(installation: Installation) -> list[str]:
    current = wetting(installation)
    return [] if current is None or current.enough else [current.sentence]


def _when(presences: list[Presence]) -> str:
    if len(presences) == len(Presence):
        return "with filament in and out alike"
    return f"with filament {presences[0].value}"
