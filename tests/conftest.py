"""What holds for every test: files in memory, a folder of this session for heads of books, and examples drawn alike.

A change must not fail, or pass, by the luck of the draw. `--hypothesis-profile=fresh` draws other examples at each
run, and the campaign of made-up input does so by its seed.
"""

import gc
import os
import shutil
import tempfile

from hypothesis import settings

from commission.records.heads import VARIABLE
from tests.support.in_memory import move_into_memory

gc.disable()  # what is loaded and collected stays: looking through it again and again took a third of the collection
move_into_memory()
_FOLDER = tempfile.mkdtemp(prefix="commission-heads-")
os.environ[VARIABLE] = os.path.join(_FOLDER, "heads.jsonl")  # noqa: PTH118 - a text, as the environment has it


def pytest_unconfigure() -> None:
    """At the end, in each process that ran tests."""
    shutil.rmtree(_FOLDER, ignore_errors=True)


def pytest_collection_finish() -> None:
    """From here on only what the tests leave is looked through."""
    gc.freeze()
    gc.enable()


settings.register_profile("alike", derandomize=True)
settings.register_profile("fresh", derandomize=False)
settings.load_profile("alike")
