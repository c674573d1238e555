"""Hears the keys that stop a run while nothing is asked and nothing is drawn."""

import asyncio
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager, suppress

from prompt_toolkit.input import Input
from prompt_toolkit.keys import Keys

STOP_KEY = "stopped by the stop key"
STOPPING: dict[str, str] = {
    Keys.ControlC: "stopped by Ctrl-C",
    Keys.ControlD: "stopped by Ctrl-D",
    Keys.ControlBackslash: "stopped by Ctrl-\\",
    "q": STOP_KEY,
    "Q": STOP_KEY,
}
"""Every key that stops a run, and how the record calls it."""


@contextmanager
def stop_keys(typed: Input, stop: Callable[[str], None]) -> Iterator[None]:
    """Within the block, tell of each key that stops a run; other keys are dropped. A terminal that is gone has none."""

    def pressed() -> None:
        for press in typed.read_keys():
            if press.key in STOPPING:
                stop(STOPPING[press.key])
        if typed.closed:
            asyncio.get_running_loop().remove_reader(typed.fileno())  # its end would be told again and again

    with ExitStack() as stack:
        with suppress(EOFError, OSError):
            stack.enter_context(typed.raw_mode())
            stack.enter_context(typed.attach(pressed))
        yield
