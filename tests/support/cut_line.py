"""A line to a server that can be cut: a TCP relay on the loopback address. Nothing of the bytes is changed."""

import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress

BLOCK = 4096


class CutLine:
    """Relays to a port of this computer.

    Args:
        port: of the server.

    Attributes:
        port: where it listens.
        left: bytes that each further connection may carry, both ways together, before it is cut; None for no end.
    """

    def __init__(self, port: int) -> None:
        self._to = port
        self._listening = socket.create_server(("127.0.0.1", 0))
        self.port: int = self._listening.getsockname()[1]
        self.left: int | None = None
        self._open: set[socket.socket] = set()
        threading.Thread(target=self._serve, daemon=True).start()

    def cut(self) -> None:
        """Cut all connections at once, without a word to either side."""
        for each in list(self._open):
            _break(each)

    def close(self) -> None:
        """Be gone."""
        _break(self._listening)
        self.cut()

    def _serve(self) -> None:
        while True:
            try:
                near, _ = self._listening.accept()
            except OSError:
                return
            try:
                far = socket.create_connection(("127.0.0.1", self._to))
            except OSError:
                near.close()
                continue
            self._open |= {near, far}
            budget = [self.left]
            for source, target in ((near, far), (far, near)):
                threading.Thread(target=self._relay, args=(source, target, budget), daemon=True).start()

    def _relay(self, source: socket.socket, target: socket.socket, budget: list[int | None]) -> None:
        with suppress(OSError):
            while data := source.recv(BLOCK):
                left = budget[0]
                if left is not None:
                    budget[0] = left - len(data)
                    data = data[: max(0, left)]
                target.sendall(data)
                if budget[0] is not None and budget[0] <= 0:
                    break
        for each in (source, target):
            _break(each)
            self._open.discard(each)


def _break(line: socket.socket) -> None:
    with suppress(OSError):
        line.shutdown(socket.SHUT_RDWR)
    line.close()


@contextmanager
def cut_line(port: int) -> Iterator[CutLine]:
    """A relay that ends with the block."""
    line = CutLine(port)
    try:
        yield line
    finally:
        line.close()
