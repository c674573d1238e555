"""Whose turn is it, and to what does this line belong? The rules of the conversation, without wire and clock.

The legal moves stand in `moves`, with their argument. What tables cannot show:

- A command given up may still be answered. Until an answer that must have content has come to a *different* question,
  the conversation is adrift, and the same question is refused: its late answer would be taken for the new one.
- A switch query may be queued behind another, and a third behind both, to keep the wire busy in a watch. An error, a
  resend or a command given up ends that for good, and a printer that acknowledges before it answers is never asked so.
- With line numbers, an acknowledgement that names another line is an aside.
- Where a printer acknowledges nothing that has content, content is its own acknowledgement: the line that completes an
  answer is its last part, and one that does not leaves the exchange lingering until the line falls quiet.
"""

from collections import deque

from commission.dialect.answers import Acknowledging, Answer, names
from commission.dialect.commands import EMERGENCY_STOP, IDENTITY, POSITION, TEMPERATURES, Command, Effect, counts_from
from commission.dialect.exchange import Exchange, Repeat, most_on_the_way
from commission.dialect.framing import TERMINATOR, LineBuffer, RawLine
from commission.dialect.happening import Happening, Interruption, OutOfTurn
from commission.dialect.moves import OUR_MOVES, PRINTER_MOVES, Act, ConversationState, Signal
from commission.dialect.replies import Reply, ReplyKind, classify
from commission.vocabulary import Slowed

__all__ = ["Conversation", "ConversationState", "Happening", "Interruption", "OutOfTurn"]


_BY_WORD = Acknowledging.WORD
_ALWAYS = {ReplyKind.BANNER: Signal.BANNER, ReplyKind.HALTED: Signal.HALTED}
_IN_FLIGHT = {
    ReplyKind.BUSY: Signal.BUSY,
    ReplyKind.PAUSED_FOR_USER: Signal.PAUSED,
    ReplyKind.IDLE: Signal.IDLE,
}
_INTERRUPTIONS = {
    ConversationState.BOOTING: Interruption.BOARD_RESTARTED,
    ConversationState.HALTED: Interruption.HALTED,
}
# A printer that says it is busy is sent nothing, and one whose answer is open is not given a second to confuse it with.
_NOT_BEHIND = (
    ConversationState.BUSY,
    ConversationState.PAUSED,
    ConversationState.RESENT,
    ConversationState.LINGERING,
    ConversationState.HALTED,
)
_UNANSWERED = (ConversationState.AWAITING, ConversationState.BUSY, ConversationState.PAUSED)
# Questions that tell by their answer that we are in step again, best first.
_RESYNC = (IDENTITY, POSITION, TEMPERATURES)


