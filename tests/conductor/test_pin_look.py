"""One pin read by release, on a simulated board whose asking changes the pin: when, when never, and what stays open."""

from collections.abc import Mapping
from pathlib import Path

import pytest

from commission.asking.steps import Steps
from commission.dialect.family import Family, printer_of
from commission.dialect.identity import Identity
from commission.evidence.findings.wiring import InputClaims, PinLooked, PinReported
from commission.evidence.found import Established
from commission.procedure.meeting.identify import identify
from commission.procedure.wiring.pin_look import changed_by_asking, pin_look
from commission.records.open_items import ITEMS, still_open
from commission.vocabulary import Presence, Pull, Reading
from fake_printer.printer import Printer
from fake_printer.profile import load_profile
from tests.dialect.printers import printer
from tests.support.device_bench import DeviceBench
from tests.support.made import begun

SENSOR = "42"
CHANGES = f"M42 P{SENSOR}"
SAYS: Mapping[str, bool | str] = {"pin.number": SENSOR, "pin.also": "alone"}
UNIT = """\
format = 1
like = "d-sensor"
summary = "its board runs on when the port is opened"
finding = "by the pin, after a release"

[wire]
reset_on_open = false
"""
EARLIER = "bench-3/2031-03-13/1"


class PinBench(DeviceBench):
    """A board that reads a pin at the price of its mode, and hands that move the filament as they are told."""

    def __init__(self, folder: Path, says: Mapping[str, bool | str]) -> None:
        unit = folder / "unit.toml"
        unit.write_text(UNIT, encoding="utf-8")
        super().__init__(Printer(load_profile(str(unit))), folder)
        self.says = {**SAYS, **says}
        self.powers_off = True
        self.idle_hands = False
        self.desk.at_hold = lambda _request: self._off_and_on()

    def _operator(self, key: str) -> bool | str | None:
        deed = {"pin.in": "insert", "pin.out": "withdraw"}.get(key)
        if deed and not self.idle_hands:
            self.printer.perform(deed)
            self.clock.pass_time(1.0)
        return self.says.get(key)

    def _off_and_on(self) -> None:
        if self.powers_off:
            self.printer.perform("power-cycle", "2")
            self.links[-1].lose()
            self.clock.pass_time(6.0)

    @property
    def asked(self) -> list[str]:
        """Every line that changes a pin."""
        return [line for line in self.received if "M42 P" in line]

    @property
    def open_items(self) -> list[str]:
        """What is open at the end, by the record: an item is settled by the release of its hold point."""
        return [item.entry.text for item in still_open(self.book.records(*ITEMS))]


def looking() -> Steps[bool]:
    """Identify, then look."""
    identity: Identity | None = yield from identify()
    answering = printer_of(identity)
    assert answering is not None
    return (yield from pin_look(answering))


async def test_a_pin_that_follows_the_filament_is_found(tmp_path: Path) -> None:
    """Six looks, in and out by turns; a power-off that was seen undoes what asking changed, and nothing is open."""
    bench = PinBench(tmp_path, {})
    ended = await bench.run(looking())
    found = bench.found(PinLooked)[-1]

    assert True is ended.result
    assert [CHANGES] * 6 == bench.asked
    assert (SENSOR, True) == (found.pin, found.follows)
    # by the unit's description: with the pull-up that asking gives, low with filament in and high with it out
    assert [(Presence.IN, Reading.INACTIVE), (Presence.OUT, Reading.ACTIVE)] * 3 == [
        (look.presence, look.reading) for look in found.looks
    ]
    assert [] == bench.open_items


async def test_nothing_is_asked_before_its_release(tmp_path: Path) -> None:
    """A no at the release: the pin is left alone, and nothing is open."""
    bench = PinBench(tmp_path, {"pin.release": False})
    ended = await bench.run(looking())

    assert False is ended.result
    assert [] == bench.asked
    assert "pin.release" in bench.desk.asked
    assert [] == bench.open_items


