"""Scripted desks, and the scripts they answer from."""

import asyncio
import io
from collections.abc import AsyncIterator, Mapping
from contextlib import asynccontextmanager

from commission.desk.script import OperatorScript
from commission.desk.scripted import ScriptedDesk
from tests.desk.fakes import FakeClock


def desk(*answers: str, clock: FakeClock | None = None, variables: Mapping[str, str] | None = None) -> ScriptedDesk:
    """A desk with a script of these entries; its output is read back by `printed`."""
    text = "format = 1\n" + "\n".join(f"[[answer]]\n{answer}" for answer in answers)
    script = OperatorScript.parse(text, "bench-3.toml")
    return ScriptedDesk(script, io.StringIO(), clock or FakeClock(), variables or {})


def printed(used: ScriptedDesk) -> str:
    """All the desk has printed."""
    out = used._narrator._out
    assert isinstance(out, io.StringIO)
    return out.getvalue()


@asynccontextmanager
async def opened(used: ScriptedDesk) -> AsyncIterator[ScriptedDesk]:
    """The desk between open and close."""
    await used.open()
    try:
        yield used
    finally:
        await used.close()


def entry(request: str, answer: str, *more: str) -> str:
    """One entry of a script."""
    return "\n".join([f'request = "{request}"', f'answer = "{answer}"', *more])


def run(*words: str) -> str:
    """The `run` key of an entry that starts this interpreter."""
    return "run = " + repr(["{python}", "-c", *words])


async def hands_finished(used: ScriptedDesk) -> None:
    """Return once the commands of the open trial have ended."""
    assert used._hands is not None
    await asyncio.wait({used._hands})
