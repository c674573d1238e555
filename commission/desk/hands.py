"""Running the commands of a scripted operator: a simulated bench or a test rig is the hands."""

import asyncio
import shlex
from collections.abc import Sequence

from commission.desk.base import DeskError
from commission.desk.wording import clean

# Enough of a failed command's output to see why, without flooding the screen.
_OUTPUT_SHOWN = 2000


async def run_command(words: Sequence[str], timeout_s: float) -> None:
    """Run one command to its end.

    Args:
        words: the program and its arguments; no shell is involved.
        timeout_s: the longest it may take; it is killed then.

    Raises:
        DeskError: it cannot be started, fails, or takes too long; names the command and its output.
    """
    try:
        process = await asyncio.create_subprocess_exec(
            *words,
            stdin=asyncio.subprocess.DEVNULL,
            stdout=asyncio.subprocess.PIPE,
            stderr=asyncio.subprocess.STDOUT,
            start_new_session=True,  # Ctrl-C is for the run; an actuator is not to be left half-way by it
        )
    except (OSError, ValueError) as error:
        raise DeskError(f"The command {_named(words)} cannot be started: {error}") from error
    output = await _finish(process, words, timeout_s)
    if process.returncode != 0:
        raise DeskError(f"The command {_named(words)} ended with exit code {process.returncode}{_said(output)}")


async def _finish(process: asyncio.subprocess.Process, words: Sequence[str], timeout_s: float) -> bytes:
    try:
        async with asyncio.timeout(timeout_s):
            output, _ = await process.communicate()
    except TimeoutError:
        raise DeskError(f"The command {_named(words)} was stopped after {timeout_s:g} s; see timeout_s") from None
    finally:
        if process.returncode is None:
            process.kill()
            await process.wait()
    return output


def _named(words: Sequence[str]) -> str:
    return clean(shlex.join(words))


def _said(output: bytes) -> str:
    text = clean(" ".join(output.decode("utf-8", "backslashreplace").split()))
    return f" and said: {text[-_OUTPUT_SHOWN:]}" if text else " and said nothing"
