"""Where the files of tests lie: in memory, where the system has a place for that with enough room.

A record book has every entry flushed to the disk, and waiting for that was most of the time of the suite. What a killed
process leaves behind is the same in both places; a loss of power is not tried by any test. That the book asks for the
flush is asserted, in `tests/records`.
"""

import os
import shutil
import tempfile
from pathlib import Path

MEMORY = Path("/dev/shm")  # noqa: S108 - a folder of the tests' own is made in it
ENOUGH_BYTES = 4 << 30
"""A whole run leaves nothing but what failed; this is for that, and for many tests at once."""
OWN_PLACE = "TMPDIR"
"""Whoever names a place for such files gets them there."""


def memory() -> Path | None:
    """The place in memory; None where there is none, or where somebody named another place."""
    return MEMORY if OWN_PLACE not in os.environ and _fits() else None


def move_into_memory() -> None:
    """Have every temporary file of this process and its children lie in memory from now on."""
    place = memory()
    if place is not None:
        os.environ[OWN_PLACE] = os.environ["PYTEST_DEBUG_TEMPROOT"] = str(place)
        tempfile.tempdir = None  # it may have been looked up before


def _fits() -> bool:
    if not (MEMORY.is_dir() and os.access(MEMORY, os.W_OK) and hasattr(os, "ST_NOEXEC")):
        return False
    runs_programs = not os.statvfs(MEMORY).f_flag & os.ST_NOEXEC
    return runs_programs and shutil.disk_usage(MEMORY).free >= ENOUGH_BYTES
