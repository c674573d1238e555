"""The simulated printer's side of the bench: understands the words of the hands, does the deeds, and answers.

Over the control socket every line gets one line back: `ok` and a sentence of what was done, `error` and what to do
about it, or one line of JSON for the words that ask.
"""

import json
import math
import shlex
import socket
from collections.abc import Callable, Mapping, Sequence
from typing import Protocol, cast

from fake_printer.printer import HANDS, HandsError
from fake_printer.wire.base import DEAF_HOST_S, ReadyFile
from fake_printer.wire.network import accept, flush, listen, receive

ASKING = {
    "state": "everything that is true of the printer and its port, as one line of JSON",
    "received": "all lines the printer has received from the host, as one line of JSON",
    "help": "what can be done",
    "stop": "end the simulated printer",
}
_LINES_IN_STATE = 20
_MOST_VISITORS = 8
_LONGEST_LINE_BYTES = 4096


class Handled(Protocol):
    """The side of the simulated printer that hands can touch."""

    def perform(self, verb: str, *words: str) -> str:
        """Do it and say in one sentence what was done."""
        ...

    def state(self) -> dict[str, object]:
        """Everything that is true of the printer."""
        ...


class Bench:
    """Understands the words and does the deeds.

    Attributes:
        stop_asked: whether somebody wants the printer to end.
    """

    def __init__(self, printer: Handled, port_state: Callable[[], Mapping[str, object]]) -> None:
        """Stand at a printer.

        Args:
            printer: what the hands touch.
            port_state: what the wire knows, shown with the printer's state.
        """
        self._printer = printer
        self._port_state = port_state
        self.stop_asked = False

    def answer(self, line: str) -> str:
        """Do what a line says; the answer is one line and never an exception for a line that is no use."""
        try:
            words = shlex.split(line)
        except ValueError as error:
            return _refused(f"{error}. Close every quote, or use none.")
        if not words:
            return _refused("An empty line does nothing. Try: help")
        verb, *rest = words
        if verb in ASKING:
            return self._tell(verb)
        try:
            return "ok " + _one_line(self._printer.perform(verb, *rest))
        except HandsError as error:
            return _refused(str(error))

    def _tell(self, verb: str) -> str:
        if verb == "help":
            return "ok " + "; ".join(f"{word}: {meaning}" for word, meaning in help_lines().items())
        if verb == "stop":
            self.stop_asked = True
            return "ok The simulated printer ends."
        state = self._printer.state()
        received = cast("list[str]", state["received_lines"])
        if verb == "received":
            return json.dumps(received)
        # asked for many times a second by whoever waits for something, so of a long list the end has to do
        shortened = {"received_count": len(received), "received_lines": received[-_LINES_IN_STATE:]}
        return json.dumps({**state, **shortened, "port": dict(self._port_state())})


def help_lines() -> dict[str, str]:
    """Every word the bench understands, with its meaning."""
    return {**HANDS, **ASKING}


def _one_line(text: str) -> str:
    """One line that a terminal shows as it is."""
    return "".join(each if each.isprintable() else ascii(each)[1:-1] for each in " ".join(text.split()))


def _refused(advice: str) -> str:
    return "error " + _one_line(advice)


class Answering(Protocol):
    """Whoever answers lines."""

    def answer(self, line: str) -> str:
        """Do what the line says, and answer in one."""
        ...


class ControlSocket:
    """Serves a bench over the loopback network, several visitors at a time, one line after the other."""

    def __init__(self, bench: Answering, port: int) -> None:
        """Begin to listen.

        Args:
            bench: what answers the lines.
            port: its number, or 0 to have one chosen.

        Raises:
            WireError: the port cannot be had.
        """
        self._bench = bench
        self._listener = listen(port)
        self._visitors: list[_Visitor] = []

    @property
    def address(self) -> str:
        """Host and port, as a visitor writes them."""
        host, port = self._listener.getsockname()
        return f"{host}:{port}"

    def files(self) -> Sequence[ReadyFile]:
        """What to sleep on."""
        return [self._listener, *(each.connection for each in self._visitors)]

    def step(self, now_s: float) -> float:
        """Let in who waits, answer what has come, see off who has left; never waits.

        Returns:
            Seconds until it has to be looked at again: soon while a visitor does not read, else infinite.
        """
        del now_s
        newcomer = accept(self._listener)
        if newcomer and len(self._visitors) < _MOST_VISITORS:
            self._visitors.append(_Visitor(newcomer))
        elif newcomer:
            newcomer.close()
        for visitor in list(self._visitors):
            if not visitor.serve(self._bench.answer):
                visitor.connection.close()
                self._visitors.remove(visitor)
        return DEAF_HOST_S if any(visitor.unread for visitor in self._visitors) else math.inf

    def close(self) -> None:
        """See everybody off and listen no more."""
        for visitor in self._visitors:
            visitor.connection.close()
        self._visitors.clear()
        self._listener.close()


class _Visitor:
    def __init__(self, connection: socket.socket) -> None:
        self.connection = connection
        self._heard = bytearray()
        self._unsent = bytearray()

    @property
    def unread(self) -> bool:
        """Whether it has not taken all its answers."""
        return bool(self._unsent)

    def serve(self, answer: Callable[[str], str]) -> bool:
        """Answer every whole line; False when the visitor has gone or is not to be understood."""
        data = receive(self.connection, _LONGEST_LINE_BYTES)
        self._heard += data or b""
        while b"\n" in self._heard:
            line, _, rest = bytes(self._heard).partition(b"\n")
            self._heard[:] = rest
            self._unsent += answer(line.decode("utf-8", "replace").strip()).encode() + b"\n"
        alive = flush(self.connection, self._unsent)
        return alive and data is not None and len(self._heard) <= _LONGEST_LINE_BYTES