class Conversation:
    """One conversation with one printer: commands in, bytes out; bytes in, happenings out.

    Args:
        numbered: send line numbers and checksums. Begin such a conversation with `count_lines_from`.
        first: number of the first line that is no such beginning.
        acknowledging: how the printer says that it is done with a command.

    Attributes:
        state: whose turn it is.
        adrift: a command was given up or pushed in; the next acknowledgement may be a late one. `resync_command`
            says what to ask to be sure again.
        held_back: why no question is queued behind another in this conversation any more; None where it may be.
    """

    def __init__(self, *, numbered: bool = False, first: int = 1, acknowledging: Acknowledging = _BY_WORD) -> None:
        self.state = ConversationState.OPENING
        self.adrift = False
        self._numbered = numbered
        self._acknowledging = acknowledging
        self._next_number = first
        self._buffer = LineBuffer()
        self._flight: deque[Exchange] = deque()
        self._given_up: set[Answer] = set()
        self.held_back = None if acknowledging is _BY_WORD else Slowed.SILENCE
        self._answers_late = False

    @property
    def in_flight(self) -> Command | None:
        """The command whose answer is awaited, or None."""
        return self._flight[0].command if self._flight else None

    @property
    def may_queue_ahead(self) -> bool:
        """Whether a question may be queued behind another; never where nothing but silence ends some answers."""
        return self.held_back is None and not self.adrift and self.state not in _NOT_BEHIND

    @property
    def pending(self) -> bytes:
        """What has come of a line that has not ended yet."""
        return self._buffer.pending

    @property
    def last_number(self) -> int | None:
        """The number of the line sent last, as the printer counts them; None where lines are not numbered."""
        return self._next_number - 1 if self._numbered else None

    def numbered_for_a_while(self, first_number: int) -> "Conversation":
        """One whose lines are numbered, to be gone back from; OutOfTurn where an answer may be on its way."""
        if self.in_flight is not None or self.adrift or self.pending:
            raise OutOfTurn("Lines can be numbered for a while only where no answer may be on its way.")
        return Conversation(numbered=True, first=first_number, acknowledging=self._acknowledging)

    @property
    def resync_command(self) -> Command:
        """What to ask when adrift, so that its answer cannot be taken for a late one.

        Raises:
            OutOfTurn: every such question was given up already.
        """
        for command in _RESYNC:
            if command.answer not in self._given_up:
                return command
        raise OutOfTurn(
            f"The printer answered none of: {names(c.answer for c in _RESYNC)}. Close the port and begin again."
        )

    def command(self, command: Command) -> bytes:
        """Begin an exchange; returns the bytes to send.

        Raises:
            OutOfTurn: one is in flight, the printer has halted, or the same question was given up and its late
                answer could be taken for the new one.
        """
        if self.adrift and command.answer in self._given_up:
            raise OutOfTurn(
                f"{command.text} was given up and may still be answered; ask {self.resync_command.text} first."
            )
        self.state = self._our_move(Act.COMMAND, command.text)
        return self._launch(command)

    def queue_ahead(self, command: Command) -> bytes:
        """Queue one question behind the same question in flight; returns the bytes to send.

        Raises:
            OutOfTurn: it is another command, as many are queued as may be, or queueing has ended for this run.
        """
        if command.effect is not Effect.READ_ONLY or command != self.in_flight:
            raise OutOfTurn("Only a question may be queued, and only behind the same question.")
        if len(self._flight) >= most_on_the_way(command) or not self.may_queue_ahead:
            raise OutOfTurn("No further query may be queued: wait for the answers first.")
        self.state = self._our_move(Act.QUEUE_AHEAD, command.text)
        return self._launch(command)

    def interject(self, command: Command) -> bytes:
        """Say an urgent word, whoever's turn it is; returns the bytes to send.

        Whether and when it is acknowledged is not known, so the conversation is adrift afterwards.

        Raises:
            OutOfTurn: the command is not urgent.
        """
        if not command.urgent:
            raise OutOfTurn(f"{command.text} is not urgent; wait for the printer's answer.")
        self.adrift = self.adrift or command != EMERGENCY_STOP
        return command.text.encode("ascii") + TERMINATOR

    def give_up(self) -> None:
        """Stop waiting: whatever is answered later is an aside, until a different question is answered.

        Raises:
            OutOfTurn: nothing is in flight.
        """
        self.state = self._our_move(Act.GIVE_UP, "give up")
        self._abandon()

    def end_lingering(self) -> None:
        """End an acknowledged exchange after which the line fell quiet: what came is the answer.

        A question meant to bring the answers back in step that was not answered is not asked again.

        Raises:
            OutOfTurn: nothing lingers.
        """
        self.state = self._our_move(Act.SETTLE, "settle")
        asked = self._flight[0]
        asked.progress.fell_quiet()
        if self.adrift and asked.command.answer.expects_lines and not asked.progress.complete:
            self._given_up.add(asked.command.answer)
        self._finish()

    def feed(self, data: bytes) -> list[Happening]:
        """Take bytes in; returns what each completed line means. Never fails, whatever comes."""
        return [self._take(line) for line in self._buffer.feed(data)]

    def _our_move(self, act: Act, what: str) -> ConversationState:
        try:
            return OUR_MOVES[self.state, act]
        except KeyError:
            raise OutOfTurn(f"Not our turn: {what!r} while the conversation is {self.state.value}.") from None

    def _launch(self, command: Command) -> bytes:
        number = None
        if self._numbered:
            begins_at = counts_from(command)
            number = self._next_number if begins_at is None else begins_at
            self._next_number = number + 1
        exchange = Exchange(command, number, self._acknowledging)
        self._flight.append(exchange)
        return exchange.frame

    def _take(self, line: RawLine) -> Happening:
        reply = classify(line)
        command = self.in_flight
        if reply.kind is ReplyKind.ERROR:
            self.held_back = self.held_back or Slowed.ERROR
        if self._flight and (reply.error is not None and reply.error.of_the_line):
            self._flight[0].new_error()
            if len(self._flight) > 1:
                return self._break_off(reply, Interruption.ANSWERS_UNCERTAIN)
        if self._flight and reply.kind is ReplyKind.RESEND and reply.resend_line is not None:
            return self._repeat(reply, reply.resend_line)
        return self._move(reply, self._signal(reply), command)

    def _move(self, reply: Reply, signal: Signal, command: Command | None, to_send: bytes | None = None) -> Happening:
        before = self.state
        self.state, belongs = PRINTER_MOVES[before, signal]
        if belongs == "end":
            self._answers_late = self._answers_late or signal is Signal.LAST
            self._finish()
        interruption = _INTERRUPTIONS.get(self.state) if self.state is not before else None
        if interruption is not None:
            self._flight.clear()
            self._next_number = 1
            self._set_in_step()
        return Happening(reply, belongs, belongs == "end", to_send, interruption, command)

    def _signal(self, reply: Reply) -> Signal:
        if not self._flight or reply.kind in _ALWAYS:
            return _ALWAYS.get(reply.kind, Signal.ASIDE)
        if reply.kind in _IN_FLIGHT:
            return _IN_FLIGHT[reply.kind]
        exchange = self._flight[0]
        if exchange.progress.acknowledges(reply):
            return self._acknowledgement(exchange, reply)
        said_back = reply.kind is ReplyKind.ECHOED_COMMAND and reply.command == exchange.command.text
        if said_back or not exchange.command.answer.takes(reply):
            return Signal.ASIDE
        exchange.progress.add(reply)
        return self._content(exchange)

    def _content(self, exchange: Exchange) -> Signal:
        bare = exchange.progress.unacknowledged
        late = self._answers_late or bare or self.state is ConversationState.LINGERING
        if late and exchange.progress.complete:
            return Signal.LAST
        return Signal.OPEN_OK if bare and self.state in _UNANSWERED else Signal.PART

    def _acknowledgement(self, exchange: Exchange, reply: Reply) -> Signal:
        if exchange.names_another(reply):
            return Signal.ASIDE
        exchange.progress.add(reply)
        resent = self.state is ConversationState.RESENT
        if resent and not exchange.command.answer.expects_lines and reply.acknowledged_line is None:
            return Signal.OPEN_OK
        return Signal.DONE if exchange.progress.complete else Signal.OPEN_OK

    def _repeat(self, reply: Reply, asked: int) -> Happening:
        self.held_back = self.held_back or Slowed.RESEND
        exchange = self._flight[0]
        if len(self._flight) > 1:
            return self._break_off(reply, Interruption.ANSWERS_UNCERTAIN)
        decision = exchange.repeat(asked)
        if decision is Repeat.HOPELESS:
            return self._break_off(reply, Interruption.LINE_POOR)
        if decision is Repeat.IGNORE:
            return self._move(reply, Signal.ASIDE, exchange.command)
        if exchange.number is not None:
            self._next_number = exchange.number + 1
        to_send = exchange.frame if decision is Repeat.SEND_AGAIN else None
        return self._move(reply, Signal.RESEND, exchange.command, to_send)

    def _break_off(self, reply: Reply, interruption: Interruption) -> Happening:
        command = self.in_flight
        self.give_up()
        return Happening(reply, "aside", interruption=interruption, command=command)

    def _finish(self) -> None:
        exchange = self._flight.popleft()
        if exchange.progress.has_lines and exchange.progress.complete:
            self._set_in_step()
        if self._answers_late:
            self.held_back = self.held_back or Slowed.AFTERWARDS
        if self._flight:
            self.state = ConversationState.AWAITING

    def _set_in_step(self) -> None:
        self.adrift = False
        self._given_up.clear()

    def _abandon(self) -> None:
        self._given_up |= {
            exchange.command.answer for exchange in self._flight if exchange.command.answer.expects_lines
        }
        self._flight.clear()
        self.held_back = self.held_back or Slowed.LOST
        self.adrift = True
