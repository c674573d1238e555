"""The states every installation is looked at in: sound, and with each single thing wrong that can be wrong with it."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from commission.vocabulary import Presence
from commission.wiring.behaviour import State, state
from commission.wiring.installation import Installation, Terminal
from commission.wiring.situation import SOUND, Fault, Plug, Situation


class Single(Enum):
    """A column of the predicted table."""

    SOUND = "sound"
    UNPLUGGED = "unplugged"
    SIGNAL_BROKEN = "signal_broken"
    GROUND_BROKEN = "ground_broken"
    SUPPLY_BROKEN = "supply_broken"
    SIGNAL_TO_GROUND = "signal_to_ground"
    SIGNAL_TO_SUPPLY = "signal_to_supply"

    @property
    def words(self) -> str:
        """The column's name for a person."""
        return _WORDS[self]

    @property
    def interrupted(self) -> bool:
        """Whether it is a wire that is broken or unplugged: what fail-safe is about."""
        return self in _INTERRUPTIONS


_WORDS = {
    Single.SOUND: "sound",
    Single.UNPLUGGED: "unplugged at the board",
    Single.SIGNAL_BROKEN: "signal wire broken",
    Single.GROUND_BROKEN: "ground wire broken",
    Single.SUPPLY_BROKEN: "supply wire broken",
    Single.SIGNAL_TO_GROUND: "signal shorted to ground",
    Single.SIGNAL_TO_SUPPLY: "signal shorted to supply",
}
_INTERRUPTIONS = {Single.UNPLUGGED, Single.SIGNAL_BROKEN, Single.GROUND_BROKEN, Single.SUPPLY_BROKEN}
_BROKEN = {
    Single.SIGNAL_BROKEN: Terminal.SIGNAL,
    Single.GROUND_BROKEN: Terminal.GROUND,
    Single.SUPPLY_BROKEN: Terminal.SUPPLY,
}
_BRIDGED = {Single.SIGNAL_TO_GROUND: Terminal.GROUND, Single.SIGNAL_TO_SUPPLY: Terminal.SUPPLY}


@dataclass(frozen=True)
class Pair:
    """The state with filament in and with filament out."""

    filament_in: State
    filament_out: State

    def of(self, presence: Presence) -> State:
        """The state with this presence."""
        return self.filament_in if presence is Presence.IN else self.filament_out

    @property
    def both(self) -> tuple[State, State]:
        """In, then out."""
        return self.filament_in, self.filament_out


Table = Mapping[Single, Pair | None]


def table(installation: Installation) -> Table:
    """Every column of the predicted table; nothing in a column for a wire this installation does not have."""
    return {single: _pair(installation, single) for single in Single}


def _pair(installation: Installation, single: Single) -> Pair | None:
    if single in _BROKEN and _BROKEN[single] not in installation.conductors:
        return None
    plug = Plug.OFF_AT_BOARD if single is Single.UNPLUGGED else Plug.PLUGGED
    fault = SOUND
    if single in _BROKEN:
        fault = Fault(broken=frozenset({_BROKEN[single]}))
    elif single in _BRIDGED:
        fault = Fault(bridged=_BRIDGED[single])
    found = [state(installation, Situation(presence, plug), fault) for presence in (Presence.IN, Presence.OUT)]
    return Pair(found[0], found[1])
