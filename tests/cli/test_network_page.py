"""The commands of docs/network.md, against the port server that the page sets up, with the page's own settings."""

import re
import shlex
import socket
import subprocess
import time
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import pytest

from commission.cli.exit_codes import NOT_A_PASS, PASSED, PORT_BUSY
from commission.evidence.findings.meeting import Consent
from commission.evidence.runs import Opened
from tests.cli.bench import Folder, Said
from tests.records.books import Workshop
from tests.support.fake_process import FakeProcess, running_fleet
from tests.support.patience import PATIENCE_S
from tests.support.programs import needs_program

PAGE = (Path(__file__).parents[2] / "docs" / "network.md").read_text(encoding="utf-8")
TAGS = ("bench-3", "bench-4")


def block(kind: str) -> list[str]:
    """The blocks of the page of that kind."""
    return re.findall(rf"```{kind}\n(.*?)```", PAGE, re.DOTALL)


COMMANDS = [line for lines in block("console") for line in lines.splitlines() if line]


@dataclass(frozen=True)
class Hall:
    """The page's workshop: its folder, and the ports in the place of those on the page."""

    folder: Folder
    ports: dict[str, str]

    def here(self, text: str) -> str:
        """A text of the page with the ports and devices of this machine."""
        for written, real in self.ports.items():
            text = text.replace(written, real)
        return text


def _free_port() -> str:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return str(probe.getsockname()[1])


def _wait_for(port: str) -> None:
    end_s = time.monotonic() + PATIENCE_S
    while time.monotonic() < end_s:
        with suppress(ConnectionRefusedError), socket.create_connection(("127.0.0.1", int(port)), PATIENCE_S):
            return
        time.sleep(0.05)
    raise AssertionError("the port server did not begin to listen")


FLEET = """\
format = 1

[[units]]
unit = "sound"
name = "bench-{n}"
port = "pty"
count = 4
paced = false
speed_factor = 20
"""


@pytest.fixture(name="printers", scope="module")
def _printers(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, FakeProcess]]:
    """Two sound printers on pseudo-terminals, with filament in, each with a unique number of its own."""
    file = tmp_path_factory.mktemp("fleet") / "fleet.toml"
    file.write_text(FLEET)
    with running_fleet(file) as fleet:
        for tag in TAGS:
            fleet.printers[tag].do("insert")
        yield {tag: fleet.printers[tag] for tag in TAGS}


@pytest.fixture(name="hall", scope="module")
def _hall(printers: dict[str, FakeProcess], tmp_path_factory: pytest.TempPathFactory) -> Iterator[Hall]:
    """The port server with the page's settings, and the page's roster; both printers are on record with consent."""
    server = needs_program("ser2net")
    folder = Folder(tmp_path_factory.mktemp("hall"))
    shared, plain = _free_port(), _free_port()
    devices = {f"/dev/serial/by-id/EXAMPLE-{tag[-1]}": printer.link for tag, printer in printers.items()}
    # behind the server are pseudo-terminals, which have no control lines
    addresses = {"rfc2217://127.0.0.1:4003": f"rfc2217://127.0.0.1:{shared}?ign_set_control"}
    hall = Hall(folder, {**addresses, "4003": shared, "4004": plain, **devices})
    workshop = Workshop(folder.place)
    for tag, port in zip(TAGS, ("rfc2217://127.0.0.1:4003", "socket://127.0.0.1:4004"), strict=True):
        run = f"{tag}/2031-03-14/1"
        workshop.whole_run(run, tag=tag)
        workshop.find(run, Consent, granted=True, by="R. Okafor")
        workshop.book.append(run, Opened(port=hall.here(port), restarted=False))
    workshop.book.close()
    (folder.place / "roster.toml").write_text(hall.here(block("toml")[0]))
    # a pseudo-terminal is no device that can be locked
    settings = hall.here(block("yaml")[0]).replace("serialdev,", "serialdev(nouucplock=true),")
    (folder.place / "server.yaml").write_text(settings)
    command = [server, "-n", "-d", "-c", str(folder.place / "server.yaml")]
    with subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as process:
        try:
            for port in (shared, plain):
                _wait_for(port)
            time.sleep(0.5)  # the look that was waited by is let go of
            yield hall
        finally:
            process.terminate()


@pytest.mark.parametrize("command", COMMANDS)
def test_a_command_of_the_page_works(hall: Hall, command: str) -> None:
    """It reaches both printers through a real RFC 2217 server, and finds nothing wrong with sound ones."""
    program, *words = shlex.split(hall.here(command))
    said = hall.folder.call(*words)

    assert "commission" == program
    assert said.code in (PASSED, NOT_A_PASS), said
    assert not re.search(r"exit code (?![04],)", said.error), said


PLAIN = "socket://127.0.0.1:4004"


def _plain_checked(hall: Hall) -> Said:
    """The page's check of the printer behind the plain port, by the roster."""
    words = ("check", "--all", "--roster", "plain.toml", "--steady", "1")
    (hall.folder.place / "plain.toml").write_text(
        f'format = 1\n[[printer]]\ntag = "bench-4"\nport = "{hall.here(PLAIN)}"\n'
    )
    return hall.folder.call(*words)


def _connected(hall: Hall) -> socket.socket:
    """Another program's connection to the plain port."""
    host, _, port = hall.here(PLAIN).removeprefix("socket://").partition(":")
    other = socket.create_connection((host, int(port)), PATIENCE_S)
    other.settimeout(PATIENCE_S)
    return other


def test_a_plain_port_in_use_is_told_as_such(hall: Hall) -> None:
    """The server lets a second one in, says that the port is in use, and hangs up: it is busy, not lost."""
    with _connected(hall) as other:
        assert other.recv(1)  # the server has the device open for it: the board tells of its start
        said = _plain_checked(hall)

    assert PORT_BUSY == said.code, said
    assert "hung up before anything was asked" in said.error


def test_what_others_left_on_a_plain_port_does_no_harm(hall: Hall) -> None:
    """One left without hearing its answers, one in the middle of a line: the check hears its own answers only."""
    for left in (b"M115\nM119\n" * 5, b"M11"):
        with _connected(hall) as other:
            assert other.recv(1)
            other.sendall(left)
    said = _plain_checked(hall)

    assert said.code in (PASSED, NOT_A_PASS), said
    assert re.search(r"bench-4: exit code [04]:", said.error), said


def test_the_page_has_its_commands() -> None:
    """A page that lost them would pass by saying nothing."""
    assert ["roster", "check"] == [command.split()[1] for command in COMMANDS]
