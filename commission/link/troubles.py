"""Every way a port can fail, told as one of the link's own errors.

The libraries report the same trouble in several ways: pyserial with and without the system's error number, the
terminal interface with an exception of its own, sockets with others, and a port closed under a reading thread with a
TypeError. Here all of them are looked up by error number in one table. Nothing in this module touches a port, so that
every row can be checked on any machine.
"""

import errno
import re
import socket
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from commission.command_lines import PORTS
from commission.link.base import LinkError, LinkLost, PortBusy, PortForbidden, PortMissing, PortUnusable, TurnedAway

if sys.platform != "win32":
    import termios

    _TERMINAL_TROUBLES: tuple[type[Exception], ...] = (termios.error,)
else:
    _TERMINAL_TROUBLES = ()

# What a call into the libraries may fail with. pyserial's own exceptions are OSErrors; ValueError and OverflowError are
# a speed no port has; TypeError and AttributeError are what a port closed by another thread fails with. Caught around
# single calls into the libraries and nowhere else.
TROUBLES: tuple[type[Exception], ...] = (
    OSError,
    ValueError,
    OverflowError,
    NotImplementedError,
    TypeError,
    AttributeError,
    *_TERMINAL_TROUBLES,
)

RESUME_ADVICE = (
    f"Check the cable and the printer's supply, see with `{PORTS}` whether the port is back, "
    "and expect the printer to have restarted: start the broken-off step again."
)
NO_PORTS = "No USB serial port is present now: plug the printer in, switch it on, and try a cable that carries data."


@dataclass(frozen=True)
class Loss:
    """Why an open pipe is gone; kept to be told to whoever calls next.

    Attributes:
        message: one sentence on what happened.
        advice: what to do about it.
        cause: the library's own exception, or None when the far end simply ended the connection.
        turned_away: it was never ours: the far end said that somebody else has the port.
    """

    message: str
    advice: str
    cause: BaseException | None = None
    turned_away: bool = False

    def error(self) -> LinkLost:
        """A fresh exception: one that is raised again and again would collect a trace of every call."""
        return (TurnedAway if self.turned_away else LinkLost)(self.message, self.advice)


def chain(cause: BaseException) -> Iterator[BaseException]:
    """The exception, then what lies behind it, outermost first."""
    seen: set[int] = set()
    here: BaseException | None = cause
    while here is not None and id(here) not in seen:
        seen.add(id(here))
        yield here
        here = here.__cause__ or here.__context__


def error_number(cause: BaseException) -> int | None:
    """The system's error number somewhere in the chain, or None.

    pyserial often wraps the numbered error in one without a number, and termios.error is no OSError at all but carries
    the number as its first argument. A name that cannot be resolved has a number of another numbering: skipped.
    """
    for error in chain(cause):
        if isinstance(error, socket.gaierror):
            continue
        number = error.errno if isinstance(error, OSError) else (error.args[0] if error.args else None)
        if isinstance(number, int) and number > 0:
            return number
    return _number_in_text(str(cause))


def _number_in_text(text: str) -> int | None:
    """On Windows pyserial puts the system's exception into the text only, as its repr; its own number stands last.

    The class in the repr says less: the C runtime makes a "permission" of half of all numbers.
    """
    told = re.search(r"Error\(\d+, .*, None, (\d+)\)", text)
    return _OF_WINDOWS.get(int(told[1])) if told else None


# The system error codes of Windows that a port is refused with (Microsoft's published list, from memory). A port that
# another program holds is refused with "access denied": there is no group for ports.
_OF_WINDOWS = {
    2: errno.ENOENT,  # no such file
    3: errno.ENOENT,  # no such path
    5: errno.EBUSY,  # access denied
    31: errno.EIO,  # a device is not functioning
    32: errno.EBUSY,  # in use by another process
    121: errno.EIO,  # nothing answers in time
    1167: errno.ENODEV,  # not connected
}


def _missing(name: str, ports_now: Sequence[str], group: str) -> LinkError:  # noqa: ARG001 - one shape for the table
    listed = "Ports present now: " + ", ".join(ports_now) + "." if ports_now else NO_PORTS
    return PortMissing(f"There is no port {name}.", listed)


def _forbidden(name: str, ports_now: Sequence[str], group: str) -> LinkError:  # noqa: ARG001
    group = "" if group == "root" else group  # nobody should join that one to read a port
    who = f"the group {group}" if group else "the port's group (often dialout or uucp)"
    return PortForbidden(
        f"Your user may not open the port {name}.",
        f"Ask for membership of {who}, on Linux for instance by `sudo usermod -aG {group or 'GROUP'} $USER`, "
        "then log out and in again.",
    )


def _busy(name: str, ports_now: Sequence[str], group: str) -> LinkError:  # noqa: ARG001
    return PortBusy(
        f"The port {name} is in use by another program.",
        "Close whatever talks to the printer (a print controller, a serial monitor, another run of this tool) "
        "and try again.",
    )


def _no_serial_port(name: str, ports_now: Sequence[str], group: str) -> LinkError:  # noqa: ARG001
    listed = " Ports present now: " + ", ".join(ports_now) + "." if ports_now else ""
    return PortUnusable(f"{name} is not a serial port.", f"Check the name.{listed}")


def _dead(name: str, ports_now: Sequence[str], group: str) -> LinkError:  # noqa: ARG001
    return PortUnusable(
        f"The port {name} answers with an input/output error.",
        f"Nothing real may stand behind it: unplug the USB cable, plug it in again and look with `{PORTS}`.",
    )


def _nobody_listens(name: str, ports_now: Sequence[str], group: str) -> LinkError:  # noqa: ARG001
    return PortUnusable(
        f"Nothing answers at {name}.",
        "Check host and port number, and that the far machine shares the port and is switched on.",
    )


