"""An installation assessed: what it reads, whether it fails safe, what forbids it, and what to do instead."""

from dataclasses import dataclass, replace

from commission.vocabulary import Level, Polarity, Presence, Pull
from commission.wiring.findings import findings
from commission.wiring.hazards import hazards
from commission.wiring.installation import Installation, PullBy, WiringError, WorksBy
from commission.wiring.levels import Margin, Wetting, margins, wetting
from commission.wiring.parts import SensorKind, parts
from commission.wiring.single_faults import Single, Table, table

RECOMMENDED = (
    "Recommended: two wires, a contact between signal and ground that is closed while filament is in (normally open "
    "where the filament presses the lever), a pull-up at the board, and firmware that takes high for absent. Then "
    "each broken wire and a pulled plug read out, and no supply wire is there to be shorted."
)


_OTHER_WAY_ROUND = {
    WorksBy.LEVER: "move the wire to the other side of the switch",
    WorksBy.BALL: "move the wire to the other side of the switch",
    WorksBy.BEAM: "turn the flag round",
    WorksBy.MAGNET: "turn the magnet's arm round",
    WorksBy.MODULE: "set the module's output the other way round",
}


@dataclass(frozen=True)
class Assessment:
    """Everything the room has to say about one installation.

    Attributes:
        states: the predicted table.
        polarity: how the conclusion follows the filament; nothing when it is not usable.
        usable: it changes between in and out, and nothing forbids connecting it.
        fail_safe: every broken wire and the pulled plug read out; nothing when that is unknown or without meaning.
        hazards: reasons not to connect it.
        findings: what else is worth telling.
        recommendation: keep it, or what to do instead and why.
        margins: levels against their guarantee.
        wetting: the current through the contact, where there is one to speak of.
    """

    states: Table
    polarity: Polarity | None
    usable: bool
    fail_safe: bool | None
    hazards: tuple[str, ...]
    findings: tuple[str, ...]
    recommendation: str
    margins: tuple[Margin, ...] = ()
    wetting: Wetting | None = None

    def as_json(self) -> dict[str, object]:
        """The assessment as plain data."""
        return {
            "states": {single.value: _pair_json(self.states, single) for single in Single},
            "polarity": self.polarity.value if self.polarity else None,
            "usable": self.usable,
            "fail_safe": self.fail_safe,
            "hazards": list(self.hazards),
            "findings": list(self.findings),
            "recommendation": self.recommendation,
        }


def assess(installation: Installation) -> Assessment:
    """Assess an installation that is a presence input."""
    predicted = table(installation)
    forbidden = hazards(installation, predicted)
    usable = not forbidden and _changes(predicted)
    polarity = _polarity(predicted) if usable else None
    fail_safe = _fail_safe(predicted) if usable else None
    return Assessment(
        predicted,
        polarity,
        usable,
        fail_safe,
        forbidden,
        (*_cancelling(polarity, fail_safe), *findings(installation, predicted)),
        _recommendation(installation, polarity, fail_safe=fail_safe, forbidden=bool(forbidden)),
        tuple(margin for margin in margins(installation) if not _shorted(predicted, margin.presence)),
        wetting(installation),
    )


def not_a_presence_input(kind: SensorKind) -> Assessment:
    """The assessment of a part whose level says nothing about presence.

    Raises:
        WiringError: this kind is a presence input and is assessed by its wiring.
    """
    facts = parts().sensors[kind]
    if facts.presence_input:
        raise WiringError(f"A {facts.title} is a presence input: declare how it is wired.")
    advice = "Fit a presence switch to this input; a motion wheel wants firmware that counts its changes."
    nothing: Table = dict.fromkeys(Single)
    return Assessment(
        nothing,
        polarity=None,
        usable=False,
        fail_safe=None,
        hazards=(),
        findings=facts.cautions,
        recommendation=f"{advice} {RECOMMENDED}",
    )


def _pair_json(predicted: Table, single: Single) -> dict[str, object] | None:
    pair = predicted[single]
    return None if pair is None else {"in": pair.filament_in.as_json(), "out": pair.filament_out.as_json()}


def _changes(predicted: Table) -> bool:
    sound = predicted[Single.SOUND]
    return sound is not None and {state.level for state in sound.both} == {Level.HIGH, Level.LOW}


def _shorted(predicted: Table, presence: Presence) -> bool:
    """Whether the supply is shorted in this state: then there is no level to speak of."""
    sound = predicted[Single.SOUND]
    if sound is None:
        return False
    return (sound.filament_in if presence is Presence.IN else sound.filament_out).supply_short


