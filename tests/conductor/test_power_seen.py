"""What is seen of a power-off at a hold point: the port that goes, and the board that begins anew."""

import asyncio
from dataclasses import replace
from pathlib import Path

import pytest

from commission.asking.replay import played_back
from commission.asking.request import Hold, PhaseBegins, PhaseEnds
from commission.asking.response import HoldReleased
from commission.asking.steps import Steps, ask, hold
from commission.dialect.commands import IDENTITY, SWITCHES
from commission.judge.power import PowerSeen
from commission.records.answers import given_in
from commission.vocabulary import Outcome
from tests.support.fake_bench import RUN, FakeBench
from tests.support.fake_desk import FakeDesk

OFF = Hold("unplug.1", "Power off", ("Pull the USB cable.",), "Done?", power=True)


def held(request: Hold = OFF) -> Steps[HoldReleased]:
    """One hold point in a phase of its own."""
    yield PhaseBegins("power", "Power")
    released = yield from hold(request)
    yield PhaseEnds("power")
    return released


async def released_at(bench: FakeBench, request: Hold = OFF) -> HoldReleased:
    """What came of the hold point."""
    ended = await bench.run(held(request))
    assert ended.result is not None
    return ended.result


async def test_a_port_that_goes_and_a_board_that_begins_anew_are_a_power_off(tmp_path: Path) -> None:
    """Both together: the port is gone while it is held, and the banner comes when it is opened again."""
    released = await released_at(FakeBench(tmp_path))

    assert (True, True) == (released.port_gone, released.restarted)
    assert PowerSeen.POWER_OFF is released.power


async def test_a_port_that_stays_leaves_it_on_the_operators_word(tmp_path: Path) -> None:
    """Released at once, with the power on, nothing was seen."""
    bench = FakeBench(tmp_path)
    bench.powers_off = lambda _key: False

    assert PowerSeen.WORD is (await released_at(bench)).power


async def test_a_pulled_cable_alone_is_no_power_off(tmp_path: Path) -> None:
    """The port goes and comes back, and the board runs on from another supply."""
    bench = FakeBench(tmp_path)
    bench.powers_off = lambda _key: False
    bench.answers = lambda key: bench.links[-1].lose() if key == "unplug.1" else None
    released = await released_at(bench)

    assert (True, False) == (released.port_gone, released.restarted)
    assert PowerSeen.WORD is released.power


async def test_a_banner_on_a_port_that_stays_is_a_restart(tmp_path: Path) -> None:
    """Switched off and on with the cable in: heard while it is held, on the port that stays open meanwhile."""
    bench = FakeBench(tmp_path)
    bench.powers_off = lambda _key: False
    bench.answers = lambda key: bench.links[-1].say(b"start\n") if key == "unplug.1" else None
    released = await released_at(bench)

    assert (False, True) == (released.port_gone, released.restarted)
    assert PowerSeen.RESTART is released.power


async def test_a_reflash_has_the_port_to_itself(tmp_path: Path) -> None:
    """There the port is let go before anybody is asked, for the program that flashes; nothing is seen of it."""
    bench = FakeBench(tmp_path)
    closed: list[bool] = []
    bench.answers = lambda key: closed.append(bench.links[-1].closed) if key == "unplug.1" else None
    released = await released_at(bench, replace(OFF, reflash=True))

    assert [True] == closed
    assert not released.port_gone


@pytest.mark.parametrize("powered_off", [True, False])
async def test_what_was_seen_is_read_back_from_the_book(tmp_path: Path, *, powered_off: bool) -> None:
    """A run that is taken up again judges the power-off by what was seen of it then."""
    bench = FakeBench(tmp_path)
    bench.powers_off = lambda _key: powered_off
    released = await released_at(bench)

    assert released == played_back(held(), given_in(bench.book, RUN, "power"))


async def test_a_stop_at_a_hold_point_lets_the_port_go(tmp_path: Path) -> None:
    """Ctrl-C while it is held ends the run, and the port is closed."""
    bench = FakeBench(tmp_path)
    bench.desk.stop_at = "unplug.1"
    ended = await bench.run(held())

    assert Outcome.STOPPED is ended.outcome
    assert bench.links[-1].closed


class SlowHands(FakeDesk):
    """Hands that have the printer dark for so long, switch it on, and release."""

    def __init__(self, bench: FakeBench, dark_s: float) -> None:
        super().__init__()
        self._bench, self._dark_s = bench, dark_s

    async def hold(self, request: Hold) -> None:
        """Off, wait, on: the board says that it starts."""
        await super().hold(request)
        clock, self._bench.dark = self._bench.clock, True
        until_s = clock.monotonic() + self._dark_s
        while clock.monotonic() < until_s:  # noqa: ASYNC110 - time passes while the line is listened to
            await asyncio.sleep(0)
        self._bench.dark = False
        self._bench.links[-1].say(b"start\n")


@pytest.mark.parametrize(
    ("address", "dark_s", "seen"),
    [
        ("socket://192.0.2.7:4000", 8.0, PowerSeen.POWER_OFF),
        ("rfc2217://192.0.2.7:4000", 8.0, PowerSeen.POWER_OFF),
        ("socket://192.0.2.7:4000", 0.5, PowerSeen.RESTART),
        ("fake", 8.0, PowerSeen.RESTART),
    ],
)
async def test_over_a_network_silence_is_a_port_that_went(
    tmp_path: Path, address: str, dark_s: float, seen: PowerSeen
) -> None:
    """The far end keeps the connection open: three seconds without an answer show that the printer is off.

    A restart that takes a moment answers again too soon for that; and a device of this computer is seen to go itself.
    """
    bench = FakeBench(tmp_path)
    bench.address = bench.port = address
    bench.desk = SlowHands(bench, dark_s)

    assert seen is (await released_at(bench)).power


