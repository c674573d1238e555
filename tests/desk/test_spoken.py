"""A desk that speaks: what is heard, what is left out, and that nothing waits for a voice."""

import asyncio
import shlex
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from commission.asking.message import Tell, Weight
from commission.asking.request import Confirm
from commission.desk.base import DeskError, Status
from commission.desk.spoken import SpokenDesk, aloud
from commission.desk.voice import MOST_WAITING, NO_SPEAKER, Voice, speaker
from tests.desk.fakes import until
from tests.desk.requests import (
    CAUTION,
    COUNTING,
    DWELLING,
    FINDING,
    INSERT,
    INSERTED,
    ITEM,
    READY,
    TAKEN,
)
from tests.support.fake_desk import FakeDesk

SPEAKS = "import sys; open(sys.argv[1], 'a').write(sys.stdin.read())"
HANGS = "import sys, time; open(sys.argv[1], 'a').write(sys.stdin.read()); time.sleep(600)"
FAILS = "import sys; sys.stdin.read(); sys.exit(3)"


class Thinking(FakeDesk):
    """The same desk with an operator who answers a question once told to."""

    def __init__(self) -> None:
        super().__init__()
        self.may_answer = asyncio.Event()

    async def confirm(self, request: Confirm) -> bool:
        """Yes, in time."""
        await self.may_answer.wait()
        return await super().confirm(request)


class Room:
    """A speaking desk, and what was heard in the room.

    The speech program is a real process; this one writes what it reads behind what was spoken before.
    """

    def __init__(self, place: Path, program: str = SPEAKS) -> None:
        self._heard = place / "heard.txt"
        self.shown = Thinking()
        self.voice = Voice((sys.executable, "-c", program, str(self._heard)))
        self.desk = SpokenDesk(self.shown, self.voice)

    @property
    def heard(self) -> list[str]:
        """Every sentence, in order."""
        return self._heard.read_text(encoding="utf-8").splitlines() if self._heard.exists() else []

    async def hears(self, *sentences: str) -> None:
        """Return once these were spoken, and nothing else."""
        await until(lambda: len(self.heard) >= len(sentences))
        assert list(sentences) == self.heard


@pytest.fixture(name="room")
def _room(tmp_path: Path) -> Iterator[Room]:
    room = Room(tmp_path)
    yield room
    room.voice.finish(0)


@pytest.fixture(name="hanging")
def _hanging(tmp_path: Path) -> Iterator[Room]:
    """A room whose speech program never comes to an end of its first sentence."""
    room = Room(tmp_path, HANGS)
    yield room
    room.voice.finish(0)


async def test_messages_and_results_are_spoken(room: Room) -> None:
    """Each once, with the word that says how it is to be taken; the screen has them too."""
    await room.desk.tell(CAUTION)
    await room.desk.establish(FINDING)
    await room.desk.punch(ITEM)

    await room.hears(
        "CAUTION: Hot nozzle. It stays hot for minutes.",
        "Finding: The polarity is direct, 2703 to 1.",
        "Open item A (unsafe to go on): Unplugged reads in. Cure: Change the contact.",
    )
    assert ["Hot nozzle", "It stays hot for minutes."] == room.shown.told
    assert [ITEM] == room.shown.items


async def test_picture_is_spoken_by_its_sentence(room: Room) -> None:
    """Signs that make a picture are no words."""
    await room.desk.tell(Tell(("o----o  o", "#      |"), "Wiring", Weight.NOTE, ("A switch to ground.",)))

    await room.hears("Wiring. A switch to ground.")
    assert "o----o  o" in room.shown.told


async def test_question_is_read_until_it_is_answered(room: Room) -> None:
    """With its lines; the answer is the desk's."""
    asked = asyncio.create_task(room.desk.confirm(READY))
    await room.hears("Look at bench-3. Is the filament out of the sensor?")
    room.shown.may_answer.set()

    assert await asked
    assert [READY.key] == room.shown.asked


async def test_what_was_answered_is_not_read_on(hanging: Room) -> None:
    """The answer ends the program in the middle of a sentence, and what waits is dropped."""
    asked = asyncio.create_task(hanging.desk.confirm(READY))
    await until(lambda: len(hanging.heard) == 1)
    hanging.voice.say("This waits behind it.")
    hanging.shown.may_answer.set()
    await asked
    await hanging.desk.tell(CAUTION)

    await until(lambda: len(hanging.heard) == 2)
    assert hanging.heard[1].startswith("CAUTION: Hot nozzle.")


