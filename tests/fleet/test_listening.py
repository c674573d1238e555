"""`commission metrics --listen` as a collector meets it, and as a program that means no good does."""

import signal
import socket
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.client import HTTPConnection
from pathlib import Path
from urllib.request import urlopen

import pytest
from click.testing import CliRunner
from prometheus_client.openmetrics.parser import text_string_to_metric_families

from commission.cli import main
from commission.fleet.listening import MOST_AT_ONCE, CannotDraw, MetricsServer
from scripts.made_up_books import Workshop, write_book
from tests.support.patience import PATIENCE_S

LOOPBACK = "127.0.0.1"


@contextmanager
def serving(text: bytes | str, connection_s: float = PATIENCE_S) -> Iterator[int]:
    """A server of our own with that text; a `str` is why there is none. Gives its port."""

    def draw() -> bytes:
        if isinstance(text, str):
            raise CannotDraw(text)
        return text

    server = MetricsServer(LOOPBACK, 0, draw, connection_s)
    thread = threading.Thread(target=server.serve_forever, args=(0.02,))
    thread.start()
    try:
        yield int(server.server_address[1])
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


def asked(port: int, method: str, path: str) -> tuple[int, str, bytes]:
    """Status, kind and body of an answer."""
    connection = HTTPConnection(LOOPBACK, port, timeout=PATIENCE_S)
    try:
        connection.request(method, path)
        answer = connection.getresponse()
        return answer.status, answer.getheader("Content-Type", ""), answer.read()
    finally:
        connection.close()


def test_a_collector_gets_the_whole_workshop(tmp_path: Path) -> None:
    """The real command on a loopback port: OpenMetrics by its content type and its strict parser; SIGTERM ends it."""
    write_book(tmp_path / "book.sqlite3", Workshop(printers=5, checks=4))
    command = [sys.executable, "-m", "commission", "metrics", "--listen", f"{LOOPBACK}:0"]
    command += ["--book", str(tmp_path / "book.sqlite3")]
    with subprocess.Popen(
        command, stderr=subprocess.PIPE, text=True, env={"PATH": "", "HOME": str(tmp_path)}
    ) as process:
        assert process.stderr is not None
        said = process.stderr.readline()
        with urlopen(said.split()[2].rstrip(";"), timeout=PATIENCE_S) as answer:  # noqa: S310 - our own address
            kind, text = answer.headers["Content-Type"], answer.read().decode()
        process.send_signal(signal.SIGTERM)
        code = process.wait(PATIENCE_S)

    assert said.startswith(f"Listening at http://{LOOPBACK}:")
    # the type as OpenMetrics 1.0 has it
    assert "application/openmetrics-text; version=1.0.0; charset=utf-8" == kind
    families = {family.name: family for family in text_string_to_metric_families(text)}
    assert 5 == len(families["commission_printer"].samples)
    assert 0 == code


@pytest.mark.parametrize(
    ("method", "path", "status", "body"),
    [
        ("GET", "/metrics", 200, b"# EOF\n"),
        ("GET", "/metrics?x=1", 200, b"# EOF\n"),
        ("HEAD", "/metrics", 200, b""),
        ("GET", "/", 404, b"Ask for /metrics.\n"),
        ("GET", "/../metrics", 404, b"Ask for /metrics.\n"),
        ("POST", "/metrics", 501, None),
    ],
)
def test_only_the_metrics_are_answered(method: str, path: str, status: int, body: bytes | None) -> None:
    """Any other place and any other verb is refused."""
    with serving(b"# EOF\n") as port:
        found = asked(port, method, path)

    assert status == found[0]
    assert body is None or body == found[2]


def test_a_book_that_cannot_be_read_is_said() -> None:
    """The collector sees that there are no metrics, and why; the server goes on."""
    with serving("There is no record book.") as port:
        assert (503, b"There is no record book.\n") == asked(port, "GET", "/metrics")[::2]
        assert 503 == asked(port, "GET", "/metrics")[0]


def test_a_slow_question_is_cut_off() -> None:
    """Who sends half a line holds a connection for its limit and no longer."""
    with serving(b"# EOF\n", connection_s=0.1) as port, socket.create_connection((LOOPBACK, port)) as slow:
        slow.settimeout(PATIENCE_S)
        slow.sendall(b"GET /met")

        assert b"" == slow.recv(100)


def test_too_many_at_once_are_closed() -> None:
    """Those within the bound wait for their answer; one more is closed at once, and afterwards there is room again."""
    with serving(b"# EOF\n") as port:
        waiting = [socket.create_connection((LOOPBACK, port)) for _ in range(MOST_AT_ONCE)]
        with socket.create_connection((LOOPBACK, port)) as more:
            more.settimeout(PATIENCE_S)
            assert b"" == more.recv(100)
        for each in waiting:
            each.sendall(b"GET /metrics HTTP/1.0\r\n\r\n")
            with each, each.makefile("rb") as answer:
                assert answer.read().endswith(b"# EOF\n")


def test_a_long_line_is_refused() -> None:
    """A header without end is not kept: 65,536 bytes a line at most (the library's bound)."""
    with serving(b"# EOF\n") as port, socket.create_connection((LOOPBACK, port), PATIENCE_S) as long:
        long.sendall(b"GET /metrics HTTP/1.0\r\nX: " + b"a" * 70_000)

        assert long.recv(100).startswith(b"HTTP/1.0 431 ")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "Give --out FILE, or --listen."),
        (("--out", "metrics.txt", "--listen"), "Give --out FILE, or --listen."),
        (("--listen", "here"), "write ADDRESS:PORT"),
        (("--listen", "127.0.0.1:70000"), "write ADDRESS:PORT"),
        (("--listen", "::1:80"), "write ADDRESS:PORT"),
    ],
)
def test_what_is_no_address_is_wrong_usage(words: tuple[str, ...], said: str) -> None:
    """Nothing is begun, and what to do is said."""
    done = CliRunner().invoke(main, ["metrics", *words])

    assert 2 == done.exit_code
    assert said in " ".join(done.output.split())
