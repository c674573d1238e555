"""What holds for every test: where books ended is kept in a folder of this session, and not in the user's own."""

import atexit
import os
import shutil
import tempfile

from commission.records.heads import VARIABLE

_FOLDER = tempfile.mkdtemp(prefix="commission-heads-")
atexit.register(shutil.rmtree, _FOLDER, ignore_errors=True)
os.environ[VARIABLE] = os.path.join(_FOLDER, "heads.jsonl")  # noqa: PTH118 - a text, as the environment has it
