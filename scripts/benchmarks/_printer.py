"""The simulated printer for a benchmark: paced like a real wire, at the speed that is asked for."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from tests.support.fake_process import running_printer

if TYPE_CHECKING:
    from tests.support.fake_process import FakeProcess

SOUND = Path(__file__).resolve().parents[2] / "fake_printer" / "profiles" / "sound.toml"


@contextmanager
def printer_at(speed_baud: int) -> Iterator[FakeProcess]:
    """A sound unit on a pseudo-terminal of that speed, in a process of its own."""
    with tempfile.TemporaryDirectory() as folder:
        unit = Path(folder) / "sound.toml"
        unit.write_text(f"{SOUND.read_text(encoding='utf-8')}\n[wire]\nspeed_baud = {speed_baud}\n", encoding="utf-8")
        with running_printer(str(unit)) as printer:
            yield printer
