"""The campaign's people in the unplug test, driven by the tool itself: what they do, what is seen of it, what comes."""

from collections.abc import Generator
from typing import Any

import pytest

from commission.asking.request import TakeTrial, Watch
from commission.asking.response import HoldReleased
from commission.evidence.talk import HoldReleased as Released
from commission.judge.exposure import exposure_s
from commission.judge.plan import Plan
from commission.judge.power import PowerSeen
from commission.procedure.loop.start_up import read_start_up
from commission.procedure.loop.unplug import PLUG_BACK_IN, unplug_test
from commission.vocabulary import Instruction, Presence, Reading, SwitchBehaviour
from scripts.commissioning.adapter import Adapter, Record
from scripts.commissioning.campaign import play
from scripts.commissioning.chance import chance_of
from scripts.commissioning.circuit import Link, Wiring
from scripts.commissioning.hands import Hands, Look, Stopped
from scripts.commissioning.kinds import KINDS
from scripts.commissioning.person import Habits, Person, Plug, Power, Prompt
from scripts.commissioning.plant import Plant
from scripts.commissioning.record import Pages, PlantClock, commission_in
from scripts.commissioning.unit import Unit

PLAN = Plan(seed=3)
DANGER = Unit(Wiring(closes_when_in=False, absent_high=False))
NUMBERS = 3
"""Of each kind; the campaign plays hundreds."""


def at(unit: Unit, habits: Habits | None = None, seed: int = 1) -> Hands:
    """A person with these habits at this unit; a careful one where none are named."""
    chance = chance_of(seed)
    return Hands(Plant(unit, chance), Person(Habits() if habits is None else habits, chance))


def answer(hands: Hands, request: Any) -> Any:
    """What the adapter answers to one request."""
    taken: list[Any] = []

    def asked() -> Generator[Any, Any, None]:
        taken.append((yield request))

    Adapter(hands, Record()).drive(asked())
    return taken[0]


@pytest.mark.parametrize(
    ("power", "resets", "seen"),
    [
        (Power.OFF, False, PowerSeen.POWER_OFF),
        (Power.OFF, True, PowerSeen.POWER_OFF),
        (Power.USB_ONLY, False, PowerSeen.WORD),
        (Power.USB_ONLY, True, PowerSeen.POWER_OFF),
        (Power.KEPT, False, PowerSeen.WORD),
        (Power.KEPT, True, PowerSeen.RESTART),
    ],
)
def test_a_release_tells_what_was_done(power: Power, seen: PowerSeen, *, resets: bool) -> None:
    """Both out shows on any board; with USB alone out, one that restarts when its port is opened shows the same."""
    released = answer(at(Unit(restarts_on_opening=resets), Habits(powers=power)), PLUG_BACK_IN)

    assert isinstance(released, HoldReleased)
    assert (power is not Power.KEPT, power is Power.OFF or resets) == (released.port_gone, released.restarted)
    assert seen is released.power


def verdicts(kind: str) -> set[str]:
    """What some commissionings of the kind came to."""
    return {play(KINDS[kind], number, seed=2)[0].verdict for number in range(NUMBERS)}


@pytest.mark.parametrize(
    ("who", "expected"),
    [
        ("another plug pulled", "not judged"),
        ("another plug pulled, filament taken out", "not judged"),
        ("no plug pulled, filament taken out", "not judged"),
        ("nothing done but the filament taken out", "not judged"),
        ("only USB out, another plug, filament taken out", "not judged"),
        ("another plug until told, filament taken out", "fail"),
        ("plugged in again for power-up 2, filament out", "fail"),
        ("power kept on", "fail"),
        ("8 % of the answers unread", "fail"),
    ],
)
def test_a_moved_filament_shows_what_is_plugged_in(who: str, expected: str) -> None:
    """Fail-danger: whatever plug is pulled when, who moves the filament as told gets no pass."""
    assert {expected} == verdicts(f"fail-danger, {who}")


@pytest.mark.parametrize(
    ("who", "expected"),
    [
        ("another plug pulled until told", {"pass"}),
        ("plugged in again in power-up 2 until told", {"pass"}),
        ("power kept on", {"conditional pass"}),
        ("only USB out", {"pass", "conditional pass"}),
        ("2 % of the answers unread", {"pass"}),
    ],
)
def test_a_sound_unit_is_not_failed_for_it(who: str, expected: set[str]) -> None:
    """A plug that is found in the end costs nothing; a power-off that was not seen makes it conditional."""
    assert expected == verdicts(f"sound, {who}")