IN_USE_ADVICE = "The far end often does so when somebody else uses the port: close the other connection and try again."


def _hung_up(name: str, ports_now: Sequence[str], group: str) -> LinkError:  # noqa: ARG001
    return PortBusy(f"{name} hung up while the connection was being made.", IN_USE_ADVICE)


# Which trouble an error number means while a port is being opened. Numbers have names here because they differ between
# systems (a held lock is 11 on Linux and 35 on macOS).
OPENING = {
    errno.ENOENT: _missing,
    errno.ENODEV: _missing,
    errno.ENXIO: _missing,
    errno.EACCES: _forbidden,
    errno.EPERM: _forbidden,
    errno.EBUSY: _busy,
    errno.EAGAIN: _busy,
    errno.EWOULDBLOCK: _busy,
    errno.ENOTTY: _no_serial_port,
    errno.EINVAL: _no_serial_port,
    errno.EISDIR: _no_serial_port,
    errno.ENOTDIR: _no_serial_port,
    errno.EIO: _dead,
    errno.ECONNREFUSED: _nobody_listens,
    errno.EHOSTUNREACH: _nobody_listens,
    errno.ENETUNREACH: _nobody_listens,
    errno.EHOSTDOWN: _nobody_listens,
    errno.ETIMEDOUT: _nobody_listens,
    errno.EPIPE: _hung_up,
    errno.ECONNRESET: _hung_up,
    errno.ECONNABORTED: _hung_up,
}

# What pyserial's RFC 2217 client says when the far end leaves a request unanswered, and what helps.
UNANSWERED = {
    "option 'control'": "The far end has no control lines: add ?ign_set_control to the address.",
    "option 'purge'": "Some newer port servers leave the purge request unanswered: share the port as a plain "
    "network port and use socket://HOST:PORT.",
    "does not seem to support": "The far end does not speak RFC 2217: use socket://HOST:PORT for a plain network port.",
    "does not accept parameter change": "The far end refused the line settings: check what speeds it allows.",
}


def opening_error(
    name: str,
    cause: BaseException,
    *,
    speed_baud: int | None = None,
    ports_now: Sequence[str] = (),
    group: str = "",
) -> LinkError:
    """The link's own error for a port that could not be opened.

    Args:
        name: the port as the operator wrote it.
        cause: what the library raised.
        speed_baud: the speed it was opened with, where it has one.
        ports_now: devices present at this moment, named when the wanted one is missing.
        group: the group that may open the port, where the system has one.
    """
    for words, advice in UNANSWERED.items():
        if words in str(cause):
            return PortUnusable(f"{name} does not answer as a shared serial port should.", advice)
    if any(isinstance(error, (socket.gaierror, UnicodeError)) for error in chain(cause)):
        return PortUnusable(f"The host in {name} is not known.", "Check the spelling, or write its number instead.")
    if any(isinstance(error, TimeoutError) for error in chain(cause)):
        return _nobody_listens(name, ports_now, group)
    if speed_baud is not None and isinstance(cause, (ValueError, OverflowError)):
        return speed_error(name, speed_baud, cause)
    number = error_number(cause)
    if number in OPENING:
        return OPENING[number](name, ports_now, group)
    return PortUnusable(f"The port {name} could not be opened: {cause}.", "Unplug it, plug it in again and retry.")


def speed_error(name: str, speed_baud: int, cause: BaseException | None) -> LinkError:
    """The link's own error for a speed that was refused; a loss when the port vanished while it was asked."""
    gone = {errno.EIO, errno.ENODEV, errno.ENXIO, errno.EBADF, errno.EPIPE, errno.ECONNRESET}
    if cause is not None and (error_number(cause) in gone or isinstance(cause, (TypeError, AttributeError))):
        return loss_of(name, cause).error()
    return PortUnusable(
        f"The port {name} refuses the speed {speed_baud} baud.",
        "Choose another speed; 115200 and 250000 are the usual ones.",
    )


def loss_of(name: str, cause: BaseException | None) -> Loss:
    """The loss of an open pipe.

    Args:
        name: the port as the operator wrote it.
        cause: what the library raised, or None when the far end ended the connection in good order.
    """
    return Loss(f"The connection to {name} is lost.", RESUME_ADVICE, cause)


IN_USE = re.compile(r"in use|busy|occupied", re.IGNORECASE)
"""How port servers say that somebody else has the port: seen of one, the other words from memory."""


def hung_up(name: str, said: bytes, cause: BaseException | None) -> Loss:
    """The end of a connection before anything was asked; a port server mostly says why, in words for people.

    Args:
        name: the port as the operator wrote it.
        said: what came before the end.
        cause: what the library raised, or None when the far end ended the connection in good order.
    """
    words = "".join(chr(byte) for byte in said if 0x20 <= byte < 0x7F).strip()
    if not words:
        return loss_of(name, cause)
    message = f"{name} said {words!r} and hung up before anything was asked."
    if IN_USE.search(words):
        return Loss(message, IN_USE_ADVICE, cause, turned_away=True)
    return Loss(message, RESUME_ADVICE, cause)


def stalled(name: str, limit_s: float) -> Loss:
    """The loss of a pipe that stays there but takes no more bytes."""
    return Loss(
        f"{name} has taken no bytes for {limit_s:g} s.",
        "The board is probably stuck: switch the printer off and on, then start the broken-off step again.",
    )


def closed(name: str) -> Loss:
    """The loss that closing it ourselves is to anyone still using it."""
    return Loss(f"The port {name} has been closed.", "Open it again to go on.")