async def test_order_of_a_trial_comes_at_once(hanging: Room) -> None:
    """Whatever is being spoken is cut off by it."""
    await hanging.desk.tell(CAUTION)
    await until(lambda: len(hanging.heard) == 1)
    await hanging.desk.begin_trial(INSERT)

    await until(lambda: len(hanging.heard) == 2)
    assert "Insert the filament." == hanging.heard[1]


async def test_dwell_begins_with_keep_still(room: Room) -> None:
    """No second and no reading of the countdown is spoken; then the dwell, and what it was."""
    await room.desk.begin_trial(INSERT)
    room.desk.show(COUNTING)
    room.desk.show(INSERTED)
    await room.hears("Insert the filament.")
    room.desk.show(DWELLING)
    await room.hears("Insert the filament.", "Keep still.")
    await room.desk.end_trial(INSERT, TAKEN)

    await room.hears("Insert the filament.", "Keep still.", "Prompt 1, insert: 3 readings, all active (TRIGGERED).")
    assert [COUNTING, INSERTED, DWELLING] == room.shown.statuses


async def test_what_waits_when_the_dwell_begins_is_dropped(hanging: Room) -> None:
    """It would be followed in the middle of the dwell; the order, still being spoken, is cut off."""
    await hanging.desk.begin_trial(INSERT)
    hanging.desk.show(COUNTING)
    await until(lambda: len(hanging.heard) == 1)
    hanging.voice.say("Too late.")
    hanging.desk.show(DWELLING)

    await until(lambda: len(hanging.heard) == 2)
    assert ["Insert the filament.", "Keep still."] == hanging.heard


async def test_new_note_is_spoken_once(room: Room) -> None:
    """As that the printer is busy; the same note again is no news."""
    for _ in range(3):
        room.desk.show(Status(note="the printer is busy"))

    await room.hears("the printer is busy.")


async def test_nothing_waits_for_a_program_that_hangs(hanging: Room) -> None:
    """Every call comes back, the way out of a run among them, and the program is ended with what it started."""
    await hanging.desk.open()
    await hanging.desk.tell(CAUTION)
    await until(lambda: len(hanging.heard) == 1)
    async with hanging.desk.unstoppable("The printer is being made safe."):
        assert "The printer is being made safe." == hanging.shown.unstoppable_now
        for _ in range(2 * MOST_WAITING):
            await hanging.desk.tell(Tell(("Heaters are off.",)))
    await asyncio.to_thread(hanging.voice.finish, 0)

    assert "Heaters are off." == hanging.shown.told[-1]
    assert 1 == len(hanging.heard)


@pytest.mark.parametrize(
    ("program", "why"),
    [
        ((sys.executable, "-c", FAILS), "it ended with exit code 3."),
        (("/nothing/speaks",), "No such file or directory."),
    ],
)
async def test_program_that_fails_is_owned_up_to_once(program: tuple[str, ...], why: str) -> None:
    """The screen says which program and why; the run goes on."""
    shown = FakeDesk()
    voice = Voice(program)
    desk = SpokenDesk(shown, voice)
    await desk.tell(Tell(("One.",)))
    await until(lambda: bool(voice.failure))
    for text in ("Two.", "Three."):
        await desk.tell(Tell((text,)))

    assert [f"Nothing is spoken any more: the program {shlex.join(program)} failed, {why}"] == [
        text for text in shown.told if text not in ("One.", "Two.", "Three.")
    ]
    assert await desk.confirm(READY)


def test_without_asking_for_it_nothing_speaks() -> None:
    """The desk itself is given back."""
    desk = FakeDesk()

    assert desk is aloud(desk, speak=False, named="")


@pytest.mark.parametrize(
    ("named", "there", "words"),
    [
        ("", {"spd-say", "espeak-ng"}, ("spd-say", "--wait", "--pipe-mode")),
        ("", {"espeak-ng"}, ("espeak-ng", "--stdin")),
        ("my-voice --rate 120 'two words'", {"my-voice", "spd-say"}, ("my-voice", "--rate", "120", "two words")),
    ],
)
def test_named_command_comes_before_the_systems(named: str, there: set[str], words: tuple[str, ...]) -> None:
    """Else the first speech program that is there."""
    assert words == speaker(named, lambda name: f"/usr/bin/{name}" if name in there else None)


@pytest.mark.parametrize(
    ("named", "said"),
    [
        ("", NO_SPEAKER),
        ("my-voice", "There is no program my-voice to speak with."),
        ("'", "The command ' to speak with cannot be read: No closing quotation."),
    ],
)
def test_nothing_to_speak_with_is_an_honest_error(named: str, said: str) -> None:
    """It says what to do, before the run begins."""
    with pytest.raises(DeskError) as raised:
        speaker(named, lambda _name: None)

    assert said == str(raised.value)