@pytest.mark.parametrize("who", ["another plug pulled", "nothing done"])
def test_a_filament_that_is_never_moved_shows_nothing(who: str) -> None:
    """Who pulls another plug and ignores all its eight moves is stopped by the pull: 1 kΩ changes nothing there."""
    assert {"conditional pass"} == verdicts(f"fail-danger, {who}, taken out and never moved")


@pytest.mark.parametrize(("link", "inside"), [(Link.OFF_AT_BOARD, True), (Link.ON, False), (Link.OFF_AT_BOARD, False)])
def test_a_forgotten_plug_is_put_right(link: Link, *, inside: bool) -> None:
    """Left unplugged, or without filament, the start-up reads otherwise; after a second look it reads as before."""
    hands = at(Unit())
    hands.plant.move(inside=inside)
    hands.plant.link = link
    came = Adapter(hands, Record()).drive(read_start_up(PLAN, "filament", SwitchBehaviour.DIRECT, PowerSeen.POWER_OFF))

    assert came.result.as_before
    assert (Link.ON, True) == (hands.plant.link, hands.plant.inside)
    assert (1, 2)[link is not Link.ON] == hands.plant.power_ups


class CalledAway(Hands):
    """Careful hands that end the run once, at the first move of the unplug test; `hung` is where the cable hung."""

    hung: Link | None = None

    def move(self, prompt: Prompt, look: Look) -> list[bool | None]:
        """Stop the first time; go on as usual afterwards."""
        if self.hung is None:
            self.hung = self.plant.link
            raise Stopped
        return super().move(prompt, look)


def test_a_run_left_unplugged_is_taken_up_plugged_in() -> None:
    """Broken off with the sensor unplugged, a run asks for it when it is taken up again, and comes to a pass."""
    chance = chance_of(1)
    hands = CalledAway(Plant(Unit(), chance), Person(Habits(), chance))
    with Pages(PlantClock(hands)) as book:
        came = commission_in(book, hands, chance_of(8))
        held = [record.entry.key for record in book.records(Released)]

    assert Link.OFF_AT_BOARD is hands.hung
    assert ["unplug.1", "sensor.plug_in", "unplug.1"] == held[:3]
    assert "pass" == came.verdict


def wiggle(seconds: float, interval_s: float = 0.1) -> Watch:
    """A watch of that length."""
    return Watch("wiggle", "Wiggle", (), "filament", Presence.IN, seconds, 20, interval_s)


@pytest.mark.parametrize("interval_s", [0.1, 0.0])
@pytest.mark.parametrize("unread", [0.0, 0.02, 0.3])
def test_a_watch_goes_on_until_it_has_watched(unread: float, interval_s: float) -> None:
    """However many answers are lost on the way, the known ones span what was planned; no more than needed is read."""
    taken = answer(at(Unit(unread=unread)), wiggle(10.0, interval_s))

    assert 10.0 <= exposure_s(taken.readings) + 1e-6
    assert 10.0 > exposure_s(taken.readings[:-1])
    assert taken.unread == sum(reading.reading is Reading.UNKNOWN for reading in taken.readings)
    assert (taken.unread > 0) is (unread > 0)


@pytest.mark.parametrize("interval_s", [0.1, 0.0])
def test_a_watch_without_answers_takes_twice_its_length(interval_s: float) -> None:
    """Where no answer is understood it ends after twice the time, with nothing watched."""
    taken = answer(at(Unit(unread=1.0)), wiggle(10.0, interval_s))

    assert 20.0 <= taken.seconds < 20.2
    assert (0.0, len(taken.readings), 0.0) == (exposure_s(taken.readings), taken.unread, taken.largest_gap_s)


def test_a_trial_tells_what_was_not_read() -> None:
    """Every reading of the dwell that could not be understood is unknown and counted."""
    request = TakeTrial(1, 40, 1, Instruction.INSERT, Presence.IN, "filament", 5.0, 21, 2.0)
    taken = answer(at(Unit(unread=0.5)), request)

    assert 21 == len(taken.dwell)
    assert 0 < taken.unread == sum(reading.reading is Reading.UNKNOWN for reading in taken.dwell) < 21


def test_a_second_power_up_asks_again_by_its_own_steps() -> None:
    """Plugged in again in the second power-up and told so, a person unplugs it there; both power-ups count."""
    hands = at(DANGER, Habits(pulls=Plug.WRONG, pulls_at=frozenset({2}), finds_it=True))
    came = Adapter(hands, Record()).drive(unplug_test(PLAN, "filament"))

    assert [Reading.ACTIVE] * 2 == [result.steady for result in came.result.at_board]
    assert 5 == hands.plant.power_ups  # as found, the first, the second twice, and to plug it in
