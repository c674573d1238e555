"""Watch the main job on a simulated printer: makes the environment once, then runs `commission demo`.

Usage: python3 scripts/demo.py [options of `commission demo`]
"""

from __future__ import annotations

import subprocess
import sys

from _environment import ROOT, ready

if __name__ == "__main__":
    sys.exit(
        subprocess.run([str(ready()), "-m", "commission", "demo", *sys.argv[1:]], cwd=ROOT, check=False).returncode
    )
