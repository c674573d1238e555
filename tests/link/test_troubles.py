"""Every way a port can fail becomes one of the link's errors; checked as a table, because no machine has them all."""

import errno
import socket

import pytest

from commission.link.base import LinkError, LinkLost, PortBusy, PortForbidden, PortMissing, PortUnusable
from commission.link.troubles import (
    TROUBLES,
    closed,
    error_number,
    loss_of,
    opening_error,
    speed_error,
    stalled,
)

PORT = "/dev/ttyUSB0"


def _wrapped(inner: BaseException, outer: BaseException) -> BaseException:
    """The outer exception as it looks when it was raised while the inner one was handled."""
    outer.__context__ = inner
    return outer


@pytest.mark.parametrize(
    ("number", "kind", "advice"),
    [
        (errno.ENOENT, PortMissing, "plug the printer in"),
        (errno.ENODEV, PortMissing, "plug the printer in"),
        (errno.ENXIO, PortMissing, "plug the printer in"),
        (errno.EACCES, PortForbidden, "usermod"),
        (errno.EPERM, PortForbidden, "usermod"),
        (errno.EBUSY, PortBusy, "Close whatever talks to the printer"),
        (errno.EAGAIN, PortBusy, "Close whatever talks to the printer"),
        (errno.ENOTTY, PortUnusable, "Check the name"),
        (errno.EISDIR, PortUnusable, "Check the name"),
        (errno.EIO, PortUnusable, "unplug the USB cable"),
        (errno.ECONNREFUSED, PortUnusable, "Check host and port number"),
        (errno.EHOSTUNREACH, PortUnusable, "Check host and port number"),
        (errno.EPIPE, PortBusy, "close the other connection"),
        (errno.ECONNRESET, PortBusy, "close the other connection"),
        (errno.EMFILE, PortUnusable, "retry"),
    ],
)
def test_opening_by_error_number(number: int, kind: type[LinkError], advice: str) -> None:
    """The system's error number decides what is wrong and what to do, wherever in the chain it stands."""
    bare = OSError(number, "as the system says")
    hidden = _wrapped(bare, OSError("as the library says"))

    for cause in (bare, hidden):
        error = opening_error(PORT, cause)
        assert kind is type(error)
        assert PORT in error.message
        assert advice in error.advice


def test_missing_names_the_ports_present() -> None:
    """The advice for a missing port names those that are there."""
    error = opening_error(PORT, OSError(errno.ENOENT, ""), ports_now=["/dev/ttyACM0", "/dev/ttyUSB3"])

    assert error.advice == "Ports present now: /dev/ttyACM0, /dev/ttyUSB3."


def test_forbidden_names_the_group() -> None:
    """The advice for a forbidden port names its group, except for root's, which nobody should join."""
    forbidden = OSError(errno.EACCES, "")

    assert "the group dialout" in opening_error(PORT, forbidden, group="dialout").advice
    assert "usermod -aG dialout" in opening_error(PORT, forbidden, group="dialout").advice
    assert "group root" not in opening_error(PORT, forbidden, group="root").advice


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("could not open port 'COM3': PermissionError(13, 'Access is denied.', None, 5)", PortBusy),
        ("could not open port 'COM9': FileNotFoundError(2, 'no such file', None, 2)", PortMissing),
    ],
)
def test_opening_on_windows(text: str, kind: type[LinkError]) -> None:
    """On Windows the number stands in the text only, and "access denied" means in use (from the library's source)."""
    assert kind is type(opening_error("COM3", OSError(text)))


@pytest.mark.parametrize(
    ("cause", "advice"),
    [
        (OSError("timeout while waiting for option 'control'"), "?ign_set_control"),
        (OSError("timeout while waiting for option 'purge'"), "socket://HOST:PORT"),
        (OSError("Remote does not seem to support RFC2217 or BINARY mode []"), "socket://HOST:PORT"),
        (OSError("Remote does not accept parameter change (RFC2217): []"), "what speeds"),
    ],
)
def test_unanswered_requests_of_a_port_server(cause: OSError, advice: str) -> None:
    """What a port server leaves unanswered is told with the remedy."""
    error = opening_error("rfc2217://127.0.0.1:7001", cause)

    assert PortUnusable is type(error)
    assert advice in error.advice


def test_unknown_host() -> None:
    """A name that cannot be resolved is an unknown host, although its number equals another trouble's."""
    unresolved = socket.gaierror(socket.EAI_NONAME, "Name or service not known")
    hidden = _wrapped(unresolved, OSError("Could not open port"))

    assert "not known" in opening_error("socket://printer:7001", unresolved).message
    assert "not known" in opening_error("rfc2217://printer:7001", hidden).message


def test_silent_host() -> None:
    """A host that does not answer in time is told as nobody answering."""
    assert "Nothing answers" in opening_error("socket://printer:7001", TimeoutError()).message


def test_number_of_the_terminal_interface() -> None:
    """The terminal interface's exception is no OSError and carries its number as first argument."""
    termios = pytest.importorskip("termios")

    assert error_number(termios.error(errno.EIO, "Input/output error")) == errno.EIO
    assert termios.error in TROUBLES


def test_number_is_none_without_any() -> None:
    """An exception without a number has none, and a chain that loops ends."""
    first, second = ValueError("first"), ValueError("second")
    first.__context__, second.__context__ = second, first

    assert error_number(first) is None


def test_speed_refused() -> None:
    """A refused speed is told with the speed, and the advice names the usual ones."""
    error = speed_error(PORT, 250000, ValueError("Failed to set custom baud rate"))

    assert PortUnusable is type(error)
    assert "250000" in error.message
    assert "115200" in error.advice


@pytest.mark.parametrize("cause", [OSError(errno.EIO, ""), OSError(errno.EBADF, ""), TypeError("fd is None")])
def test_speed_on_a_vanished_port(cause: Exception) -> None:
    """A speed change that meets a vanished port is a loss."""
    assert LinkLost is type(speed_error(PORT, 250000, cause))


def test_losses_say_what_to_do() -> None:
    """Each loss is told afresh as LinkLost, with the port and an advice."""
    for loss in (loss_of(PORT, None), stalled(PORT, 10.0), closed(PORT)):
        first, second = loss.error(), loss.error()
        assert first is not second
        assert PORT in str(first)
        assert first.advice
