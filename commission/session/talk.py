"""Drives the conversation over a link with deadlines: a command in, an exchange out.

The rules of the conversation are in the dialect and know no time; the bytes are the link's. This room adds only
patience: how long silence may last, when a reply has gone on for too long, and what is repeated. Only a command that
reads is ever repeated by itself; what would change something is sent once, and its outcome is what came back.
"""

from collections import deque
from collections.abc import AsyncGenerator, Callable, Iterator
from contextlib import contextmanager

from commission.clock import Clock, Deadline
from commission.dialect.answers import Acknowledging
from commission.dialect.commands import RESET_LINE_NUMBER, Command, Effect
from commission.dialect.conversation import Conversation, ConversationState, Happening, Interruption, OutOfTurn
from commission.dialect.replies import Reply
from commission.link.base import Link
from commission.session.ahead import Line, polled
from commission.session.exchange import ConversationBroken, End, Exchange, Traffic, shows_trouble
from commission.session.opened import Opened
from commission.session.patience import LONGEST_WAIT_S, QUIET_KINDS, QUIET_LIMIT_S, QUIET_S, Patience
from commission.vocabulary import Slowed

ENDLESS_BYTES = 262_144
"""A reply longer than this has no end, whatever its pace: the longest settings or pin report is a tenth of it."""
LINGER_S = 0.5
"""After an acknowledgement without the answer this much silence means that there is no more to come."""
READ_TRIES = 3
"""How often a command that only reads is asked when the line swallowed it."""
POOR_LINE = 3
"""So many garbled or unanswered questions prove the line poor: from then on lines carry numbers and checksums."""

_BROKEN = (Interruption.BOARD_RESTARTED, Interruption.HALTED)


