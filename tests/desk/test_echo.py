"""The echo of a terminal, also of one that is closed."""

import os

import pytest

from commission.desk.echo import Echo

termios = pytest.importorskip("termios", reason="terminals of this kind exist on POSIX only")
LOCAL = 3


def echoes(terminal: int) -> bool:
    """Whether it shows what is typed."""
    return bool(termios.tcgetattr(terminal)[LOCAL] & termios.ECHO)


def test_the_echo_is_put_back() -> None:
    """Silenced it shows nothing of what is typed; restored it does as before."""
    keyboard, terminal = os.openpty()
    echo = Echo(terminal)
    try:
        echo.silence()
        silent = echoes(terminal)
        echo.discard()
        echo.restore()
        restored = echoes(terminal)
    finally:
        os.close(keyboard)
        os.close(terminal)

    assert (False, True) == (silent, restored)


def test_a_closed_terminal_is_no_error() -> None:
    """A terminal that was closed has nothing to be thrown away and nothing to be put back."""
    keyboard, terminal = os.openpty()
    echo = Echo(terminal)
    try:
        echo.silence()
        os.close(keyboard)
        echo.discard()
        echo.restore()
        gone = not os.isatty(terminal)
    finally:
        os.close(terminal)

    assert gone
