"""Carries out a command of the tool in simulated time, in step with whoever looks at its terminal.

    python scripts/walking/launcher.py HOST:PORT HOST:PORT install bench-3 ...

Nothing of the tool is replaced. It is `tests/support/stepped_time.py`, on the printer with the second of these control
sockets, with one thing added. Before time passes in which somebody would see or do something, the first one is told
the moment: where something was printed since, and where somebody was to act. All that was printed has reached the
terminal by then, and a mark that no terminal shows is printed behind it: whoever reads up to the mark has seen the
whole screen of that moment. The answer says when somebody acts next; and where it says that a key was pressed, the key
is waited for. So the same person sees the same screens on a slow machine as on a quick one.
"""

import gc
import json
import select
import socket
import sys
from contextlib import suppress
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from commission.cli import main
from commission.desk.outlet import Outlet
from tests.support.patience import PATIENCE_S
from tests.support.stepped_time import FakeTime, stepped_surroundings

MARK = "\x1b]5151;{}\x07"
"""A sequence of a kind that terminals take and do not show; the number counts them."""
BEGAN = datetime(2031, 3, 14, 9, 0, tzinfo=UTC)
"""The day of every walk."""
KEYS_PRESSED, NEXT_S = "keys_pressed", "next_s"
_SOON_S = 0.001
"""So much time passes while a line is typed."""
_NEARLY_S = 1e-9


class SeenTime(FakeTime):
    """Simulated time that passes only once the screen of this moment was looked at.

    Args:
        control: HOST:PORT of the printer's control socket.
        looks: HOST:PORT of who looks.
    """

    def __init__(self, control: str, looks: str) -> None:
        super().__init__(control, BEGAN)
        host, _, port = looks.rpartition(":")
        self._looks = socket.create_connection((host, int(port)), timeout=PATIENCE_S)
        self._told = self._looks.makefile("rw", encoding="utf-8", newline="\n")
        self._next_s = 0.0
        self._marks = self._seen_bytes = 0
        self._outlet: Outlet | None = None

    def pass_time(self, seconds: float) -> bool:
        """As it is, with less time passing if somebody acts before; where anybody sees anything, the screen is seen."""
        if self.now_s + _NEARLY_S >= self._next_s or self._outlet is None or self._outlet.tell() != self._seen_bytes:
            self.catch_up()
            if self._looked_at():
                select.select([sys.stdin], [], [], PATIENCE_S)
                super().pass_time(_SOON_S)
                return True
        return super().pass_time(min(seconds, self._next_s - self.now_s))

    def close(self) -> None:
        """Let go of who looks, too."""
        super().close()
        with suppress(OSError):
            self._told.close()
        self._looks.close()

    def _looked_at(self) -> bool:
        """Have the screen of this moment looked at; whether a key was pressed."""
        self._show_all()
        self._told.write(f"{self.now_s!r}\n")
        self._told.flush()
        answer = json.loads(self._told.readline())
        self._next_s = answer[NEXT_S]
        return bool(answer[KEYS_PRESSED])

    def _show_all(self) -> None:
        sys.stdout.flush()
        if self._outlet is None:
            gc.unfreeze()  # what a run begins with is kept from the collector, and from this list
            self._outlet = next((each for each in gc.get_objects() if isinstance(each, Outlet)), None)
            gc.freeze()
        if self._outlet is not None:
            self._outlet.drain(PATIENCE_S)
            self._seen_bytes = self._outlet.tell()
        self._marks += 1
        sys.stdout.write(MARK.format(self._marks))
        sys.stdout.flush()


if __name__ == "__main__":
    with stepped_surroundings(sys.argv[2], partial(SeenTime, looks=sys.argv[1])) as simulated:
        main(args=sys.argv[3:], prog_name="commission", obj=simulated)
