"""What is seen of a power-off through real ports: the simulated printer as a process, its cable in real hands."""

import os
from pathlib import Path

import pytest

from commission.asking.response import HoldReleased
from commission.clock import SystemClock
from commission.conductor.conductor import Conductor
from commission.conductor.connection import Connection
from commission.conductor.scribe import Scribe
from commission.judge.power import PowerSeen
from commission.link.port import make_link
from commission.records.book import Book
from tests.conductor.test_power_seen import held
from tests.support.fake_desk import FakeDesk
from tests.support.fake_process import FakeProcess, running_printer

PORTS = [
    pytest.param((), marks=pytest.mark.skipif(os.name == "nt", reason="no pseudo-terminals there"), id="pty"),
    pytest.param(("--tcp", "0"), id="tcp"),
    pytest.param(("--rfc2217", "0"), id="rfc2217"),
]
OFF_AND_ON = (("mains", "off"), ("usb", "out"), ("usb", "in"), ("mains", "on"))
CABLE_LEFT_IN = (("mains", "off"), ("mains", "on"))
CABLE_ALONE = (("usb", "out"), ("usb", "in"))
NOTHING: tuple[tuple[str, ...], ...] = ()


async def released(printer: FakeProcess, folder: Path, deeds: tuple[tuple[str, ...], ...]) -> HoldReleased:
    """What came of a hold point at which the hands do this."""
    clock, desk = SystemClock(), FakeDesk()

    def act(_request: object) -> None:
        for deed in deeds:
            printer.do(*deed)

    desk.at_hold = act
    with Book(folder / "book.sqlite3", clock) as book:
        scribe = Scribe(book, "bench-3/2031-03-14/1")
        connection = Connection(
            printer.link,
            make_link=make_link,
            find=lambda address: address,
            speeds_baud=(115200,),
            clock=clock,
            on_traffic=scribe.overheard,
        )
        try:
            ended = await Conductor(connection, desk, scribe, clock, folder).run(held())
        finally:
            scribe.close()
    assert ended.result is not None
    return ended.result


@pytest.mark.parametrize("port", PORTS)
async def test_a_power_off_is_seen_through_every_kind_of_port(tmp_path: Path, port: tuple[str, ...]) -> None:
    """Mains off and the cable out: the port goes under the tool's hands, and the board says that it starts."""
    with running_printer("sound", *port, "--unpaced") as printer:
        found = await released(printer, tmp_path, OFF_AND_ON)

    assert PowerSeen.POWER_OFF is found.power


@pytest.mark.parametrize("deeds", [NOTHING, CABLE_LEFT_IN], ids=["nothing done", "cable left in"])
async def test_a_port_that_never_went_is_no_power_off(tmp_path: Path, deeds: tuple[tuple[str, ...], ...]) -> None:
    """The cable feeds the board too: with it left in, or nothing done at all, it is not what the steps asked for."""
    with running_printer("sound", "--tcp", "0", "--unpaced") as printer:
        found = await released(printer, tmp_path, deeds)

    assert not found.port_gone
    assert PowerSeen.POWER_OFF is not found.power


@pytest.mark.skipif(os.name == "nt", reason="no pseudo-terminals there")
@pytest.mark.parametrize(
    ("deeds", "gone", "seen"),
    [
        (OFF_AND_ON, True, PowerSeen.POWER_OFF),
        (CABLE_ALONE, True, PowerSeen.WORD),
        (NOTHING, False, PowerSeen.WORD),
    ],
    ids=["off and on", "cable alone", "nothing done"],
)
async def test_a_native_port_shows_a_restart_by_its_count(
    tmp_path: Path, deeds: tuple[tuple[str, ...], ...], seen: PowerSeen, *, gone: bool
) -> None:
    """Its banner is said while the port is away; its count of lines is lost only by a board that was really off."""
    with running_printer("native-port", "--unpaced") as printer:
        found = await released(printer, tmp_path, deeds)

    assert (gone, seen) == (found.port_gone, found.power)
    assert (seen is PowerSeen.POWER_OFF, False) == (found.count_lost, found.restarted)
