r"""A link that replays a recorded conversation: for tests, and for going through an old record again.

A recording is a list of steps in the order in which they happened. What had been received after a command becomes
readable once that very command is sent; anything else is refused, so that a playback never invents an answer.

As text, one step a line, with backslash escapes for what is not printable ASCII:

    # a comment
    > IDENTITY?\n
    < ok\n
    ! lost
"""

import re
from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum

from commission.clock import Clock, SystemClock
from commission.link.base import LinkError, PortBusy
from commission.link.inbox import never_opened
from commission.link.troubles import loss_of


class Direction(Enum):
    """Which way a step went, as it stands at the head of its line."""

    SENT = ">"
    RECEIVED = "<"
    LOST = "!"


@dataclass(frozen=True)
class Step:
    """One step of a recording.

    Attributes:
        direction: which way the bytes went, or that the link was lost.
        data: the bytes; empty for a loss.
    """

    direction: Direction
    data: bytes = b""

    def __post_init__(self) -> None:
        if (self.direction is Direction.LOST) == bool(self.data):
            raise ValueError("a step holds bytes exactly when something was sent or received")


class PlaybackDiffers(LinkError):
    """Something else was sent than the recording holds."""


class RecordingUnreadable(ValueError):
    """A line of a recording in text form that is none; the text names the line."""


class Playback:
    """A Link that answers from a recording. After its last step the line is silent.

    A wait with nothing readable passes in full on the given clock: a recording has no other end that could speak in
    the meantime.
    """

    def __init__(self, steps: Iterable[Step], *, name: str = "playback", clock: Clock | None = None) -> None:
        self._steps = deque(steps)
        self._name = name
        self._clock = clock or SystemClock()
        self._readable: deque[bytes] = deque()
        self._total = len(self._steps)
        self._is_open = False
        self.speeds_baud: list[int] = []

    @property
    def name(self) -> str:
        """What was given as its name."""
        return self._name

    @property
    def finished(self) -> bool:
        """Whether every step of the recording has been replayed."""
        return not self._steps and not self._readable

    async def open(self, speed_baud: int) -> None:
        """Begin, or go on after a close; see Link."""
        if self._is_open:
            raise PortBusy(f"This link to {self._name} is already open.", "Close it before opening it again.")
        self._is_open = True
        self.speeds_baud.append(speed_baud)
        self._arrive()

    async def set_speed(self, speed_baud: int) -> None:
        """Note the speed; see Link."""
        self._check()
        self.speeds_baud.append(speed_baud)

    async def send(self, data: bytes) -> None:
        """Compare with what was sent then; see Link.

        Raises:
            PlaybackDiffers: the recording holds something else at this point.
        """
        self._check()
        while data:
            data = self._match(data)

    async def receive(self, timeout_s: float) -> bytes:
        """What came at this point of the recording, one recorded piece at a time; see Link."""
        if self._is_open and self._readable:
            return self._readable.popleft()
        self._check()
        await self._clock.sleep(max(0.0, timeout_s))
        return b""

    async def close(self) -> None:
        """Stop here; see Link."""
        self._is_open = False

    def _match(self, data: bytes) -> bytes:
        """Strike off what the recording and the data have in common; what is left of the data."""
        wanted = self._steps[0].data if self._steps and self._steps[0].direction is Direction.SENT else b""
        common = min(len(wanted), len(data))
        if not common or wanted[:common] != data[:common]:
            raise _differs(self._name, self._total - len(self._steps) + 1, wanted, data)
        self._steps.popleft()
        if wanted[common:]:
            self._steps.appendleft(Step(Direction.SENT, wanted[common:]))
        else:
            self._arrive()
        return data[common:]

    def _arrive(self) -> None:
        """Make readable what had come before the next command."""
        while self._steps and self._steps[0].direction is Direction.RECEIVED:
            self._readable.append(self._steps.popleft().data)

    def _check(self) -> None:
        if not self._is_open:
            raise never_opened(self._name)
        if self._steps and self._steps[0].direction is Direction.LOST:
            raise loss_of(self._name, None).error()


def _differs(name: str, step: int, wanted: bytes, sent: bytes) -> PlaybackDiffers:
    there = f"the recording holds {_escaped(wanted)}" if wanted else "nothing was sent then"
    return PlaybackDiffers(
        f"At step {step} of {name}, {_escaped(sent)} was sent where {there}.",
        "Replay the same commands in the same order.",
    )


def steps_from_text(text: str) -> tuple[Step, ...]:
    """A recording from its text form.

    Raises:
        RecordingUnreadable: a line has none of the forms; the text names its number.
    """
    lines = enumerate(text.splitlines(), start=1)
    return tuple(_step(number, line) for number, line in lines if line.strip() and not line.startswith("#"))


def text_of_steps(steps: Iterable[Step]) -> str:
    """The text form of a recording, which reads back as the same steps."""
    return "".join(f"{step.direction.value} {_escaped(step.data) or 'lost'}\n" for step in steps)


def _step(number: int, line: str) -> Step:
    try:
        direction = Direction(line[:1])
        if direction is Direction.LOST:
            return Step(direction)
        return Step(direction, _unescaped(line[2:] if line[1:2] == " " else line[1:]))
    except ValueError as error:
        raise RecordingUnreadable(
            f"Line {number} of the recording cannot be read: it needs `>` (sent), `<` (received) or `!` (lost), "
            f"then printable ASCII with \\n, \\r, \\t, \\\\ and \\xNN for the rest."
        ) from error


_SHORT = {"\n": "\\n", "\r": "\\r", "\t": "\\t", "\\": "\\\\"}
_LONG = {short: sign for sign, short in _SHORT.items()}
_ESCAPE = re.compile(r"\\x[0-9a-fA-F]{2}|\\.|.", re.DOTALL)


def _escaped(data: bytes) -> str:
    signs = (chr(value) for value in data)
    return "".join(_SHORT.get(s) or (s if " " <= s <= "~" else f"\\x{ord(s):02x}") for s in signs)


def _unescaped(text: str) -> bytes:
    return b"".join(_one(piece) for piece in _ESCAPE.findall(text))


def _one(piece: str) -> bytes:
    if piece in _LONG:
        return _LONG[piece].encode("ascii")
    if piece.startswith("\\x") and len(piece) == 4:
        return bytes([int(piece[2:], 16)])
    if len(piece) == 1 and " " <= piece <= "~" and piece != "\\":
        return piece.encode("ascii")
    raise ValueError(f"not an escape: {piece!r}")
