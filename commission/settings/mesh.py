"""The points of a bed mesh: the grid they fill, and the number it is counted from."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace

from commission.settings.entry import Entry


def from_zero(entries: list[Entry]) -> list[Entry]:
    """Mesh points counted from 0, when they form a whole grid counted from 1; else as they are."""
    grid = Grid.of(entry for entry in entries if is_point(entry))
    if grid is None or grid.base not in (0, 1):
        return entries
    return [
        replace(
            entry,
            selectors={letter: int(number) - grid.base for letter, number in entry.selectors.items()},
            index_base=grid.base,
        )
        if is_point(entry)
        else entry
        for entry in entries
    ]


def is_point(entry: Entry) -> bool:
    """Whether the entry is one point of a mesh."""
    known = entry.command_meaning
    return known is not None and known.mesh and entry.letter is not None and len(entry.selectors) == 2


@dataclass(frozen=True)
class Grid:
    """The shape of a complete mesh.

    Attributes:
        size: how many points along each selector.
        base: the number of the first point, the same along both.
    """

    size: tuple[int, ...]
    base: int

    @classmethod
    def of(cls, points: Iterable[Entry]) -> "Grid | None":
        """The grid that these points fill without a gap; None when they fill none."""
        places = [tuple(number for _, number in sorted(point.selectors.items())) for point in points]
        if not places or not all(isinstance(number, int) for place in places for number in place):
            return None
        axes = [sorted({int(number) for number in axis}) for axis in zip(*places, strict=False)]
        whole = all(axis[-1] - axis[0] + 1 == len(axis) for axis in axes)
        count = 1
        for axis in axes:
            count *= len(axis)
        one_base = len({axis[0] for axis in axes}) == 1
        return cls(tuple(map(len, axes)), axes[0][0]) if whole and one_base and count == len(set(places)) else None


def meshes(entries: Iterable[Entry]) -> dict[str, list[Entry]]:
    """The points by their command."""
    points: dict[str, list[Entry]] = defaultdict(list)
    for entry in entries:
        if is_point(entry):
            points[entry.command].append(entry)
    return points


def same_grids(found: Iterable[Entry], now: Iterable[Entry]) -> set[str]:
    """The mesh commands whose points fill the same whole grid on both sides."""
    earlier, later = ({name: Grid.of(points) for name, points in meshes(side).items()} for side in (found, now))
    return {name for name, grid in earlier.items() if grid is not None and later.get(name) == grid}
