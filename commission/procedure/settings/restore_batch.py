"""What of a restore plan is released together: each safe line by itself, each asked line by itself, a mesh as one.

A mesh has up to some hundreds of points with one and the same trap; asked one by one, nobody would read the last ones.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from commission.settings.plan_items import Decision, PlanItem, RestorePlan
from commission.settings.restore_line import RestoreLine

SAFE_KEY = "restore.safe"
MOST_NAMED = 4
"""More lines of one command with one reason are counted on the screen, not named."""


@dataclass(frozen=True)
class Batch:
    """Lines that are released, sent and read back together.

    Attributes:
        key: the release under which they go out.
        items: the items of the plan, each with its line.
        number: the place in the plan as it is shown, from 1.
    """

    key: str
    items: tuple[PlanItem, ...]
    number: int

    def __post_init__(self) -> None:
        """Refuse a batch that has nothing to send.

        Raises:
            ValueError: an item has no line.
        """
        if not self.items or any(item.line is None for item in self.items):
            raise ValueError("A batch is made of lines that may be sent")

    @property
    def asked(self) -> bool:
        """Whether it wants a look before it is sent."""
        return self.items[0].decision is Decision.ASK

    @property
    def mesh(self) -> bool:
        """Whether it is points of a mesh."""
        return self.lines[0].meaning.mesh

    @property
    def uses_mesh(self) -> bool:
        """Whether it puts a mesh to use that stands before it in the plan."""
        return self.lines[0].meaning.last

    @property
    def lines(self) -> tuple[RestoreLine, ...]:
        """The lines to send, in order."""
        return tuple(item.line for item in self.items if item.line is not None)

    @property
    def title(self) -> str:
        """The line, or how many there are of which command."""
        first = self.lines[0]
        if len(self.items) == 1:
            return first.text
        return f"{' '.join([first.meaning.command, *first.flags])}, {len(self.items)} points of the mesh"

    @property
    def changes(self) -> str:
        """What it changes, old and new, for one line; empty for a mesh."""
        if len(self.items) > 1:
            return ""
        return ", ".join(
            f"{change.letter} from {change.current} to {change.as_found}"
            for change in self.items[0].changes
            if change.letter is not None and change.current != change.as_found
        )


def batches(plan: RestorePlan) -> tuple[Batch, ...]:
    """Everything of the plan that may be sent, in the order of sending."""
    sendable = [item for item in plan.items if item.line is not None]
    grouped = (list(group) for _, group in groupby(sendable, key=_together))
    return tuple(_numbered(grouped))


def _together(item: PlanItem) -> object:
    mesh = item.line is not None and item.line.meaning.mesh and len(item.selectors) == 2
    return (item.command, item.decision, item.reason) if mesh else id(item)


def _numbered(groups: Iterable[Sequence[PlanItem]]) -> Iterator[Batch]:
    for number, items in enumerate(groups, 1):
        asked = items[0].decision is Decision.ASK
        which = "".join(f".{letter}{value}" for letter, value in items[0].selectors.items()) if len(items) == 1 else ""
        yield Batch(f"restore.line.{items[0].command}{which}" if asked else SAFE_KEY, tuple(items), number)


def plan_lines(plan: RestorePlan) -> tuple[str, ...]:
    """The whole plan for the screen: what is sent, what is asked, what is not put back and why, what needs nothing."""
    everything = batches(plan)
    said = _section("Ticked, sent after one release:", [batch for batch in everything if not batch.asked])
    said += _section("Asked one by one:", [batch for batch in everything if batch.asked])
    refused = _together_named(plan.of(Decision.REFUSE))
    said += ["Not put back:", *(f"  {name}: {reason}" for name, reason in refused)] if refused else []
    done = _together_named(plan.of(Decision.ALREADY))
    said += [f"As it was found already: {', '.join(name for name, _ in done)}."] if done else []
    return tuple(said or ("The record and the printer share no setting.",))


def _section(title: str, chosen: Sequence[Batch]) -> list[str]:
    """The batches under their title; the numbers are the order of sending."""
    lines = [title] if chosen else []
    for batch in chosen:
        mark = "[ ]" if batch.asked else "[x]"
        lines.append(f"  {mark} {batch.number}. {batch.title}")
        about = (batch.items[0].purpose, batch.changes)
        lines += [f"         {said}" for said in about if said]
    return lines


def _together_named(items: Sequence[PlanItem]) -> list[tuple[str, str]]:
    """Name and reason of each item; many of one command with one reason, as a mesh has, are counted instead."""
    grouped: dict[tuple[str, str], list[PlanItem]] = {}
    for item in items:
        grouped.setdefault((item.command, item.reason), []).append(item)
    named = []
    for (command, reason), group in grouped.items():
        many = f"{command}, {len(group)} lines"
        named.append((many if len(group) > MOST_NAMED else ", ".join(dict.fromkeys(map(_named, group))), reason))
    return named


def _named(item: PlanItem) -> str:
    which = [f"{letter}{value}" for letter, value in item.selectors.items()]
    letters = [change.letter for change in item.changes if change.letter]
    return " ".join([item.command, *which, "".join(letters)]).rstrip()
