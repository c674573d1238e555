"""A drawing desk with the terminal it stands at and the keys in front of it."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from prompt_toolkit.input import PipeInput, create_pipe_input

from commission.desk.terminal import TerminalDesk
from tests.desk.fakes import FakeTerminal, until


class Place:
    """A desk with the terminal it stands at and the keys in front of it."""

    def __init__(self, desk: TerminalDesk, terminal: FakeTerminal, keys: PipeInput) -> None:
        self.desk = desk
        self.terminal = terminal
        self.keys = keys

    async def sees(self, text: str) -> None:
        """Return once the text is on the screen."""
        await until(lambda: text in self.terminal.screen)


@asynccontextmanager
async def place(*, bell: bool = True, columns: int = 80, rows: int = 24) -> AsyncIterator[Place]:
    """An open desk; closed afterwards."""
    with create_pipe_input() as keys:
        terminal = FakeTerminal(columns, rows)
        desk = TerminalDesk(bell=bell, typed=keys, drawn=terminal.output, out=terminal)
        await desk.open()
        try:
            yield Place(desk, terminal, keys)
        finally:
            await desk.close()