@pytest.mark.parametrize("also", ["output", "servo-or-probe", "driver-stall-output", "limit-switch", "unknown"])
async def test_a_pin_that_is_not_the_sensors_alone_is_refused(tmp_path: Path, also: str) -> None:
    """A driver, a probe, a heater, a switch, or nobody knows: no release is even asked for, and the reason is said."""
    bench = PinBench(tmp_path, {"pin.also": also})
    await bench.run(looking())

    assert [] == bench.asked
    assert "pin.release" not in bench.desk.asked
    assert any("not known to be alone" in text for text in bench.open_items)


@pytest.mark.parametrize(
    "noted",
    [
        InputClaims(
            name_on_board="X-MAX", pin=SENSOR, pull=Pull.UP, absent=None, claims=("limit-switch",), second_name=""
        ),
        PinReported(pin=SENSOR, names=("SENSOR_PIN", "BED_PIN")),
    ],
)
async def test_a_pin_that_the_record_gives_to_another_is_refused(
    tmp_path: Path, noted: InputClaims | PinReported
) -> None:
    """An earlier run noted something else on it, or the printer named two users: whatever is said now."""
    bench = PinBench(tmp_path, {})
    bench.book.append(EARLIER, begun(EARLIER))
    bench.book.append(EARLIER, Established(finding=noted))
    bench.book.append("bench-3/2031-03-14/1", begun("bench-3/2031-03-14/1"))
    await bench.run(looking())

    assert [] == bench.asked
    assert "pin.release" not in bench.desk.asked
    assert any("By the record" in told for told in bench.desk.told)


async def test_a_pin_that_the_board_refuses_leaves_nothing_open(tmp_path: Path) -> None:
    """Pin 8 belongs to a part that must not be touched: asked once, refused, and nothing was changed."""
    bench = PinBench(tmp_path, {"pin.number": "8"})
    ended = await bench.run(looking())

    assert False is ended.result
    assert 1 == len(bench.asked)
    assert [] == bench.open_items
    assert any("The board refuses pin 8" in told for told in bench.desk.told)


@pytest.mark.parametrize("said", [{"pin.restart": False}, {}])
async def test_the_change_stays_open_until_a_start_is_seen(tmp_path: Path, said: Mapping[str, bool]) -> None:
    """No power-off, or one that nobody saw: the pin is still told to be changed."""
    bench = PinBench(tmp_path, said)
    bench.powers_off = False
    await bench.run(looking())

    assert any(f"Pin {SENSOR}" in text or f"pin {SENSOR}" in text for text in bench.open_items)


async def test_a_pin_that_does_not_follow_is_said_to(tmp_path: Path) -> None:
    """The filament is never moved: the word stays, and no more is said than that."""
    bench = PinBench(tmp_path, {})
    bench.idle_hands = True
    await bench.run(looking())

    assert False is bench.found(PinLooked)[-1].follows


async def test_a_run_that_breaks_off_leaves_the_change_open(tmp_path: Path) -> None:
    """The port goes after the first look: what was changed stands open in the book."""
    bench = PinBench(tmp_path, {})
    bench.desk.stop_at = "pin.out"
    await bench.run(looking())

    assert 1 == len(bench.asked)
    assert [f"Pin {SENSOR} was made an input with a pull-up"] == [
        text.split(" to read")[0] for text in bench.open_items
    ]


@pytest.mark.parametrize("number", ["", "PA9", "7777"])
async def test_a_number_that_is_none_asks_nothing(tmp_path: Path, number: str) -> None:
    """Not known, or no number of a pin on this console."""
    bench = PinBench(tmp_path, {"pin.number": number})
    await bench.run(looking())

    assert [] == bench.asked


def test_only_one_family_changes_a_pin_by_asking() -> None:
    """The others read a pin without it, or have no such question: the dialect's sources of each family say so."""
    changing = {family for family in Family if changed_by_asking(printer(family))}

    assert {Family.D} == changing
    assert not changed_by_asking(None)
