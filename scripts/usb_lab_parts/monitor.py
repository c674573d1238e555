"""The emulator's monitor: one command at a time, each with its answer, and the events in between."""

from __future__ import annotations

import json
import socket
import time
from pathlib import Path
from typing import Any

LOOK_S = 0.2
ANSWER_S = 30.0


class Refused(Exception):
    """The emulator did not do it; the text is its own."""


class Monitor:
    """A connection to the monitor of one emulated PC."""

    def __init__(self, path: Path) -> None:
        self._socket = socket.socket(socket.AF_UNIX)
        self._socket.settimeout(LOOK_S)
        self._socket.connect(str(path))
        self._unread = b""
        self._events: list[dict[str, Any]] = []
        self.do("qmp_capabilities")

    def close(self) -> None:
        """Let go of the connection."""
        self._socket.close()

    def do(self, command: str, **arguments: object) -> Any:
        """Carry out a command and return its answer.

        Raises:
            Refused: it cannot be carried out, or nothing answers in ANSWER_S.
        """
        self._socket.sendall(json.dumps({"execute": command, "arguments": arguments}).encode() + b"\n")
        end_s = time.monotonic() + ANSWER_S
        while (told := self._next(end_s)) is not None:
            if "return" in told:
                return told["return"]
            if "error" in told:
                raise Refused(f"{command}: {told['error']['desc']}")
        raise Refused(f"{command}: no answer within {ANSWER_S:g} s")

    def wait_for(self, event: str, device: str, within_s: float = ANSWER_S) -> None:
        """Wait for an event of a device; one that has come since the last command counts.

        Raises:
            Refused: it does not come.
        """
        end_s = time.monotonic() + within_s
        while True:
            for seen in self._events:
                if seen["event"] == event and seen.get("data", {}).get("device") == device:
                    self._events.remove(seen)
                    return
            if self._next(end_s) is None:
                raise Refused(f"{event} of {device}: not within {within_s:g} s")

    def _next(self, end_s: float) -> dict[str, Any] | None:
        """The next thing that is said; an event is kept as well. None when the time is over."""
        while b"\n" not in self._unread:
            if time.monotonic() > end_s:
                return None
            try:
                piece = self._socket.recv(65536)
            except TimeoutError:
                continue
            if not piece:
                raise Refused("the emulator has ended")
            self._unread += piece
        line, _, self._unread = self._unread.partition(b"\n")
        told: dict[str, Any] = json.loads(line)
        if "event" in told:
            self._events.append(told)
        return told
