"""Finds the speed at which a printer answers cleanly, on a port that is opened once."""

from collections.abc import Iterator, Sequence

from commission.clock import Deadline
from commission.dialect.answers import Acknowledging
from commission.dialect.commands import IDENTITY
from commission.dialect.family import identified
from commission.dialect.habits import HABITS, acknowledging_of
from commission.dialect.identity import identity_of
from commission.dialect.replies import Reply, ReplyKind
from commission.link.base import LinkLost, PortUnusable
from commission.session.exchange import ConversationBroken, End, Exchange, PrinterWaits
from commission.session.patience import QUIET_LIMIT_S
from commission.session.silence import Silence, late, not_found
from commission.session.talk import Session

IDENTITY_TIMEOUT_S = 2.5
FIRST_TRIES = 3
"""How often the likeliest speed is tried at first: a board behind a bridge is deaf for seconds after the opening."""
SPOILT_TRIES = 2
"""How often a speed is tried at which an answer came to its end: what was sent at a wrong one spoils the next line."""
SEARCH_S = 75.0
"""After so long no further speed is tried: with a silent port all of them are, once and most of them twice."""
QUIET_AT_ANOTHER_SPEED_S = 3.0
"""So long quiet is waited for at any but the likeliest speed: what a board says after a restart is over by then."""
ASK_AGAIN = 2
"""How often a printer that answered without saying who it is is asked again: the rest of a line spoils a question."""


async def connect(session: Session, speeds_baud: Sequence[int], silence: Silence | None = None) -> Exchange:
    """Open the link and change its speed until the printer answers cleanly; returns its answer to `who are you`.

    A board that restarts because its port was opened is given time to come up before the next speed is tried.

    Args:
        session: with the printer.
        speeds_baud: to try, the likeliest first.
        silence: how long a console is waited for from which nothing came at any of them; None for not at all.

    Raises:
        LinkError: the port cannot be opened or was lost.
        PrinterWaits: a printer is there, and answers nothing before a person has acted at it.
        SpeedNotFound: nothing clean came at any speed, or not in `SEARCH_S`.
    """
    await session.link.open(speeds_baud[0])
    waits = session.waits
    session.waits = lambda reply: reply.kind is ReplyKind.PAUSED_FOR_USER or waits(reply)
    try:
        return await _found(session, speeds_baud, silence or Silence())
    finally:
        session.waits = waits


async def _found(session: Session, speeds_baud: Sequence[int], silence: Silence) -> Exchange:
    search = Deadline.after(session.clock, SEARCH_S)
    tried: list[int] = []
    for speed_baud, tries in _tries(speeds_baud):
        if search.passed:
            break
        found = await _try_speed(session, speed_baud, tries)
        if found is not None:
            return await _at(session, speeds_baud[0], speed_baud, found)
        tried += [] if speed_baud in tried else [speed_baud]
    if not session.received_bytes and await silence.ends(session, session.clock):
        found = await _try_speed(session, speeds_baud[0], FIRST_TRIES)
        if found is not None:
            return await _at(session, speeds_baud[0], speeds_baud[0], found)
    raise not_found(session, tried, silence.waited_s)


async def _at(session: Session, first_baud: int, speed_baud: int, found: Exchange) -> Exchange:
    """Settle at that speed; answers to questions that were asked at another one show that the speed means nothing."""
    if speed_baud != first_baud and late(await session.wait_for_quiet()):
        again = await _try_speed(session, first_baud, SPOILT_TRIES)
        if again is None:
            await session.link.set_speed(speed_baud)
        else:
            speed_baud, found = first_baud, again
    session.speed_baud = speed_baud
    session.forget_troubles()
    return found


def _tries(speeds_baud: Sequence[int]) -> Iterator[tuple[int, int]]:
    """The speeds in the order in which they are tried, each with how often; the likeliest first, and longest."""
    for tries_at_first in (FIRST_TRIES, 1):
        yield speeds_baud[0], tries_at_first
        yield from ((speed_baud, 1) for speed_baud in speeds_baud[1:])


async def _try_speed(session: Session, speed_baud: int, tries: int) -> Exchange | None:
    try:
        await session.link.set_speed(speed_baud)
    except LinkLost:
        raise
    except PortUnusable:
        return None
    await session.wait_for_quiet(QUIET_LIMIT_S if tries > 1 else QUIET_AT_ANOTHER_SPEED_S)
    waiting: Exchange | None = None
    tried = 0
    while tried < tries:
        tried += 1
        done = await _asked_once(session)
        waiting = waiting if done is None else done if done.end is End.LEFT else None
        if done is None or waiting is not None:
            await session.wait_for_quiet()
        elif _is_clean(done):
            await _heed_its_word(session, done)
            return await _who_it_is(session, done)
        elif done.end is End.ACKNOWLEDGED:
            tries = max(tries, SPOILT_TRIES)
        elif not await _does_without_word(session, done) and _has_noise(done):
            break
    if waiting is not None:
        raise _waits_for_a_person(session, waiting)
    return None


async def _asked_once(session: Session) -> Exchange | None:
    """One question who it is, in plain text: lines get no numbers before somebody was found who could count them."""
    session.forget_troubles()
    try:
        return await session.once(IDENTITY, IDENTITY_TIMEOUT_S)
    except ConversationBroken:
        return None


def _waits_for_a_person(session: Session, waiting: Exchange) -> PrinterWaits:
    return PrinterWaits(
        f"The printer on {session.link.name} waits for a person and answers no question before "
        f"(it says {waiting.asides[-1].text!r}).",
        "Go to it: answer what its display asks, or press its button, until it goes on. Then start again.",
    )


async def _who_it_is(session: Session, answered: Exchange) -> Exchange:
    """An answer that names somebody, if there is one to be had; else what was answered last."""
    for _ in range(ASK_AGAIN):
        if identity_of(answered.lines) is not None:
            break
        try:
            again = await session.once(IDENTITY, IDENTITY_TIMEOUT_S)
        except ConversationBroken:
            await session.wait_for_quiet()
            continue
        answered = again if _is_clean(again) else answered
    return answered


async def _does_without_word(session: Session, done: Exchange) -> bool:
    """Whether it answered, and is of a family that may say by no word that it is done; it is heard so then."""
    printer = identified(done.lines)
    ways = () if printer is None else HABITS[printer.family].acknowledging
    silent = done.end is End.SILENT and acknowledging_of(done.lines) is Acknowledging.EMPTY_LINE
    if not silent or Acknowledging.EMPTY_LINE not in ways:
        return False
    session.acknowledging = Acknowledging.EMPTY_LINE
    await session.wait_for_quiet()
    return True


async def _heed_its_word(session: Session, done: Exchange) -> None:
    """Where a word was lost before and has come now, it is waited for from here on."""
    if acknowledging_of(done.lines) is Acknowledging.WORD is not session.acknowledging:
        session.acknowledging = Acknowledging.WORD
        await session.wait_for_quiet()


def _is_clean(done: Exchange) -> bool:
    return done.end is End.ACKNOWLEDGED and not any(_is_noise(reply) for reply in done.answer)


def _has_noise(done: Exchange) -> bool:
    return any(_is_noise(reply) for reply in (*done.answer, *done.asides))


def _is_noise(reply: Reply) -> bool:
    """Whether a line looks like text read at a wrong speed: a good part of it no printable ASCII."""
    odd = sum(not 0x20 <= byte < 0x7F for byte in reply.raw)
    return odd >= max(2, len(reply.raw) // 8)
