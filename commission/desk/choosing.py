"""Which desk a run gets."""

import sys
from collections.abc import Mapping
from pathlib import Path
from typing import TextIO

from commission.clock import SystemClock
from commission.desk.base import Desk, DeskError
from commission.desk.plain import NO_TERMINAL, PlainDesk
from commission.desk.script import OperatorScript
from commission.desk.scripted import ScriptedDesk


def make_desk(*, operator_file: Path | None, plain: bool, variables: Mapping[str, str], bell: bool) -> Desk:  # noqa: ARG001 - until there is a desk that draws
    """The desk for this process's own input and output.

    Args:
        operator_file: a script that answers instead of a person; None for a person.
        plain: no redrawing and no frames, even where the terminal could.
        variables: what fills the names in braces of a script.
        bell: whether the terminal bell may sound.

    Raises:
        DeskError: the script is not valid, or there is neither a script nor a terminal.
    """
    if operator_file is not None:
        return ScriptedDesk(OperatorScript.load(operator_file), sys.stdout, SystemClock(), variables)
    if not (_is_terminal(sys.stdin) and _is_terminal(sys.stdout)):
        raise DeskError(NO_TERMINAL)
    return PlainDesk(sys.stdin, sys.stdout, bell=bell)


def _is_terminal(stream: TextIO | None) -> bool:
    # A program without a console has no streams at all, and one whose input was closed cannot be asked.
    return stream is not None and not stream.closed and stream.isatty()
