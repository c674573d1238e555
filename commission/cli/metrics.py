"""`commission metrics`: how every printer stands, for a collector that reads a file or asks over the network."""

import ipaddress
import re
import threading
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from commission.cli.book_place import READ_BOOK
from commission.cli.roster_file import ROSTER, roster_listed

if TYPE_CHECKING:
    from commission.records.place import Place

DEFAULT_LISTEN = "127.0.0.1:9377"
KEPT_S = 15.0
"""The record is read no more often than this, however often a collector asks."""
OPEN_TO_OTHERS = "Anybody who reaches this address can read it: nothing asks for a password. See docs/network.md."


@click.command(epilog="Example: commission metrics --out /var/lib/collector/sensors.txt")
@click.option("--out", "file", type=click.Path(path_type=Path), help="File to write.")
@click.option(
    "--listen",
    is_flag=False,
    flag_value=DEFAULT_LISTEN,
    metavar="[ADDRESS:PORT]",
    help=f"Answer a collector instead, until told to end; {DEFAULT_LISTEN} if nothing else is named.",
)
@ROSTER
@READ_BOOK
def metrics(file: Path | None, listen: str | None, roster: Path | None, place: "Place | None") -> None:
    """Write how every printer stands as OpenMetrics text, for a collector that reads a file.

    The file is replaced whole or not at all: let a timer write it. What is not known has no sample.

    With --listen the same is answered at http://ADDRESS:PORT/metrics, drawn anew from the record every 15 seconds at
    most. Only this computer reaches the usual address. SIGTERM or Ctrl-C ends it.
    """
    if (file is None) == (listen is None):
        raise click.UsageError("Give --out FILE, or --listen.")
    if file is not None:
        from commission.files.kinds import METRICS
        from commission.files.output import write_output

        write_output(file, _drawn(roster, place), METRICS)
    elif listen is not None:
        _listen(*_address(listen), lambda: _drawn(roster, place))


def _drawn(roster: Path | None, place: "Place | None") -> bytes:
    from commission.cli.opening import opened_book
    from commission.clock import SystemClock
    from commission.fleet.metrics import as_openmetrics
    from commission.fleet.overview import overview

    with opened_book(place, by_time=True) as book:
        found = overview(book, date.today(), roster_listed(roster))  # noqa: DTZ011 - the owner's own calendar day
    return as_openmetrics(found, SystemClock().now())


def _address(listen: str) -> tuple[str, int]:
    found = re.fullmatch(r"(?:\[(?P<six>[0-9a-fA-F:.]+)\]|(?P<host>[^\[\]:\s]+)):(?P<port>\d{1,5})", listen)
    if found is None or int(found["port"]) > 65535:
        raise click.BadParameter("write ADDRESS:PORT, as in 127.0.0.1:9377 or [::1]:9377", param_hint="--listen")
    return found["six"] or found["host"], int(found["port"])


def _listen(host: str, port: int, draw: Callable[[], bytes]) -> None:
    from commission.cli.exit_codes import NOT_FINISHED
    from commission.cli.telling import Ending, remark
    from commission.desk.signals import ENDING, give_back, take
    from commission.fleet.listening import MetricsServer

    draw()  # what is wrong with the book or the roster is said now, not to a collector
    try:
        server = MetricsServer(host, port, _kept(draw))
    except OSError as error:
        raise Ending(f"Nothing can listen at {host}:{port}: {error.strerror or error}.", NOT_FINISHED) from error
    taken = take(ENDING, lambda _number, _frame: threading.Thread(target=server.shutdown).start())
    try:
        remark(f"Listening at {server.place}; Ctrl-C or SIGTERM ends it.")
        if not _is_loopback(host):
            remark(OPEN_TO_OTHERS)
        server.serve_forever(poll_interval=0.2)
    finally:
        give_back(taken)
        server.server_close()


def _kept(draw: Callable[[], bytes]) -> Callable[[], bytes]:
    """The text as it was drawn last, anew once it is old; one thread draws, the others wait for it."""
    from commission.cli.telling import Ending
    from commission.fleet.listening import CannotDraw

    lock, kept = threading.Lock(), [(-KEPT_S, b"")]

    def text() -> bytes:
        with lock:
            if time.monotonic() - kept[0][0] >= KEPT_S:
                try:
                    kept[0] = (time.monotonic(), draw())
                except Ending as error:
                    raise CannotDraw(error.message) from error
            return kept[0][1]

    return text


def _is_loopback(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"
