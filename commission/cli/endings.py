"""How a command ends that could not do its work: one sentence, and the code of the table.

What the rooms below raise is turned into codes here and nowhere else.
"""

import os
import sys
import traceback
from contextlib import suppress

import click

from commission.cli.exit_codes import INTERNAL, NO_BOOK, NOT_FINISHED, PORT_BUSY, STOPPED, UNDER_WAY, WRONG_USAGE
from commission.cli.telling import complain, remark
from commission.desk.base import DeskError
from commission.files.output import OutputError, OutputRefused
from commission.link.base import LinkError, PortBusy
from commission.records.run_lock import RunUnderWay
from commission.records.shared.line import NotInstalled, SharedAway
from commission.records.tables import BookError

CODES: tuple[tuple[type[BaseException], int], ...] = (
    (KeyboardInterrupt, STOPPED),
    (click.Abort, STOPPED),
    (BookError, NO_BOOK),
    (SharedAway, NOT_FINISHED),
    (NotInstalled, WRONG_USAGE),
    (RunUnderWay, UNDER_WAY),
    (OutputRefused, WRONG_USAGE),
    (OutputError, NOT_FINISHED),
    (DeskError, WRONG_USAGE),
    (PortBusy, PORT_BUSY),
    (LinkError, NOT_FINISHED),
    (OSError, NOT_FINISHED),
)
"""The first that fits decides; what fits none is an error of this program."""

FORESEEN = tuple(kind for kind, _ in CODES)
NEVER_MEANT = (
    "This should not have happened: it is an error of this program. What was recorded before is kept. Send the lines "
    "above to whoever looks after the program, with what you did."
)


def code_of(trouble: BaseException) -> int:
    """The code for what went wrong."""
    return next((code for kind, code in CODES if isinstance(trouble, kind)), INTERNAL)


def end_with(trouble: BaseException) -> int:
    """Say what went wrong, and return the code.

    Of an error that was not foreseen the trace comes first, on the error stream too, for those who mend the program.
    """
    code = code_of(trouble)
    _let_go_of_output()
    if isinstance(trouble, BrokenPipeError):
        return code  # whoever read the output has had enough of it: there is nobody to tell
    if code == STOPPED:
        complain("Stopped.")
    else:
        complain(sentence_of(trouble))
    return code


def sentence_of(trouble: BaseException) -> str:
    """What went wrong, in one sentence; of an error that was not foreseen the trace is said on the error stream."""
    if code_of(trouble) != INTERNAL:
        return _sentence(trouble)
    remark("".join(traceback.format_exception(trouble)).rstrip())
    return NEVER_MEANT


def _sentence(trouble: BaseException) -> str:
    said = str(trouble)
    if isinstance(trouble, OSError):
        where = f"{trouble.filename}: " if trouble.filename else ""
        said = f"{where}{trouble.strerror or trouble}."
    return said


def _let_go_of_output() -> None:
    """Where the output takes no more, what is left of it must not end the program once more on its way out."""
    try:
        sys.stdout.flush()
    except OSError:
        with suppress(OSError, ValueError):
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, sys.stdout.fileno())
            os.close(nowhere)
