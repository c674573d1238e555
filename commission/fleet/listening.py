"""Answers a collector that asks for the metrics: a small server, for reading only, with bounds on what it takes.

HTTP/1.0 (RFC 1945): one question a connection. It answers GET and HEAD of `/metrics`; a connection lives ten seconds at
most, and so many at a time; what is one too many is closed at once.
"""

import socket
import threading
from collections.abc import Callable
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

CONTENT_TYPE = "application/openmetrics-text; version=1.0.0; charset=utf-8"
"""As OpenMetrics 1.0 has it."""
PATH = "/metrics"
MOST_AT_ONCE = 8
CONNECTION_S = 10.0


class CannotDraw(Exception):
    """There are no metrics now; the text says why."""


class MetricsServer(ThreadingHTTPServer):
    """Listens at an address.

    Args:
        host, port: where; port 0 takes a free one.
        draw: makes the text; raises CannotDraw.
        connection_s: seconds that a connection may live.
    """

    daemon_threads = True
    block_on_close = False

    def __init__(self, host: str, port: int, draw: Callable[[], bytes], connection_s: float = CONNECTION_S) -> None:
        self.address_family = socket.AF_INET6 if ":" in host else socket.AF_INET
        self.draw = draw
        self.connection_s = connection_s
        self._free = threading.BoundedSemaphore(MOST_AT_ONCE)
        super().__init__((host, port), _Handler)

    @property
    def place(self) -> str:
        """The address that it listens at, as it is asked for."""
        host, port = self.server_address[:2]
        shown = str(host)
        return f"http://{f'[{shown}]' if ':' in shown else shown}:{port}{PATH}"

    def process_request(self, request: Any, client_address: Any) -> None:
        """Answer it in a thread, or close it where too many are open already."""
        if not self._free.acquire(blocking=False):
            self.shutdown_request(request)
            return
        super().process_request(request, client_address)

    def process_request_thread(self, request: Any, client_address: Any) -> None:
        """Answer it, for so long at most."""
        limit = threading.Timer(self.connection_s, _cut, (request,))
        limit.daemon = True
        limit.start()
        try:
            super().process_request_thread(request, client_address)
        finally:
            limit.cancel()
            self._free.release()

    def handle_error(self, request: Any, client_address: Any) -> None:
        """Who asked is gone, or was too slow: nothing of ours went wrong."""


def _cut(connection: socket.socket) -> None:
    try:
        connection.shutdown(socket.SHUT_RDWR)
    except OSError:
        return  # it has ended by itself


class _Handler(BaseHTTPRequestHandler):
    """One question."""

    server: MetricsServer
    server_version = "commission"
    sys_version = ""

    def do_GET(self) -> None:
        """The metrics."""
        self._answer(with_body=True)

    def do_HEAD(self) -> None:
        """What would be answered, without it."""
        self._answer(with_body=False)

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002 - the library's own name for it
        """A collector asks each minute: nothing of that is worth a line."""

    def _answer(self, *, with_body: bool) -> None:
        if self.path.partition("?")[0] != PATH:
            self._send(HTTPStatus.NOT_FOUND, "text/plain; charset=utf-8", f"Ask for {PATH}.\n".encode(), with_body)
            return
        try:
            text = self.server.draw()
        except CannotDraw as error:
            said = f"{error}\n".encode()
            self._send(HTTPStatus.SERVICE_UNAVAILABLE, "text/plain; charset=utf-8", said, with_body)
            return
        self._send(HTTPStatus.OK, CONTENT_TYPE, text, with_body)

    def _send(self, status: HTTPStatus, kind: str, body: bytes, with_body: bool) -> None:  # noqa: FBT001 - of this file
        self.send_response(status)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(body)))
        self.send_header("Cache-Control", "no-store")
        self.end_headers()
        if with_body:
            self.wfile.write(body)
