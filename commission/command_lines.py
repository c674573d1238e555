"""The command lines that a sentence names, each written once; a test holds them against the commands there are.

A line is whole: what is left to fill in stands in capitals. TAG and PORT are the printer's own, and are put in by
whoever knows both, as the report does. "Run this again" in a cure is the command that was run: the last screen and
page 1 write it out.
"""

import re
import shlex

INSTALL = "commission install TAG --port PORT"
BORROW = "commission borrow TAG --port PORT"
BACKUP = "commission backup TAG --port PORT"
BACKUP_OF_A_FILE = "commission backup TAG --from FILE"
RESTORE = "commission restore TAG --port PORT"
CHECK = "commission check TAG --port PORT"
FULL_CHECK = "commission check TAG --port PORT --full"
CHECK_BY_ITSELF = "commission check TAG --port PORT --unattended"
SOAK = "commission soak TAG --port PORT --for 8h"
FUNCTION = "commission function TAG --port PORT"
MOTION = "commission motion TAG --port PORT"
NOTE = "commission note TAG TEXT"
NOTE_REWIRING = "commission note TAG TEXT --what rewiring"
RESERVE = "commission reserve --trip-to-gear MM"
WIRING = "commission wiring"
DECLARE_WIRING = "commission wiring --record TAG --by NAME"
READ = "commission read FILE"
PORTS = "commission ports"
HELP_PLAN = "commission help plan"
LIST = "commission book list"
VERIFY = "commission book verify"
EXPORT = "commission book export FILE"
IMPORT = "commission book import FILE"
SYNC = "commission book sync"
PREPARE_SHARED = "commission book prepare-shared"

_QUOTED = re.compile(r"`(commission [^`]*)`")


def line(command: str, tag: str, port: str, sensor: str = "") -> str:
    """One of the lines with the printer's own tag and port, as a shell takes them; what is not known stays.

    Args:
        command: one of those above.
        tag: the owner's name for the printer.
        port: where it is reached.
        sensor: the one of several that is meant; empty where there is no choice.
    """
    own = {"TAG": tag, "PORT": port}
    words = [shlex.quote(own[word]) if own.get(word) else word for word in command.split(" ")]
    return " ".join([*words, *(["--source", shlex.quote(sensor)] if sensor else [])])


def filled(text: str, tag: str, port: str) -> str:
    """A sentence with tag and port put into each command line that it names."""
    return _QUOTED.sub(lambda found: f"`{line(found[1], tag, port)}`", text)
