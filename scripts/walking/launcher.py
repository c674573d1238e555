"""Carries out a command of the tool in simulated time, in step with whoever looks at its terminal.

    python scripts/walking/launcher.py HOST:PORT install bench-3 ...

Nothing of the tool is replaced. It is `tests/support/stepped_time.py` with two things added. Before any time passes,
all that was printed has reached the terminal, and a mark that no terminal shows is printed behind it: whoever reads up
to the mark has seen the whole screen of that moment. And where the answer says that a key was pressed, the key is
waited for. So the same person sees the same screens on a slow machine as on a quick one.
"""

import gc
import select
import sys
from collections.abc import Mapping
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from commission.cli import main
from commission.desk.outlet import Outlet
from tests.support.patience import PATIENCE_S
from tests.support.stepped_time import FakeTime, stepped_surroundings

MARK = "\x1b]5151;{}\x07"
"""A sequence of a kind that terminals take and do not show; the number counts them."""
PAST = "past"
"""Has time pass at the printer alone: it has for the tool, and nothing was printed in it."""
BEGAN = datetime(2031, 3, 14, 9, 0, tzinfo=UTC)
"""The day of every walk."""
KEYS_PRESSED = "keys_pressed"


class SeenTime(FakeTime):
    """Simulated time that passes only once the screen of this moment was looked at."""

    _verb_of_the_past = PAST
    _marks = 0
    _seen_bytes = 0
    _outlet: Outlet | None = None

    @property
    def _may_run_ahead(self) -> bool:  # type: ignore[override]  # here it changes
        """Whether nothing was printed that nobody has looked at."""
        return self._outlet is not None and self._outlet.tell() == self._seen_bytes

    def _ask(self, line: str) -> Mapping[str, Any]:
        self._show_all()
        answer = super()._ask(line)
        if answer.get(KEYS_PRESSED):
            select.select([sys.stdin], [], [], PATIENCE_S)
        return answer

    def _show_all(self) -> None:
        sys.stdout.flush()
        if self._outlet is None:
            gc.unfreeze()  # what a run begins with is kept from the collector, and from this list
            self._outlet = next((each for each in gc.get_objects() if isinstance(each, Outlet)), None)
        if self._outlet is not None:
            self._outlet.drain(PATIENCE_S)
            self._seen_bytes = self._outlet.tell()
        self._marks += 1
        sys.stdout.write(MARK.format(self._marks))
        sys.stdout.flush()


if __name__ == "__main__":
    with stepped_surroundings(sys.argv[1], partial(SeenTime, began=BEGAN)) as simulated:
        main(args=sys.argv[2:], prog_name="commission", obj=simulated)
