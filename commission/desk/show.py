"""How requests look on a terminal that can draw.

Nothing here chooses a word; the words come from `wording`. Everything is printed as `Text` or drawn as a fragment, so
that square brackets and emoji codes in it stay what they are. A colour only ever repeats what a word says.

What stays on the screen is printed by rich; the line being typed and the panel of a trial are drawn by prompt_toolkit
and erased at their end.
"""

import asyncio
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import TextIO

from prompt_toolkit.application import Application, run_in_terminal
from prompt_toolkit.buffer import Buffer
from prompt_toolkit.filters import Condition
from prompt_toolkit.formatted_text import StyleAndTextTuples
from prompt_toolkit.input import Input
from prompt_toolkit.key_binding import KeyBindings, KeyPressEvent
from prompt_toolkit.keys import Keys
from prompt_toolkit.layout import ConditionalContainer, HSplit, Layout, Window
from prompt_toolkit.layout.controls import BufferControl, FormattedTextControl
from prompt_toolkit.layout.processors import BeforeInput
from prompt_toolkit.output import Output
from rich.console import Console, ConsoleOptions, Group, RenderableType, RenderResult
from rich.panel import Panel
from rich.table import Table
from rich.text import Text

from commission.asking.message import Tell, Weight
from commission.asking.request import Choose, Confirm, Enter, Hold
from commission.desk import wording
from commission.desk.forms import Filling
from commission.desk.keys import STOPPING

WIDEST = 100

_COLOURS = {Weight.DANGER: "red", Weight.CAUTION: "yellow"}


def console(out: TextIO) -> Console:
    """A console that takes nothing in a text for markup."""
    return Console(file=out, markup=False, emoji=False, highlight=False)


def put(screen: Console, shown: RenderableType, columns: int) -> None:
    """Print on a line of its own."""
    fit(screen, columns)
    screen.print(shown, overflow="fold")


def fit(screen: Console, columns: int) -> None:
    """Print not wider than the terminal from now on, nor than is pleasant to read."""
    screen.width = min(columns, WIDEST)


def lines(texts: Iterable[str], *, style: str = "") -> Text:
    """Plain lines, each already cleaned by `wording`."""
    return Text("\n").join(Text(text, style=style) for text in texts)


def tell(message: Tell) -> RenderableType:
    """A message; a caution or a danger stands in a frame with its word on it."""
    if message.weight in _COLOURS:
        return _warning(message)
    first, *rest = wording.tell(message)
    if not message.heading and not wording.mark(message.weight):
        return lines([first, *rest])
    where = ["", message.where] if message.where else []
    head = lines(where + ([first] if where else ["", first]))
    head.stylize("bold", len(head) - len(first))
    return head + Text("\n" if rest else "") + lines(rest)


def _warning(message: Tell) -> RenderableType:
    first, *rest = [wording.clean(text) for text in (message.heading, *message.lines) if text] or [""]
    return _framed(message.weight, rest, heading=first)


def _framed(weight: Weight, texts: Iterable[str], *, heading: str = "") -> RenderableType:
    colour = _COLOURS[weight]
    first = [Text(heading, style="bold")] if heading else []
    body = Group(*first, *(Text(text) for text in texts))
    return Panel(body, title=Text(wording.mark(weight), style=f"bold {colour}"), border_style=colour)


def confirm(request: Confirm) -> RenderableType:
    """A question, its last line bold; what a caution or a danger has to say stands in a frame above it."""
    *before, question = wording.confirm(request)
    if request.weight not in _COLOURS or not before:
        return _question([*before, question])
    return Group(Text(""), _framed(request.weight, before), Text(question, style="bold"))


def choose(request: Choose) -> RenderableType:
    """A question with its options below it."""
    asked = wording.choose(request)[: -len(request.options)]
    return Group(_question(asked), _hanging(wording.options(request), indent=2))


def enter(request: Enter) -> RenderableType:
    """A question with its unit and bounds."""
    return _question(wording.enter(request))


def form(filling: Filling) -> RenderableType:
    """A sheet: its title and what goes with it, its rows, and what is asked now."""
    head = [Text(""), Text(filling.title, style="bold"), *map(Text, filling.notes)]
    return Group(*head, _hanging(filling.rows, indent=2), Text(filling.asked, style="bold"))


_EDGE = 8
"""Columns that a title on the edge of a frame leaves to its corners."""


@dataclass(frozen=True)
class _HoldPoint:
    """A hold point's frame at any width: a title too long for the frame's edge stands whole inside it."""

    request: Hold

    def __rich_console__(self, _: Console, options: ConsoleOptions) -> RenderResult:
        cautions = [Text(text, style="bold") for text in wording.hold_cautions(self.request)]
        gap = [Text("")] if cautions else []
        after = [Text(""), *map(Text, wording.hold_after(self.request))]
        whole = Text(wording.hold_title(self.request), style="bold")
        fits = whole.cell_len <= options.max_width - _EDGE
        head = [] if fits else [Text(wording.clean(self.request.title), style="bold")]
        body = Group(*head, *cautions, *gap, _hanging(wording.hold_steps(self.request)), *after)
        edge = f"bold {_COLOURS[Weight.CAUTION]}" if cautions else "bold"
        yield Panel(body, title=whole if fits else Text(wording.HOLD_POINT, style="bold"), border_style=edge)


