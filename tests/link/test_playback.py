"""A recorded conversation, replayed."""

import asyncio
from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.link.base import LinkLost, PortBusy
from commission.link.playback import (
    Direction,
    Playback,
    PlaybackDiffers,
    RecordingUnreadable,
    Step,
    steps_from_text,
    text_of_steps,
)

RECORDING = r"""
# a printer that greets, answers twice and is unplugged
< start\n
> M115\n
< FIRMWARE_NAME:ExampleFW 1.0\n
< ok\n
> M119\n
< filament: open\nok\n
! lost
"""


class FakeClock:
    """A clock whose sleep takes no time and is added up in `slept_s`."""

    def __init__(self) -> None:
        self.slept_s = 0.0

    def monotonic(self) -> float:
        """What was slept so far."""
        return self.slept_s

    def now(self) -> datetime:
        """Always the same moment."""
        return datetime(2000, 1, 1, tzinfo=UTC)

    async def sleep(self, seconds: float) -> None:
        """Add it up and let others run."""
        self.slept_s += seconds
        await asyncio.sleep(0)


async def _opened(text: str = RECORDING) -> tuple[Playback, FakeClock]:
    clock = FakeClock()
    link = Playback(steps_from_text(text), clock=clock)
    await link.open(115200)
    return link, clock


async def test_conversation_is_replayed() -> None:
    """Each answer becomes readable when its command is sent, piece by piece, and the loss comes last."""
    link, clock = await _opened()

    assert await link.receive(1.0) == b"start\n"
    await link.send(b"M115\n")
    assert await link.receive(1.0) == b"FIRMWARE_NAME:ExampleFW 1.0\n"
    assert await link.receive(1.0) == b"ok\n"
    assert await link.receive(0.25) == b""
    assert clock.slept_s == 0.25
    await link.send(b"M119\n")
    assert await link.receive(1.0) == b"filament: open\nok\n"
    for call in (link.receive(1.0), link.send(b"x"), link.set_speed(9600)):
        with pytest.raises(LinkLost):
            await call


async def test_command_may_be_sent_in_pieces() -> None:
    """A command counts as sent when its last byte was, whole or byte by byte, and what came before stays readable."""
    link, _ = await _opened()
    for byte in b"M115\n":
        await link.send(bytes([byte]))

    received = [await link.receive(0) for _ in range(3)]
    assert received == [b"start\n", b"FIRMWARE_NAME:ExampleFW 1.0\n", b"ok\n"]


async def test_other_command_is_refused() -> None:
    """Something else than the recording holds is refused with both, and so is one command too many."""
    link, _ = await _opened("> M115\\n\n< ok\\n")
    with pytest.raises(PlaybackDiffers, match=r"step 1 .* M112.* M115"):
        await link.send(b"M112\n")
    await link.send(b"M115\n")
    with pytest.raises(PlaybackDiffers, match="nothing was sent then"):
        await link.send(b"M115\n")


async def test_finished() -> None:
    """A playback has finished when everything was sent and everything was read."""
    link, _ = await _opened("> a\n< b")
    assert not link.finished
    await link.send(b"a")
    assert not link.finished
    await link.receive(0)
    assert link.finished


async def test_opening_and_closing() -> None:
    """A playback opens once, may be closed twice, refuses to work while closed and goes on when opened again."""
    link, _ = await _opened()
    with pytest.raises(PortBusy):
        await link.open(115200)
    await link.close()
    await link.close()
    for call in (link.receive(0), link.send(b"M115\n"), link.set_speed(9600)):
        with pytest.raises(LinkLost, match="not open"):
            await call

    await link.open(250000)
    assert await link.receive(0) == b"start\n"
    assert link.speeds_baud == [115200, 250000]


def test_recording_reads_back() -> None:
    """A comment and an empty line are no steps; escapes stand for bytes."""
    steps = steps_from_text("# note\n\n> a\\x00\\\\\\t\n< \\r\\n\n! lost\n")

    assert steps == (Step(Direction.SENT, b"a\x00\\\t"), Step(Direction.RECEIVED, b"\r\n"), Step(Direction.LOST))


@settings(deadline=None, max_examples=100)
@given(st.lists(st.tuples(st.sampled_from([Direction.SENT, Direction.RECEIVED]), st.binary(min_size=1, max_size=40))))
def test_any_recording_reads_back(pairs: list[tuple[Direction, bytes]]) -> None:
    """Whatever was recorded, its text form is printable ASCII and reads back as the same steps."""
    steps = (*(Step(direction, data) for direction, data in pairs), Step(Direction.LOST))
    text = text_of_steps(steps)

    assert steps == steps_from_text(text)
    assert text.replace("\n", "").isascii()
    assert text.replace("\n", "").isprintable()


@pytest.mark.parametrize("line", ["M115", "> \\q", "> \\x4", "> caf\u00e9", ">", "> ", "< a\\"])
def test_unreadable_line_is_named(line: str) -> None:
    """A line that is no step is refused with its number."""
    with pytest.raises(RecordingUnreadable, match="Line 2 "):
        steps_from_text("! lost\n" + line)


def test_step_checks_itself() -> None:
    """A step holds bytes exactly when something was sent or received."""
    with pytest.raises(ValueError, match="exactly when"):
        Step(Direction.SENT)
    with pytest.raises(ValueError, match="exactly when"):
        Step(Direction.LOST, b"x")
