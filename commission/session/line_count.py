"""The printer's count of lines as a marker: kept in its working memory alone, it is lost when the printer restarts.

So it shows a restart of which the printer says nothing. Before, the count is set to a number and seen to be taken;
afterwards a question goes out as the next line. Where the count was lost the printer refuses that, asks for line 1, and
takes the same question as line 1: a printer that counted on would refuse line 1 too. One that looks at no numbers takes
everything, before and after, and so shows nothing.
"""

from commission.dialect.commands import IDENTITY, count_lines_from
from commission.dialect.conversation import OutOfTurn
from commission.dialect.identity import identity_of
from commission.dialect.replies import ReplyKind
from commission.session.exchange import End, Exchange
from commission.session.talk import Session

MARK = 2700
"""Beyond any number of lines that a board would be at after a restart."""
TIMEOUT_S = 2.5


async def mark_count(session: Session) -> int | None:
    """Have the printer count its lines from a number on; returns the count, None where it does not take it.

    On a line that is numbered already its count is the marker, and nothing is sent.

    Raises:
        LinkLost, ConversationBroken: as for `Session.exchange`.
    """
    if session.numbered:
        return session.last_number
    try:
        with session.numbering(MARK) as talk:
            for command in (count_lines_from(MARK), IDENTITY):
                done = await session.once(command, TIMEOUT_S)
                if not _taken(done):
                    break
            last = talk.last_number
    except OutOfTurn:
        return None
    if _taken(done):
        return last
    await session.wait_for_quiet()
    return None


async def count_lost(session: Session, count: int) -> bool:
    """Whether the printer, met again, has lost that count and began at nothing.

    Raises:
        LinkLost, ConversationBroken: as for `Session.exchange`.
    """
    try:
        with session.numbering(count + 1) as talk:
            done = await session.once(IDENTITY, TIMEOUT_S)
            last = talk.last_number
    except OutOfTurn:
        return False
    if done.end is not End.ACKNOWLEDGED:
        await session.wait_for_quiet()
    refused = any(reply.resend_line == 1 for reply in done.asides)
    return refused and last == 1 and identity_of(done.lines) is not None  # who it is was told under line 1


def _taken(done: Exchange) -> bool:
    """Whether the line was taken under its own number."""
    asked_again = any(reply.kind is ReplyKind.RESEND for reply in done.asides)
    return done.end is End.ACKNOWLEDGED and not asked_again