async def test_a_network_printer_that_answers_all_along_was_never_off(tmp_path: Path) -> None:
    """Held for long with the power on, it is on the operator's word."""
    bench = FakeBench(tmp_path)
    bench.address = bench.port = "socket://192.0.2.7:4000"
    bench.powers_off = lambda _key: False

    assert PowerSeen.WORD is (await released_at(bench)).power


async def named_later(bench: FakeBench, *, asks: bool, afterwards: str = "") -> HoldReleased:
    """A hold point at a printer that said no name at the opening: asked for it before, or not; it may change then."""
    name, bench.identity = bench.identity, ""
    bench.announces = False

    def steps() -> Steps[HoldReleased]:
        yield PhaseBegins("power", "Power")
        bench.identity, bench.announces = name, True
        if asks:
            yield from ask(IDENTITY)
        bench.identity = afterwards or name
        released = yield from hold(OFF)
        yield PhaseEnds("power")
        return released

    ended = await bench.run(steps())
    assert ended.result is not None
    return ended.result


@pytest.mark.parametrize("asks", [True, False], ids=["said before the hold point", "said after it"])
async def test_who_did_not_say_its_name_at_first_is_no_other_printer(tmp_path: Path, *, asks: bool) -> None:
    """No name at the opening, and a whole one later: it is the same printer as far as anybody can tell."""
    assert (await named_later(FakeBench(tmp_path), asks=asks)).same_identity


async def test_another_name_after_the_hold_point_is_another_printer(tmp_path: Path) -> None:
    """Learnt by a later answer, the name counts: who says another one afterwards is another printer."""
    released = await named_later(FakeBench(tmp_path), asks=True, afterwards="FIRMWARE_NAME:OtherFW 105.1")

    assert not released.same_identity


class CountingBench(FakeBench):
    """A printer that says nothing when it starts and looks at line numbers; `late` has it say so at that question.

    `refused` counts the lines that came under another number than the next one.
    """

    late = False
    refused = 0
    _count = 0

    def _power_off(self, request: Hold) -> None:
        if self.powers_off(request.key):
            self.links[-1].lose()
            self._count = 0

    def _printer(self, line: str) -> bytes | None:
        number, _, rest = line.partition(" ")
        if not number.startswith("N"):
            return super()._printer(line)
        if rest.startswith("M110"):
            self._count = int(number[1:])
        elif int(number[1:]) != self._count + 1:
            self.refused += 1
            refused = f"Error:Line Number is not Last Line Number+1, Last Line: {self._count}\n".encode()
            return b"start\n" if self.late else refused + f"Resend: {self._count + 1}\nok\n".encode()
        else:
            self._count += 1
        return super()._printer(line)


@pytest.mark.parametrize(
    ("powers_off", "late", "seen", "how"),
    [
        (True, False, PowerSeen.POWER_OFF, (False, True)),
        (True, True, PowerSeen.POWER_OFF, (True, False)),
        (False, False, PowerSeen.WORD, (False, False)),
    ],
    ids=["off and on", "its banner comes late", "never off"],
)
async def test_a_silent_board_shows_a_restart_by_its_count(
    tmp_path: Path, seen: PowerSeen, how: tuple[bool, bool], *, powers_off: bool, late: bool
) -> None:
    """The count is lost with the power; a banner that comes at last is the better sign; the book has which it was."""
    bench = CountingBench(tmp_path)
    bench.powers_off = lambda _key: powers_off
    bench.late = late
    released = await released_at(bench)

    assert (seen, how) == (released.power, (released.restarted, released.count_lost))
    assert released == played_back(held(), given_in(bench.book, RUN, "power"))


class PatientHands(FakeDesk):
    """Hands that release a hold point after so many seconds."""

    def __init__(self, bench: FakeBench, after_s: float) -> None:
        super().__init__()
        self._bench, self._after_s = bench, after_s

    async def hold(self, request: Hold) -> None:
        """Wait."""
        await super().hold(request)
        until_s = self._bench.clock.monotonic() + self._after_s
        while self._bench.clock.monotonic() < until_s:  # noqa: ASYNC110 - time passes while the line is listened to
            await asyncio.sleep(0)


async def test_a_numbered_line_goes_on_counting_through_a_hold_point(tmp_path: Path) -> None:
    """On a poor line over a network the questions of the hold point are counted, and the next is the next number."""
    bench = CountingBench(tmp_path)
    bench.address = bench.port = "socket://192.0.2.7:4000"
    bench.desk = PatientHands(bench, 20.0)
    bench.surprise = lambda queries: b"" if queries in (1, 3, 5) else None

    def steps() -> Steps[HoldReleased]:
        yield PhaseBegins("states", "States")
        for _ in range(4):
            yield from ask(SWITCHES)
        yield PhaseEnds("states")
        return (yield from held())

    ended = await bench.run(steps())

    assert ended.result is not None
    assert PowerSeen.WORD is ended.result.power
    assert sum(line.startswith("N") for line in bench.links[0].sent) > 5
    assert 0 == bench.refused


async def test_a_hold_point_on_a_line_that_is_dead_already_is_held(tmp_path: Path) -> None:
    """Nothing can be counted there: the port has gone, and the printer is looked for after the release."""
    bench = FakeBench(tmp_path)

    def steps() -> Steps[HoldReleased]:
        bench.links[-1].lose()
        return (yield from held())

    ended = await bench.run(steps())

    assert Outcome.COMPLETE is ended.outcome
    assert ended.result is not None
    assert ended.result.port_gone
