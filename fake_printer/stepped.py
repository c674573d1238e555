"""A printer whose time passes only as somebody at its bench says: for a host that lives in simulated time too.

Everything else is real: the process, the port and its bytes, the hands. Between two words of the bench no time passes
for the printer, however long they are apart; within one it passes at once, up to the next bytes for the host.

    pass SECONDS [SENT HEARD]

lets so much time pass, or less: none while fewer than SENT bytes have come from the host since it opened the port, and
none once more than HEARD bytes have been said to it. It is answered by one line of JSON: `passed_s`, `heard_bytes`,
`said_bytes` and `quiet_s`. So a host that has not got everything yet, or has not been heard out, is waited for.

For less than `quiet_s` more nothing happens at the printer unless somebody does something to it. A host may live that
time by itself, and let it pass here later: before it sends, and before anybody looks at the printer.
"""

import json
import math
from collections.abc import Callable

from fake_printer.station import Parts, Station
from fake_printer.wire.base import DEAF_HOST_S

_LONGEST_S = 86400.0
_ADVICE = f"error Say 'pass' with a number of seconds up to {_LONGEST_S:.0f}, and perhaps two numbers of bytes."


class SteppedClock:
    """Seconds that only somebody moves."""

    def __init__(self) -> None:
        self.now_s = 0.0

    def __call__(self) -> float:
        """The present moment."""
        return self.now_s


class SteppedStation(Station):
    """A printer on a clock of its own."""

    def __init__(self, name: str, parts: Parts, touched: Callable[[Station], None], clock: SteppedClock) -> None:
        """Set it up with a clock that nobody else moves."""
        super().__init__(name, parts, touched, clock)
        self._time = clock

    def step(self, now_s: float) -> float:
        """Take what has come and give what is out, at the moment that stands still; real time makes nothing due."""
        del now_s
        super().step(self._time.now_s)
        return DEAF_HOST_S if math.isfinite(self.line.look_again_s) else math.inf

    def answer(self, line: str) -> str:
        """As any printer; and let time pass when that is what the line says."""
        verb, *words = line.split() or [""]
        if verb != "pass":
            return super().answer(line)
        try:
            seconds, counts = float(words[0]), [int(word) for word in words[1:]]
        except (ValueError, IndexError):
            return _ADVICE
        if not 0 <= seconds <= _LONGEST_S or len(counts) not in (0, 2):
            return _ADVICE
        return json.dumps(self._pass(seconds, *counts))

    def _pass(self, seconds: float, sent: int = 0, heard: int | None = None) -> dict[str, object]:
        files = self.files()
        rest_s = Station.step(self, self._time.now_s)
        began_s = self._time.now_s
        limit = self.line.said_bytes if heard is None else heard
        quiet_s = 0.0 if self._waits_for_bytes(sent) else self._run(began_s + seconds, limit, rest_s)
        if self.files() != files or math.isfinite(self.line.look_again_s):
            self._touched(self)
        counts = {"heard_bytes": self.line.heard_bytes, "said_bytes": self.line.said_bytes}
        told = counts if self.line.attached else dict.fromkeys(counts, 0)
        return {"passed_s": self._time.now_s - began_s, "quiet_s": quiet_s, **told}

    def _waits_for_bytes(self, sent: int) -> bool:
        return self.line.attached and self.line.heard_bytes < sent

    def _run(self, until_s: float, limit: int, rest_s: float) -> float:
        """Let time pass until then, or until more has been said than this; seconds until something happens again."""
        while self._time.now_s < until_s and not (self.line.attached and self.line.said_bytes > limit):
            self._time.now_s = min(until_s, self._time.now_s + max(rest_s, 1e-6))
            rest_s = Station.step(self, self._time.now_s)
        return rest_s
