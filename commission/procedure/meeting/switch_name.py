"""Which switch is the filament sensor's: its name is settled over several replies, and held against the record.

A reply can be damaged or cut short on its way. A name that only one of them has would be asked for ever after, and
never answered.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from commission.asking.steps import Steps, ask, establish, recall
from commission.dialect.commands import SWITCHES
from commission.dialect.switches import SwitchState, switches_of
from commission.evidence.findings.loop import SwitchNamed

REPLIES = 5
"""So many replies are asked for; a name stands when more than half of them have it."""


@dataclass(frozen=True)
class Reported:
    """What several replies report, taken together.

    Attributes:
        states: the switches that most replies report, each as it read last, in the order of the replies.
        unsettled: the same for those that too few replies report.
        counts: in how many replies each name stands, settled or not.
        replies: how many there were.
    """

    states: tuple[SwitchState, ...]
    unsettled: tuple[SwitchState, ...]
    counts: Mapping[str, int]
    replies: int

    @property
    def names(self) -> tuple[str, ...]:
        """Of the settled switches."""
        return tuple(state.name for state in self.states)

    @property
    def filament(self) -> tuple[str, ...]:
        """Of the settled switches that are filament sensors."""
        return tuple(state.name for state in self.states if state.is_filament)

    @property
    def strays(self) -> tuple[str, ...]:
        """Names that too few replies have."""
        return tuple(state.name for state in self.unsettled)

    def share(self, name: str) -> str:
        """In how many replies a name stands, in words."""
        return f"{self.counts.get(name, 0)} of {self.replies} replies"


def ask_switches() -> Steps[Reported]:
    """Ask for the switches as often as it takes to settle their names."""
    replies = []
    for _ in range(REPLIES):
        replies.append(switches_of((yield from ask(SWITCHES)).lines))
    return settled(replies)


def settled(replies: Sequence[Sequence[SwitchState]]) -> Reported:
    """The switches that more than half of the replies report."""
    counts = Counter(name for reply in replies for name in dict.fromkeys(state.name for state in reply))
    newest: dict[str, SwitchState] = {}
    for reply in replies:
        newest |= {state.name: state for state in reversed(reply)}  # of two alike the first is read
    stands = {name: 2 * count > len(replies) for name, count in counts.items()}
    states = tuple(newest[name] for name in counts if stands[name])
    unsettled = tuple(newest[name] for name in counts if not stands[name])
    return Reported(states, unsettled, counts, len(replies))


def keep_name(reported: Reported, name: str | None, on_record: str) -> Steps[None]:
    """Record the name that is read from now on; one that differs from the record is said to the person."""
    said = [f"The filament switch is called {name}: {reported.share(name)} name it so."] if name else []
    said += [
        f"The name {stray} stands in {reported.share(stray)} only: it is not read by that name."
        for stray in reported.strays
    ]
    if name and on_record and name != on_record:
        said.append(differs(name, on_record))
    if said:
        yield from establish(
            SwitchNamed(
                sentences=tuple(said),
                switch=name,
                on_record=on_record,
                replies=dict(reported.counts),
                clear=bool(name) and len(said) == 1,
            )
        )


def keep_source(name: str, on_record: str) -> Steps[None]:
    """Record which source is read from now on, where it is no line of the switch report; as `keep_name`."""
    said = [f"The filament sensor is called {name}."]
    if on_record and name != on_record:
        said.append(differs(name, on_record))
    yield from establish(
        SwitchNamed(sentences=tuple(said), switch=name, on_record=on_record, replies={}, clear=len(said) == 1)
    )


def differs(name: str, on_record: str) -> str:
    """That the switch goes by another name than before."""
    return (
        f"On record the filament switch is called {on_record}; the printer calls it {name} now. Is it the same input?"
    )


def name_on_record() -> Steps[str]:
    """The name this run, or the newest one before it, has read; empty where none is on record."""
    for earlier in (False, True):
        found = yield from recall(SwitchNamed, earlier=earlier)
        if found is not None and found.switch:
            return found.switch
    return ""
