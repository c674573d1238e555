"""What make-safe says to a printer, line by line, in each state it can find it in."""

from collections.abc import Callable

import pytest

from commission.conductor.connection import Connection
from commission.conductor.ear import Ear
from commission.conductor.ledger import Ledger
from commission.conductor.made_safe import Delivered, Doing, MadeSafe
from commission.conductor.make_safe import STILL_HOT, MakeSafe
from commission.dialect.commands import hotend_target as heat
from commission.dialect.commands import keepalive_interval, permit_cold_extrusion, temperature_reports
from tests.support.fake_desk import FakeDesk
from tests.support.fake_link import FakeLink
from tests.support.fake_time import FakeClock

WHO = b"FIRMWARE_NAME:ExampleFW 102.1.2 EXTRUDER_COUNT:1\nok\n"
COLD = b"ok T:180.0 /0.0 B:55.0 /0.0 @:0 B@:0\n"
HOT = b"ok T:200.0 /200.0 B:55.0 /0.0 @:0 B@:0\n"
Answer = Callable[[str], bytes | None]


async def made_safe(answer: Answer, *, loses: bool = False, heeds: bool = False) -> tuple[MadeSafe, list[str]]:
    """Make a printer safe that was heated to 200 degrees; what came of it, and the lines it was sent.

    It loses the line where that is said, and is known to heed emergency words where that is said.
    """
    clock, links, ear = FakeClock(), [], Ear(FakeClock())

    def link(_address: str) -> FakeLink:
        links.append(FakeLink(lambda line: WHO if line == "M115" else answer(line), clock))
        return links[-1]

    connection = Connection(
        "fake", make_link=link, find=lambda where: where, speeds_baud=(115200,), clock=clock, on_traffic=lambda _: None
    )
    await connection.open()
    links[-1].sent.clear()
    links[-1].lost = loses
    ledger = Ledger()
    ledger.sent(heat(200))
    found = await MakeSafe(connection, FakeDesk(), ledger, ear, clock, lambda: heeds).run()
    return found, links[-1].sent


async def test_an_idle_printer_is_switched_off_and_read_back() -> None:
    """Each heater is switched off and the targets are read back as zero: that is complete."""
    made, sent = await made_safe(lambda line: COLD if line == "M105" else b"ok\n")

    assert (Doing.ANSWERS, True) == (made.doing, made.complete)
    assert ["M105", "M104 S0", "M140 S0", "M105"] == sent
    assert {Delivered.YES} == {attempt.delivered for attempt in made.attempts}


async def test_a_printer_that_is_busy_is_waited_for() -> None:
    """It says that it works, and answers when it is done: its heaters are switched off like those of an idle one."""
    made, sent = await made_safe(lambda line: b"echo:busy: processing\n" + COLD if line == "M105" else b"ok\n")

    assert (Doing.ANSWERS, True) == (made.doing, made.complete)
    assert ["M105", "M104 S0", "M140 S0", "M105"] == sent


async def test_a_target_that_stays_is_not_called_safe() -> None:
    """Acknowledged or not, a target read back above zero leaves the printer as it may be hot."""
    made, _ = await made_safe(lambda line: HOT if line == "M105" else b"ok\n")

    assert not made.complete
    assert STILL_HOT == made.advice
    assert Delivered.YES is not made.attempts[-1].delivered


async def test_a_heater_off_that_was_swallowed_is_not_called_delivered() -> None:
    """One command that nobody acknowledged is enough not to be complete."""
    made, _ = await made_safe(lambda line: COLD if line == "M105" else None if line == "M140 S0" else b"ok\n")

    assert not made.complete
    assert [Delivered.YES, Delivered.NOT_SHOWN] == [attempt.delivered for attempt in made.attempts][:2]


async def test_a_printer_that_halted_by_itself_is_off_and_must_be_reset() -> None:
    """A halt switches all off: nothing more is sent, and the reset is named."""
    made, sent = await made_safe(lambda _line: b"Error:Printer halted. kill() called!\n")

    assert (Doing.HALTED, True) == (made.doing, made.complete)
    assert ["M105"] == sent
    assert "Reset it" in made.advice


async def test_a_board_that_restarts_meanwhile_is_asked_again() -> None:
    """A banner in the middle of it is waited out, and the heaters are switched off after it all the same."""
    banner = [b"start\necho: External Reset\necho:ExampleFW 102.1.2\n"]

    def answer(line: str) -> bytes | None:
        if banner:
            return banner.pop()
        return COLD if line == "M105" else b"ok\n"

    made, sent = await made_safe(answer)

    assert (Doing.RESTARTED, True) == (made.doing, made.complete)
    assert ["M105", "M105", "M104 S0", "M140 S0", "M105"] == sent


async def test_a_board_that_restarts_again_and_again_is_not_called_safe() -> None:
    """Restarted in the middle of it a second time, nothing shows that the heaters are off, and that is on record."""
    made, sent = await made_safe(lambda _line: b"start\necho: External Reset\necho:ExampleFW 102.1.2\n")

    assert (Doing.RESTARTED, False, STILL_HOT) == (made.doing, made.complete, made.advice)
    assert [("Heaters off", Delivered.NOT_SHOWN)] == [(each.what, each.delivered) for each in made.attempts]
    assert ["M105", "M105"] == sent


async def test_an_emergency_stop_without_a_halt_is_not_called_safe() -> None:
    """Sent and followed by no word that it halted, the stop is not shown, and the power switch is named."""
    made, sent = await made_safe(lambda line: None if line == "M112" else b"echo:busy: paused for user\n", heeds=True)

    assert (Doing.BLOCKED, False) == (made.doing, made.complete)
    assert [Delivered.NO, Delivered.NOT_SHOWN] == [attempt.delivered for attempt in made.attempts]
    assert "Use the printer's power switch now, then wait until it is cool." == made.advice
    assert ["M105", "M112"] == sent


async def test_a_printer_that_waits_for_a_person_is_told_nothing() -> None:
    """Heard to wait, it takes no command; without emergency words the power switch is all there is."""
    made, sent = await made_safe(lambda _line: b"echo:busy: paused for user\n")

    assert (Doing.BLOCKED, False) == (made.doing, made.complete)
    assert ["M105"] == sent


async def test_a_lost_link_is_said_with_what_may_be_hot() -> None:
    """With the port gone nothing is shown as delivered."""
    made, sent = await made_safe(lambda _line: b"ok\n", loses=True)

    assert (Doing.LINK_LOST, False, STILL_HOT) == (made.doing, made.complete, made.advice)
    assert [] == sent
    assert Delivered.YES not in {attempt.delivered for attempt in made.attempts}


@pytest.mark.parametrize("after", [False, True], ids=["before-a-change", "after-a-change"])
def test_what_is_put_back_is_what_was_read_before_the_first_change(*, after: bool) -> None:
    """An interval read before it was changed is put back; one read only afterwards is not as found."""
    ledger = Ledger()
    reading = ("M113", ["echo:M113 S2", "ok"])
    if not after:
        ledger.read(*reading)
    ledger.sent(keepalive_interval(0))
    ledger.read(*reading)
    ledger.read("M113", ["echo:M113 S9", "ok"])
    ledger.sent(temperature_reports(5))
    ledger.sent(permit_cold_extrusion(on=True))

    assert ([] if after else ["M113 S2"]) + ["M155 S0"] == [command.text for command in ledger.put_back()]
