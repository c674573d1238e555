"""Which desk a run gets."""

import os
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import TextIO

from commission.clock import Clock, SystemClock
from commission.desk.base import Desk, DeskError
from commission.desk.json_lines import JsonLinesDesk
from commission.desk.plain import NO_TERMINAL, PlainDesk
from commission.desk.script import OperatorScript
from commission.desk.scripted import ScriptedDesk


def make_desk(
    out: TextIO,
    *,
    operator_file: Path | None,
    plain: bool,
    variables: Mapping[str, str],
    bell: bool,
    clock: Clock | None = None,
    as_json: bool = False,
) -> Desk:
    """The desk for this process's own input and output.

    Args:
        out: where it prints: the standard output, or what stands for it (`outlet`).
        operator_file: a script that answers instead of a person; None for a person.
        plain: no redrawing and no frames, even where the terminal could; a dumb terminal gets it anyway.
        variables: what fills the names in braces of a script.
        bell: whether the terminal bell may sound.
        clock: by which a script waits; the machine's own if left out.
        as_json: print one JSON object a line; needs a script.

    Raises:
        DeskError: the script is not valid, or there is neither a script nor a terminal.
    """
    if operator_file is not None and as_json:
        return JsonLinesDesk(OperatorScript.load(operator_file), out, clock or SystemClock(), variables)
    if operator_file is not None:
        return ScriptedDesk(OperatorScript.load(operator_file), out, clock or SystemClock(), variables)
    if not (_is_terminal(sys.stdin) and _is_terminal(out)):
        raise DeskError(NO_TERMINAL)
    if plain or is_dumb(os.environ, sys.platform):
        return PlainDesk(sys.stdin, out, bell=bell)
    # Loaded here only: the drawing libraries take a tenth of a second that a script or a plain terminal need not wait.
    from commission.desk.terminal import TerminalDesk

    return TerminalDesk(bell=bell, out=out)


def silent_desk(out: TextIO) -> Desk:
    """The desk for a run that asks nobody: it prints, needs no terminal, and has no answer to give."""
    return ScriptedDesk(OperatorScript("nobody is asked here", ()), out, SystemClock(), {})


def is_dumb(environment: Mapping[str, str], platform: str) -> bool:
    """Whether the terminal says that it can move no cursor. Windows names no terminal, and its consoles can."""
    return platform != "win32" and environment.get("TERM", "").lower() in ("", "dumb", "unknown")


def _is_terminal(stream: TextIO | None) -> bool:
    # A program without a console has no streams at all, and one whose input was closed cannot be asked.
    return stream is not None and not stream.closed and stream.isatty()