class Session:
    """One conversation with one printer.

    Args:
        link: the byte pipe; opened by `connect`, closed by `close`.
        clock: where deadlines come from.
        on_traffic: told every byte both ways, in order.
        on_aside: told every reply that belongs to no question, in order.

    Attributes:
        speed_baud: the speed found by `connect`.
        numbered: whether lines carry numbers and checksums.
        acknowledging: how the printer says that it is done with a command; heeded from the next quiet on.
        waits: says of a line beside an answer that no answer comes before a person acts: the exchange is then left.
        longest_wait_s: how long a printer that says that it is busy is waited for, in seconds.
        received_bytes: how many came since the link was opened.
        slowed: why the newest poll is not as fast as the wire allows; None where it is, or was not to be.
        on_busy: told at each such word how long has been waited, in seconds.
    """

    def __init__(
        self,
        link: Link,
        clock: Clock,
        *,
        on_traffic: Callable[[Traffic], None],
        on_aside: Callable[[Reply], None] = lambda _reply: None,
    ) -> None:
        self.link = link
        self.speed_baud = 0
        self.numbered = False
        self.acknowledging = Acknowledging.WORD
        self.waits: Callable[[Reply], bool] = lambda _reply: False
        self.longest_wait_s = LONGEST_WAIT_S
        self.on_busy: Callable[[float], None] = lambda _waited_s: None
        self.clock = self._clock = clock
        self._on_traffic = on_traffic
        self._on_aside = on_aside
        self._talk = Conversation()
        self._heard: deque[Happening] = deque()
        self._troubles = self.received_bytes = 0
        self._came_s = 0.0
        self.slowed: Slowed | None = None

    async def close(self) -> None:
        """Let go of the link."""
        await self.link.close()

    async def exchange(self, command: Command, timeout_s: float = 5.0) -> Exchange:
        """Send one command and bring back all that came up to its acknowledgement.

        A command that only reads is asked again when nothing came back; any other is sent once.

        Raises:
            LinkLost: the link is gone.
            ConversationBroken: the printer restarted or halted meanwhile.
        """
        tries = READ_TRIES if command.effect is Effect.READ_ONLY else 1
        done = await self._in_step(command, timeout_s)
        for _ in range(tries - 1):
            if done.end is not End.SILENT:
                break
            done = await self._in_step(command, timeout_s)
        return done

    async def listen(self, seconds: float) -> tuple[Reply, ...]:
        """Hear what the printer says by itself for so long.

        Raises:
            LinkLost, ConversationBroken: as for `exchange`.
        """
        heard: list[Reply] = []
        deadline = Deadline.after(self._clock, seconds)
        while not deadline.passed:
            await self._receive(deadline.remaining_s)
            while self._heard:
                heard.append(self._aside(self._heard.popleft()))
        return tuple(heard)

    @property
    def last_number(self) -> int | None:
        """The number of the line sent last; None where lines are not numbered."""
        return self._talk.last_number

    @contextmanager
    def numbering(self, first_number: int) -> Iterator[Conversation]:
        """Number the lines for a while, or raise OutOfTurn; the conversation goes on as before afterwards."""
        before, self._talk = self._talk, self._talk.numbered_for_a_while(first_number)
        try:
            yield self._talk
        finally:
            self._talk = self._talk if self.numbered else before

    async def wait_for_quiet(self, limit_s: float = QUIET_LIMIT_S) -> tuple[Reply, ...]:
        """Wait until the line is quiet, so many seconds at most, and begin a new conversation.

        A restart is heard here without complaint: after opening a port it is to be expected.
        """
        heard: list[Reply] = []
        limit, quiet = (Deadline.after(self._clock, seconds) for seconds in (limit_s, QUIET_S))
        while not (quiet.passed or limit.passed):
            await self._receive(min(quiet.remaining_s, limit.remaining_s))
            while self._heard:
                reply = self._heard.popleft().reply
                self._on_aside(reply)
                heard.append(reply)
                if reply.kind not in QUIET_KINDS:
                    quiet = Deadline.after(self._clock, QUIET_S)
        self._talk = Conversation(numbered=self.numbered, acknowledging=self.acknowledging)
        return tuple(heard)

    def poll(self, command: Command, interval_s: float, timeout_s: float) -> AsyncGenerator[Exchange, None]:
        """Ask again and again on a fixed beat; with an interval of zero as fast as the wire allows, see `ahead`.

        The caller ends it by closing the iterator; what was queued is then heard to its end before anything else.
        """
        self.slowed = None
        line = Line(lambda: self._talk, lambda: not self._heard, self._begin, self._counted, self._in_step, self._slows)
        return polled(line, command, interval_s, timeout_s, self._clock)

    async def once(self, command: Command, timeout_s: float) -> Exchange:
        """Send one command a single time; silence is an answer here.

        Raises:
            LinkLost, ConversationBroken: as for `exchange`.
        """
        return await self._in_step(command, timeout_s)

    async def unless_waiting(self, command: Command, timeout_s: float, waits: Callable[[Reply], bool]) -> Exchange:
        """Send one command once, and leave it open when a line beside its answer says that the printer waits.

        Where an earlier answer may still be on its way, another question is asked first; that one may be left as well.

        Raises:
            LinkLost, ConversationBroken: as for `exchange`.
        """
        while self._talk.adrift:
            done = await self._once(self._talk.resync_command, timeout_s, waits)
            if done.end is End.LEFT:
                return done
        opened = await self._begin(command)
        opened.leave = waits
        return await self._finish(opened, timeout_s)

    async def interject(self, command: Command) -> None:
        """Say an urgent word; whether it was taken shows only in what comes afterwards.

        Raises:
            LinkLost: the link is gone.
            OutOfTurn: the command is not urgent.
        """
        await self._hand_over(self._talk.interject(command))

    def forget_troubles(self) -> None:
        """What went wrong while the speed was looked for says nothing about the line."""
        self._troubles = 0

    async def _in_step(self, command: Command, timeout_s: float) -> Exchange:
        """One exchange; where an earlier answer may still be on its way, another question is asked first."""
        if self._troubles >= POOR_LINE and not self.numbered:
            await self._become_numbered(timeout_s)
        try:
            while self._talk.adrift:
                await self._once(self._talk.resync_command, timeout_s)
            return await self._once(command, timeout_s)
        except OutOfTurn:
            now_s = self._clock.monotonic()
            self._talk = Conversation(numbered=self.numbered, acknowledging=self.acknowledging)
            return Exchange(command, (), (), End.SILENT, now_s, now_s)

    async def _once(self, command: Command, timeout_s: float, waits: Callable[[Reply], bool] | None = None) -> Exchange:
        opened = await self._begin(command)
        opened.leave = waits or opened.leave
        return await self._counted(opened, timeout_s)

    async def _counted(self, opened: Opened, timeout_s: float) -> Exchange:
        done = await self._finish(opened, timeout_s)
        self._troubles += shows_trouble(done)
        return done

    def _slows(self, why: Slowed) -> None:
        self.slowed = why

    async def _become_numbered(self, timeout_s: float) -> None:
        self.numbered = True
        await self.wait_for_quiet()
        await self._once(RESET_LINE_NUMBER, timeout_s)

    async def _begin(self, command: Command, ahead: bool = False) -> Opened:  # noqa: FBT001, FBT002 - a callback
        await self._hand_over((self._talk.queue_ahead if ahead else self._talk.command)(command))
        return Opened(command, self._clock.monotonic(), leave=self.waits)

    async def _finish(self, opened: Opened, timeout_s: float) -> Exchange:
        patience = Patience(self._clock, timeout_s, self.longest_wait_s)
        while True:
            if not self._heard:
                opened.received_bytes += await self._receive(self._patience_s(patience))
            if not self._heard and self._lingered_out(opened, patience):
                return opened.done(End.ACKNOWLEDGED, self._clock.monotonic())
            while self._heard:
                happening = self._heard.popleft()
                if happening.belongs == "aside" or happening.to_send is not None:
                    await self._answer_back(happening)
                opened.sort(happening)
                if happening.belongs == "aside" and opened.leave is not None and opened.leave(happening.reply):
                    self._talk.give_up()
                    return opened.done(End.LEFT, self._clock.monotonic())
                if happening.exchange_done:
                    return opened.done(End.ACKNOWLEDGED, self._came_s)
                if patience.heard(happening):
                    self.on_busy(self._clock.monotonic() - opened.sent_s)
            end = self._hopeless(opened, patience)
            if end is not None:
                return opened.done(end, self._clock.monotonic())

    def _patience_s(self, patience: Patience) -> float:
        lingering = self._talk.state is ConversationState.LINGERING
        return min(LINGER_S, patience.left_s) if lingering else patience.left_s

    def _lingered_out(self, opened: Opened, patience: Patience) -> bool:
        """Acknowledged, and then silence: what came is the answer."""
        if self._talk.state is not ConversationState.LINGERING or self._talk.pending:
            return False
        if patience.silent or self._clock.monotonic() - opened.sent_s >= LINGER_S:
            self._talk.end_lingering()
            return True
        return False

    def _hopeless(self, opened: Opened, patience: Patience) -> End | None:
        if self._talk.in_flight is None:
            return End.SILENT
        if patience.endless or opened.received_bytes > ENDLESS_BYTES:
            self._talk.give_up()
            return End.ENDLESS
        if patience.silent:
            self._talk.give_up()
            return End.SILENT
        return None

    async def _answer_back(self, happening: Happening) -> None:
        if happening.to_send is not None:
            await self._hand_over(happening.to_send)
        if happening.belongs == "aside":
            self._aside(happening)

    def _aside(self, happening: Happening) -> Reply:
        """Pass on a line that belongs to no question; one that ends the conversation is raised."""
        self._on_aside(happening.reply)
        if happening.interruption in _BROKEN:
            raise ConversationBroken(happening.interruption, happening.reply)
        return happening.reply

    async def _hand_over(self, data: bytes) -> None:
        self._on_traffic(Traffic(sent=True, data=data, at_s=self._clock.monotonic()))
        await self.link.send(data)

    async def _receive(self, timeout_s: float) -> int:
        """Wait for bytes and keep what they mean; returns how many came."""
        data = await self.link.receive(timeout_s)
        if data:
            self._came_s = self._clock.monotonic()
            self._on_traffic(Traffic(sent=False, data=data, at_s=self._came_s))
            self._heard.extend(self._talk.feed(data))
        self.received_bytes += len(data)
        return len(data)
