"""A port that is a device file of this machine: a pseudo-terminal under a name of our choosing.

The far end is closed as soon as it has been made raw: reading the near end then fails exactly while no host has the
port open, which is how an opening is noticed. The host's speed is read from the near end, which answers
for the pair.
"""

import errno
import fcntl
import math
import os
import struct
import termios
import tty
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

from fake_printer.wire.base import DEAF_HOST_S, QUEUE_LIMIT_BYTES, ReadyFile, WireError
from fake_printer.wire.openings import OpeningCounter

_TCGETS2 = 0x802C542A
"""Linux's request for terminal settings with the speeds as plain numbers (asm-generic/ioctls.h)."""
_TERMIOS2 = struct.Struct("4IB19B2I")
_READ_BYTES = 4096
_UNTOLD_S = 0.010
"""How often an opening is looked for where no system tells of it."""


class _NearEnd:
    """The near end of one pair; the next pair has another one, even where the system gives it the same number."""

    def __init__(self, descriptor: int) -> None:
        self.descriptor = descriptor

    def fileno(self) -> int:
        return self.descriptor

    def close(self) -> None:
        descriptor, self.descriptor = self.descriptor, -1
        os.close(descriptor)


class PseudoTerminal:
    """A pseudo-terminal behind a symbolic link, made anew at every plugging in."""

    def __init__(self, path: Path) -> None:
        """Choose the name; nothing is made before `plug`.

        Args:
            path: where the host finds the port. A symbolic link that is left over there is replaced.
        """
        self._path = path.absolute()
        self._near: _NearEnd | None = None
        self._far_name = ""
        self._attached = False
        self._unsure = False
        self._counter: OpeningCounter | None = None
        self._early = bytearray()
        self._unsent = bytearray()

    @property
    def link(self) -> str:
        """The path the host opens."""
        return str(self._path)

    @property
    def plugged(self) -> bool:
        """Whether the port exists at present."""
        return self._near is not None

    @property
    def attached(self) -> bool:
        """Whether a host has the port open."""
        return self._attached

    @property
    def host_speed_baud(self) -> int | None:
        """The speed set on the port, in bits per second."""
        if self._near is None:
            return None
        try:
            answer = fcntl.ioctl(self._near, _TCGETS2, bytes(_TERMIOS2.size))
        except OSError:
            return _standard_speed_baud(self._near.fileno())
        return int(_TERMIOS2.unpack(answer)[-1])

    def plug(self) -> None:
        """Make a new pair and point the name at it.

        Raises:
            WireError: the name cannot be used.
        """
        if self._path.exists() and not self._path.is_symlink():
            raise WireError(f"{self._path} exists and is not a symbolic link. Choose another name for the port.")
        near = self._make_pair()
        self._counter = OpeningCounter(Path(self._far_name))
        try:
            self._point_name()
        except OSError as error:
            self._counter.close()
            os.close(near)
            advice = "Choose another folder."
            raise WireError(f"The port {self._path} cannot be made: {error.strerror}. {advice}") from error
        self._near = _NearEnd(near)

    def _make_pair(self) -> int:
        near, far = os.openpty()
        try:
            tty.setraw(far)
            _set_speed(far, termios.B9600)  # what a serial driver starts with
            self._far_name = os.ttyname(far)
        finally:
            os.close(far)
        os.set_blocking(near, False)
        return near

    def _point_name(self) -> None:
        fresh = self._path.with_name(f".{self._path.name}.{os.getpid()}")
        fresh.unlink(missing_ok=True)
        fresh.symlink_to(self._far_name)
        fresh.replace(self._path)

    def unplug(self) -> None:
        """Hang up on the host and take the name away."""
        if self._near is None:
            return
        # only our own name: somebody may have put another port there
        with suppress(OSError):
            if str(self._path.readlink()) == self._far_name:
                self._path.unlink()
        if self._counter:
            self._counter.close()
        near, self._near = self._near, None
        self._counter, self._attached, self._unsure = None, False, False
        near.close()
        self._early.clear()
        self._unsent.clear()

    close = unplug

    def take_openings(self) -> int:
        """How often a host has opened the port since last asked."""
        if self._counter is None:
            return 0
        openings = self._counter.take()
        if self._attached and not openings:
            return 0
        if self._attached:
            self._forget_host()  # it left and came back between two looks
        data = self._pull(_READ_BYTES)
        self._unsure = False
        self._attached = data is not None
        self._early += data or b""
        missed = self._counter.correct(held=self._attached)
        return openings or missed

    def _pull(self, limit_bytes: int) -> bytes | None:
        """What has come, which may be nothing; None when no host has the port open."""
        if self._near is None:
            return None
        try:
            # some systems end the file, others report an error
            return os.read(self._near.fileno(), limit_bytes) or None
        except BlockingIOError:
            return b""
        except OSError as error:
            if error.errno == errno.EIO:
                return None
            raise

    def read(self, limit_bytes: int) -> bytes:
        """What the host has sent; notices when it has closed the port."""
        if not self._attached or limit_bytes <= 0:
            return b""
        self._flush()
        if self._early:
            data = bytes(self._early[:limit_bytes])
            del self._early[:limit_bytes]
            return data
        pulled = self._pull(min(limit_bytes, _READ_BYTES))
        if pulled is None:
            self._host_left()
        return pulled or b""

    def _host_left(self) -> None:
        self._attached = False
        if self._counter:
            self._counter.correct(held=False)
        self._forget_host()

    def _forget_host(self) -> None:
        """What the host did not read must not greet the next one."""
        self._unsent.clear()
        if self._counter:
            self._counter.pause()
        with suppress(OSError):
            far = os.open(self._far_name, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
            try:
                termios.tcflush(far, termios.TCIFLUSH)
            finally:
                os.close(far)
        if self._counter:
            self._counter.resume()
        self._unsure = True  # somebody may have opened it while nobody counted

    def write(self, data: bytes) -> None:
        """Hand bytes to the host; without a host they are gone."""
        if self._attached:
            self._unsent += data[: max(0, QUEUE_LIMIT_BYTES - len(self._unsent))]
            self._flush()

    def _flush(self) -> None:
        if self._near is None or not self._unsent:
            return
        try:
            del self._unsent[: os.write(self._near.fileno(), self._unsent)]
        except BlockingIOError:
            return
        except OSError as error:
            if error.errno != errno.EIO:
                raise
            self._host_left()

    @property
    def look_again_s(self) -> float:
        """Soon, where its files do not tell everything: of an opening, or that the host has begun to read."""
        if self._unsure or (self._attached and self._early):
            return 0.0
        told = self._attached or self._counter is None or self._counter.watching
        return min(DEAF_HOST_S if self._unsent else math.inf, math.inf if told else _UNTOLD_S)

    def files(self) -> Sequence[ReadyFile]:
        """What to sleep on; the near end of a port nobody has open would never let anybody sleep."""
        near = [self._near] if self._near is not None and self._attached else []
        return [*near, self._counter] if self._counter is not None and self._counter.watching else near


def _set_speed(descriptor: int, speed: int) -> None:
    settings = termios.tcgetattr(descriptor)
    settings[4] = settings[5] = speed
    termios.tcsetattr(descriptor, termios.TCSANOW, settings)


def _standard_speed_baud(descriptor: int) -> int | None:
    """The speed where it is one of the names every system knows; None otherwise."""
    code = termios.tcgetattr(descriptor)[5]
    for name in dir(termios):
        if name.startswith("B") and name[1:].isdigit() and getattr(termios, name) == code:
            return int(name[1:])
    return None
