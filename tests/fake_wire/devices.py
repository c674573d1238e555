"""Fakes on both sides of the line: a device that echoes lines, and a wire whose host is the test."""

import math
from dataclasses import dataclass


@dataclass
class FakeTraits:
    """The part of a profile that a wire reads."""

    speed_baud: int = 115200
    loss_per_byte: float = 0.0
    damage_per_byte: float = 0.0


class FakePrinterDevice:
    """Answers every line `X` with `echo X`, half a millisecond of its own time after the line was whole.

    Steer it by `usb_attached` and `say`; look at `heard`, `openings` and `lived_s`.
    """

    answer_after_s = 0.0005

    def __init__(self) -> None:
        self.usb_attached = True
        self.openings = 0
        self.lived_s = 0.0
        self.heard = b""
        self._line = b""
        self._output = b""
        self._answers: list[tuple[float, bytes]] = []

    def host_attached(self) -> None:
        """Count the opening and greet."""
        self.openings += 1
        self.say(b"hello %d\n" % self.openings)

    def say(self, data: bytes) -> None:
        """Say something unasked."""
        self._output += data

    def receive(self, data: bytes) -> None:
        """Hear bytes and think of an answer to every whole line."""
        self.heard += data
        *lines, self._line = (self._line + data).split(b"\n")
        self._answers += [(self.lived_s + self.answer_after_s, b"echo " + line + b"\n") for line in lines]

    def advance(self, elapsed_s: float) -> None:
        """Live on, and say what is due."""
        self.lived_s += elapsed_s
        while self._answers and self._answers[0][0] <= self.lived_s:
            self._output += self._answers.pop(0)[1]

    def until_next_s(self) -> float:
        """Seconds until the next answer; nothing else comes by itself."""
        return self._answers[0][0] - self.lived_s if self._answers else math.inf

    def take_output(self) -> bytes:
        """What was said since last asked."""
        said, self._output = self._output, b""
        return said


class FakeFile:
    """Something to sleep on, to be recognised by."""

    def fileno(self) -> int:
        """A number."""
        return 7


class FakeWire:
    """A wire whose host is the test: fill `sent`, look at `got`, open it with `open`."""

    link = "fake"
    look_again_s = math.inf

    def __init__(self, host_speed_baud: int | None = None) -> None:
        self.host_speed_baud = host_speed_baud
        self.plugged = False
        self.attached = False
        self.sent = b""
        self.got = b""
        self.file = FakeFile()
        self._openings = 0

    def open(self) -> None:
        """Let a host open the port."""
        self.attached = True
        self._openings += 1

    def plug(self) -> None:
        """Be there."""
        self.plugged = True

    def unplug(self) -> None:
        """Be gone."""
        self.plugged = self.attached = False

    close = unplug

    def take_openings(self) -> int:
        """Openings since last asked."""
        count, self._openings = self._openings, 0
        return count

    def read(self, limit_bytes: int) -> bytes:
        """What the test has put into `sent`."""
        data, self.sent = self.sent[:limit_bytes], self.sent[limit_bytes:]
        return data

    def write(self, data: bytes) -> None:
        """Keep it for the test, if a host is there."""
        if self.attached:
            self.got += data

    def files(self) -> list[FakeFile]:
        """A file to be recognised by."""
        return [self.file]
