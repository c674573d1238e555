"""Bytes leave one after the other, each only when its last bit is out. Time is an argument."""

BITS_PER_BYTE = 10
"""One start bit, eight data bits, one stop bit."""


class Pacer:
    """A queue that gives its bytes out at the speed of a line.

    The moment a byte is due follows from the byte before it, not from when anybody asked, so asking late or rarely
    does not slow the line down.
    """

    def __init__(self, speed_baud: float | None) -> None:
        """Make an empty queue.

        Args:
            speed_baud: bits per second, ten to the byte; None lets every byte out at once.

        Raises:
            ValueError: a speed that is not above zero.
        """
        if speed_baud is not None and not speed_baud > 0:
            raise ValueError(f"A line needs a speed above zero, not {speed_baud} baud.")
        self._byte_s = 0.0 if speed_baud is None else BITS_PER_BYTE / speed_baud
        self._queue = bytearray()
        self._started_s = 0.0

    def __len__(self) -> int:
        return len(self._queue)

    def put(self, data: bytes, now_s: float) -> None:
        """Append bytes; on an idle line the first of them starts now."""
        if not self._queue:
            self._started_s = max(self._started_s, now_s)
        self._queue += data

    def take(self, now_s: float) -> bytes:
        """The bytes whose last bit is out by now."""
        if self._byte_s == 0.0:
            count = len(self._queue)
        else:
            # a hair of tolerance, so that asking exactly when due gets the byte in spite of rounding
            count = min(len(self._queue), int((now_s - self._started_s) / self._byte_s + 1e-6))
        taken = bytes(self._queue[:count])
        del self._queue[:count]
        self._started_s += count * self._byte_s
        return taken

    def drained_in_s(self, now_s: float) -> float | None:
        """Seconds until the last byte is out, or None when the line is idle."""
        if not self._queue:
            return None
        return max(0.0, self._started_s + len(self._queue) * self._byte_s - now_s)

    def clear(self) -> None:
        """Forget what has not left yet."""
        self._queue.clear()
