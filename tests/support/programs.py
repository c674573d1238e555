"""Programs a test needs that are not part of this project.

A machine without such a program skips the test and says which program is missing. Where the suite is meant to be
complete, as in continuous integration, set the environment variable REQUIRE_TOOLS=1: a missing program is then a
failure, so that a test cannot go unrun for years without anybody noticing.
"""

import os
import shutil
from typing import NoReturn

import pytest


def needs_program(name: str) -> str:
    """The path of a program; without it the test is skipped, or fails when REQUIRE_TOOLS=1 is set."""
    path = shutil.which(name)
    if path is None:
        unrunnable(f"the program {name} is not installed")
    return path


def unrunnable(missing: str) -> NoReturn:
    """Skip a test for want of something, or fail it when REQUIRE_TOOLS=1 is set."""
    if os.environ.get("REQUIRE_TOOLS") == "1":
        pytest.fail(f"{missing}, and REQUIRE_TOOLS=1 asks for it")
    pytest.skip(missing)
