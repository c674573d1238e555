"""A fake campaign that does not end by itself, with a process of its own that does not either."""

import subprocess
import sys

from scripts.campaigns._shape import Result


def run(*, quick: bool, seed: int) -> Result:
    """Wait for a minute that is not given to it."""
    sys.stderr.write("it begins to wait\n")
    subprocess.run([sys.executable, "-c", "import time; time.sleep(60)"], check=True)
    return Result("lingers", 1, 1, 0, seed)
