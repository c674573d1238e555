"""What is seen of a power-off through real ports: the simulated printer as a process, its cable in real hands.

All cases are carried out at the same time: each waits in real time for what a port does.
"""

import asyncio
import os
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
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

OFF_AND_ON = (("mains", "off"), ("usb", "out"), ("usb", "in"), ("mains", "on"))
CABLE_LEFT_IN = (("mains", "off"), ("mains", "on"))
CABLE_ALONE = (("usb", "out"), ("usb", "in"))
NOTHING: tuple[tuple[str, ...], ...] = ()
TCP = ("--tcp", "0")


@dataclass(frozen=True)
class Case:
    """A unit behind a port, and what the hands do at its hold point; without words the port is a pseudo-terminal."""

    unit: str
    port: tuple[str, ...]
    deeds: tuple[tuple[str, ...], ...]


OFF = {
    "pty": Case("sound", (), OFF_AND_ON),
    "tcp": Case("sound", TCP, OFF_AND_ON),
    "rfc2217": Case("sound", ("--rfc2217", "0"), OFF_AND_ON),
}
STAYS = {"nothing done": Case("sound", TCP, NOTHING), "cable left in": Case("sound", TCP, CABLE_LEFT_IN)}
NATIVE = {
    "off and on": Case("native-port", (), OFF_AND_ON),
    "cable alone": Case("native-port", (), CABLE_ALONE),
    "nothing done": Case("native-port", (), NOTHING),
}
Seen = dict[Case, "Future[HoldReleased]"]


@pytest.fixture(scope="module", name="seen")
def _seen(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Seen]:
    """What comes of each case."""
    cases = [case for case in (*OFF.values(), *STAYS.values(), *NATIVE.values()) if case.port or os.name != "nt"]
    with ThreadPoolExecutor(len(cases)) as pool:
        yield {case: pool.submit(_carried_out, case, tmp_path_factory.mktemp("case")) for case in cases}


def _carried_out(case: Case, folder: Path) -> HoldReleased:
    with running_printer(case.unit, *case.port, "--unpaced") as printer:
        return asyncio.run(released(printer, folder, case.deeds))


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


@pytest.mark.parametrize("port", OFF)
def test_a_power_off_is_seen_through_every_kind_of_port(port: str, seen: Seen) -> None:
    """Mains off and the cable out: the port goes under the tool's hands, and the board says that it starts."""
    if OFF[port] not in seen:
        pytest.skip("no pseudo-terminals there")

    assert PowerSeen.POWER_OFF is seen[OFF[port]].result().power


@pytest.mark.parametrize("deeds", STAYS)
def test_a_port_that_never_went_is_no_power_off(deeds: str, seen: Seen) -> None:
    """The cable feeds the board too: with it left in, or nothing done at all, it is not what the steps asked for."""
    found = seen[STAYS[deeds]].result()

    assert not found.port_gone
    assert PowerSeen.POWER_OFF is not found.power


@pytest.mark.skipif(os.name == "nt", reason="no pseudo-terminals there")
@pytest.mark.parametrize(
    ("deeds", "gone", "power"),
    [
        ("off and on", True, PowerSeen.POWER_OFF),
        ("cable alone", True, PowerSeen.WORD),
        ("nothing done", False, PowerSeen.WORD),
    ],
)
def test_a_native_port_shows_a_restart_by_its_count(deeds: str, power: PowerSeen, seen: Seen, *, gone: bool) -> None:
    """Its banner is said while the port is away; its count of lines is lost only by a board that was really off."""
    found = seen[NATIVE[deeds]].result()

    assert (gone, power) == (found.port_gone, found.power)
    assert (power is PowerSeen.POWER_OFF, False) == (found.count_lost, found.restarted)