def hold(request: Hold) -> RenderableType:
    """A hold point in a frame: cautions first, then the steps, then what releases it."""
    return Group(_HoldPoint(request), Text(wording.clean(request.release), style="bold"))


def _hanging(entries: list[tuple[str, str]], *, indent: int = 0) -> RenderableType:
    """Numbered texts; where one is too long for a line, the rest hangs below its beginning."""
    table = Table.grid(padding=(0, 1, 0, 0))
    table.add_column(no_wrap=True)
    table.add_column(overflow="fold")
    for label, text in entries:
        table.add_row(Text(" " * indent + label), Text(text))
    return table


def _question(texts: list[str]) -> RenderableType:
    *before, question = texts
    return Group(Text(""), *(Text(text) for text in before), Text(question, style="bold"))


class _Live:
    """Text on the screen that changes by itself; what was drawn of it last is kept."""

    def __init__(self, text: Callable[[], StyleAndTextTuples]) -> None:
        self._text = text
        self._drawn: StyleAndTextTuples | None = None

    def draw(self) -> StyleAndTextTuples:
        """The text as it is now, for the screen."""
        self._drawn = self._text()
        return self._drawn

    @property
    def changed(self) -> bool:
        """Whether the screen has another text than there is now."""
        return self._text() != self._drawn


class Drawing(Application[str]):
    """Something that is erased from the screen at its end, and of which a part changes by itself."""

    def __init__(self, typed: Input, drawn: Output) -> None:
        super().__init__(erase_when_done=True, include_default_pygments_style=False, input=typed, output=drawn)
        self._live = _Live(list)

    def become(self, layout: Layout, keys: KeyBindings, live: _Live) -> "Drawing":
        """Be this from the next `run` on."""
        self.layout, self.key_bindings, self._live = layout, keys, live
        return self

    def refresh(self) -> None:
        """Have it drawn anew where it would look different: a drawing costs as much as a dozen readings do."""
        if self._live.changed:
            self.invalidate()


class Drawings:
    """All that is drawn at one terminal, one thing after the other.

    One drawing becomes each of them: to set up the usual keys and styles again takes as long as ten redrawings.
    """

    def __init__(self, typed: Input, drawn: Output) -> None:
        self._typed = typed
        self._drawn = drawn

    @cached_property
    def _one(self) -> Drawing:
        return Drawing(self._typed, self._drawn)

    def line(self, prefix: str, live: Callable[[], list[tuple[str, str]]], stop: Callable[[str], None]) -> Drawing:
        """One line of typing, and the live lines below it while there are any; `stop` is told which key asks for it."""
        line = Buffer(multiline=False, accept_handler=lambda buffer: _accept(self._one, buffer))
        typing = Window(
            BufferControl(line, input_processors=[BeforeInput(prefix)]), wrap_lines=True, dont_extend_height=True
        )
        told = _Live(lambda: stacked(live()))
        window = Window(FormattedTextControl(told.draw), dont_extend_height=True)
        below = ConditionalContainer(window, Condition(lambda: bool(live())))
        keys = KeyBindings()

        for key in (Keys.ControlC, Keys.ControlBackslash):
            keys.add(key)(lambda event: stop(STOPPING[event.key_sequence[0].key]))
        keys.add(Keys.ControlD, filter=Condition(lambda: not line.text))(lambda _event: stop(STOPPING[Keys.ControlD]))
        return self._one.become(Layout(HSplit([typing, below])), keys, told)

    def panel(self, text: Callable[[], StyleAndTextTuples], pressed: Callable[[str], None]) -> Drawing:
        """The panel, and the keys that work while it is shown."""
        keys = KeyBindings()
        for key in ("v", "n", "p", " ", "q", "c-c", "c-d", "c-\\"):
            keys.add(key)(_reports(key, pressed))
            if key.isalpha():
                keys.add(key.upper())(_reports(key, pressed))
        shown = _Live(text)
        control = FormattedTextControl(shown.draw, show_cursor=False)
        return self._one.become(Layout(Window(control, dont_extend_height=True)), keys, shown)


def stacked(texts: list[tuple[str, str]]) -> StyleAndTextTuples:
    """Styled lines one below the other."""
    return [(style, text + "\n" * (place < len(texts))) for place, (style, text) in enumerate(texts, 1)]


def _accept(app: Application[str], line: Buffer) -> bool:
    app.exit(result=line.text)
    return True  # keeps the text: what is erased is the whole line


def _reports(key: str, pressed: Callable[[str], None]) -> Callable[[KeyPressEvent], None]:
    def press(event: KeyPressEvent) -> None:
        pressed(key)
        event.app.invalidate()

    return press


async def run(app: Application[str]) -> str:
    """Show it until it ends; errors go to the loop's own handler, which waits for no key, and signals to the desk."""
    return await app.run_async(set_exception_handler=False, handle_sigint=False)


def above(put: Callable[[], None]) -> "asyncio.Future[None]":
    """Print above the line that is being typed, which is drawn again below."""
    return asyncio.ensure_future(run_in_terminal(put))