def _polarity(predicted: Table) -> Polarity:
    sound = predicted[Single.SOUND]
    direct = sound is not None and sound.filament_in.concluded is Presence.IN
    return Polarity.DIRECT if direct else Polarity.INVERTED


def _fail_safe(predicted: Table) -> bool | None:
    """False as soon as one broken wire hides a missing filament; unknown while one is undefined; only then true.

    With filament in, a broken wire may still read in: the changeover contact that needs that wire only for its other
    side goes on working, and reads out when the filament is gone.
    """
    read = {pair.filament_out.concluded for single, pair in predicted.items() if single.interrupted and pair}
    if Presence.IN in read:
        return False
    return None if None in read else True


def _cancelling(polarity: Polarity | None, fail_safe: bool | None) -> tuple[str, ...]:  # noqa: FBT001 - a finding, not a switch
    if polarity is not Polarity.DIRECT or fail_safe is not False:
        return ()
    return (
        "Two choices cancel here: the contact and the firmware's absent level are both the wrong way round, so the "
        "trial with filament in and out looks perfect. Only an unplug test shows that it is blind to a broken wire.",
    )


def _recommendation(
    installation: Installation, polarity: Polarity | None, *, fail_safe: bool | None, forbidden: bool
) -> str:
    if forbidden:
        return _instead(installation)
    if polarity is Polarity.INVERTED:
        return _invert(installation, fail_safe)
    if fail_safe:
        return "Keep this wiring: it reads right, and each broken wire and a pulled plug read out."
    return _with_board_pull(installation) or _instead(installation)


def _invert(installation: Installation, fail_safe: bool | None) -> str:  # noqa: FBT001 - a finding, not a switch
    if fail_safe:
        return (
            f"Change the contact ({_OTHER_WAY_ROUND[installation.works_by]}) and leave the firmware's absent level "
            "alone: unplugged reads out already, and inverting the logic would lose that."
        )
    if fail_safe is False:
        return "Invert the firmware's absent level: that puts the reading right and lets an unplugged input read out."
    advice = "Fit a pull at the board first: unplugged is undefined, and only with a pull can be said what to change."
    return f"{advice} {RECOMMENDED}"


def _with_board_pull(installation: Installation) -> str:
    """The advice to move the pull, where that alone makes the wiring fail safe; else nothing."""
    for pull in (installation.pull, Pull.UP, Pull.DOWN):
        moved = replace(installation, pull=pull, pull_by=PullBy.BOARD)
        if pull is not Pull.NONE and _right_and_safe(moved):
            return (
                f"Fit a pull-{pull.value} at the board, by the firmware's setting or with a resistor of 1000 to 10000 "
                "ohm from signal to its rail; the rest may stay. Then each broken wire and a pulled plug read out."
            )
    return ""


def _right_and_safe(installation: Installation) -> bool:
    predicted = table(installation)
    if hazards(installation, predicted) or not _changes(predicted):
        return False
    return _polarity(predicted) is Polarity.DIRECT and _fail_safe(predicted) is True


def _instead(installation: Installation) -> str:
    if installation.kind in {SensorKind.OPEN_COLLECTOR, SensorKind.HALL}:
        blind = "a lost magnet" if installation.works_by is WorksBy.MAGNET else "a dirty lens"
        return (
            f"Recommended: the output conducts while filament is in ({_OTHER_WAY_ROUND[installation.works_by]}), a "
            "pull-up at the board to its logic voltage, firmware that takes high for absent. Then a broken wire, a "
            f"lost supply and {blind} read out. Safer still: " + RECOMMENDED.removeprefix("Recommended: ")
        )
    if installation.kind is SensorKind.PUSH_PULL:
        resting = "high" if installation.pull is not Pull.DOWN else "low"
        return (
            f"Recommended: an output that is {resting} with filament out, a pull at the board the same way, firmware "
            f"that takes {resting} for absent, and a reading with the supply wire off and one with the ground wire "
            "off, each taken off with mains and USB both out. Safer: " + RECOMMENDED.removeprefix("Recommended: ")
        )
    return RECOMMENDED


def in_class(polarity: Polarity | None, *, fail_safe: bool | None) -> str:
    """Which way round a wiring is predicted to read, and whether it fails safe, in words."""
    safe = {True: "fails safe", False: "fails to danger", None: "fail-safe not known beforehand"}[fail_safe]
    return f"{'not usable' if polarity is None else polarity.value}, {safe}"
