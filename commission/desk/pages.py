"""A question that is higher than the terminal: shown page by page, so that its cautions are read before its answer.

What is typed between two pages is no answer; Enter turns the page.
"""

from collections.abc import Awaitable, Callable, Sequence

from rich.console import Console, RenderableType
from rich.segment import SegmentLines

MORE = "Enter: more "
_BELOW = 3
"""Rows below a page: the line being typed, and what is told live."""
_LEAST_ROWS = 4


def pages(screen: Console, shown: RenderableType, rows: int) -> Sequence[RenderableType]:
    """What is shown, in parts that each fit on a screen of so many rows; unchanged where it fits whole."""
    high = max(_LEAST_ROWS, rows - _BELOW)
    drawn = screen.render_lines(shown, screen.options.update(overflow="fold"), pad=False)
    if len(drawn) <= high:
        return [shown]
    return [SegmentLines(drawn[at : at + high], new_lines=True) for at in range(0, len(drawn), high)]


async def in_pages(
    parts: Sequence[RenderableType],
    put: Callable[[RenderableType], Awaitable[None]],
    line: Callable[[str], Awaitable[str]],
) -> None:
    """Print the parts, with a line of typing between two of them."""
    for part in parts[:-1]:
        await put(part)
        await line(MORE)
    await put(parts[-1])
