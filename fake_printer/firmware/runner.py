"""Runs one command at a time: the first of the ring, or one that was put in front of it."""

import math
from collections import deque
from collections.abc import Sequence
from typing import Generic, Protocol, TypeVar

from fake_printer.firmware.command import Command
from fake_printer.firmware.outbox import Outbox, Piece
from fake_printer.firmware.reception import Reception
from fake_printer.firmware.voice import Handler, Patience, Steps, Voice, Wait

END_OF_CARD = "end of card"
"""The code of what a family does after the last command of a job from the card; nobody can send it."""


class Run(Protocol):
    """What running its commands takes of a firmware.

    Attributes:
        echoes: each command is said back before its reply. killed: stopped for good.
        reception: where commands come from. outbox: where replies go.
    """

    echoes: bool
    killed: bool
    reception: Reception
    outbox: Outbox

    def begin_busy(self) -> None:
        """A command has begun."""
        ...

    def begin_idle(self) -> None:
        """A command has ended."""
        ...


F = TypeVar("F", bound=Run)
F_contra = TypeVar("F_contra", contravariant=True)


class Meddler(Protocol[F_contra]):
    """Whoever disturbs the conversation."""

    def handler_for(self, command: Command) -> Handler[F_contra] | None:
        """Another handler in place of the command's own."""
        ...

    def sent(self, lines: Sequence[str], command: Command) -> list[Piece]:
        """What becomes of these lines of a reply on their way out."""
        ...


class Runner(Generic[F]):
    """Runs handlers and sends what they say.

    Attributes:
        running: the command under way; None while there is nothing to do.
        card: commands of the job that runs from the card; they go when the ring is empty.
        card_size: how many it had.
        injected: commands that go before the ring and are not acknowledged.
        data: what the running handler wants on the line of the acknowledgement.
        after_ok: what is said behind the acknowledgement of the running command.
        card_held: the job on the card waits. has_said: the running command has said something.
    """

    def __init__(self, firmware: F, voice: Voice[F], meddler: Meddler[F]) -> None:
        self.running: Command | None = None
        self.injected: deque[Command] = deque()
        self.card: deque[Command] = deque()
        self.card_size = 0
        self.card_held = self.has_said = False
        self.after_ok: list[str] = []
        self.data = ""
        self._firmware = firmware
        self._voice = voice
        self._meddler = meddler
        self._from_ring = False
        self._steps: Steps = iter(())
        self._wait: Wait = 0.0
        self._reply: list[str] = []

    def say(self, lines: Sequence[str]) -> None:
        """Add to the reply of the running command."""
        self._reply += lines
        self.has_said = self.has_said or bool(lines)

    def clear(self) -> None:
        """Forget what runs and what waits."""
        self.running = None
        self.injected.clear()
        self.card.clear()
        self._reply = []

    def step(self) -> bool:
        """Start or go on with one command, if one is due; false when there is nothing to do now."""
        if self.running is not None:
            return self._resume(self.running) if self._until_due_s() <= 1e-9 else False
        command = self._next()
        return self._start(command) if command is not None else False

    def _next(self) -> Command | None:
        self._from_ring = not self.injected
        if self.injected:
            return self.injected.popleft()
        if self._firmware.reception.ring:
            return self._firmware.reception.ring[0]
        self._from_ring = False
        return self.card.popleft() if self.card and not self.card_held else None

    def start_card(self, lines: Sequence[str]) -> None:
        """Begin the job on the card; comments and empty lines are no commands."""
        texts = [line.split(";")[0].strip() for line in lines]
        self.card = deque(Command.parse(text) for text in texts if text)
        self.card_size = len(self.card)
        self.card_held = False
        if END_OF_CARD in self._voice.handlers:
            self.card.append(Command("", END_OF_CARD))

    def _start(self, command: Command) -> bool:
        firmware = self._firmware
        self.running, self.data, self.has_said = command, "", False
        firmware.begin_busy()
        if firmware.echoes:
            self.say([command.text])
        if self._voice.ok_first and self._from_ring:
            self._acknowledge(command)
        self._steps = self._handler(command)(firmware, command) or iter(())
        return self._resume(command)

    def _handler(self, command: Command) -> Handler[F]:
        known = self._voice.handlers.get(command.code, self._say_unknown)
        return self._meddler.handler_for(command) or known if self._from_ring else known

    def _say_unknown(self, _: F, command: Command) -> None:
        self.say(self._voice.unknown(command))

    def _resume(self, command: Command) -> bool:
        try:
            self._wait = next(self._steps)
        except StopIteration:
            self._finish(command)
        if not self._firmware.killed:
            self._send(command)
        return True

    def _finish(self, command: Command) -> None:
        self.running = None
        if self._firmware.killed or not self._from_ring:
            return
        if not self._voice.ok_first:
            self._acknowledge(command)
        self._reply += self.after_ok
        self.after_ok = []
        self._firmware.reception.ring.popleft()
        self._firmware.begin_idle()

    def _acknowledge(self, command: Command) -> None:
        said = self._voice.ok(self._firmware, command, self.data)
        self.say([] if said is None else [said])

    def _send(self, command: Command) -> None:
        lines, self._reply = self._reply, []
        if lines:
            self._firmware.outbox.put(*self._meddler.sent(lines, command))

    def advance(self, elapsed_s: float) -> None:
        """Let the running command's waiting time pass."""
        if isinstance(self._wait, Patience):
            self._wait.left_s -= elapsed_s
        else:
            self._wait -= elapsed_s

    def _until_due_s(self) -> float:
        if not isinstance(self._wait, Patience):
            return self._wait
        return 0.0 if self._wait.until() else self._wait.left_s

    def until_next_s(self) -> float:
        """Seconds until a command goes on or begins; infinite while there is nothing to do or nothing to go on with."""
        if self.running is not None:
            return max(self._until_due_s(), 0.0)
        waiting = self.injected or self._firmware.reception.ring or (self.card and not self.card_held)
        return 0.0 if waiting else math.inf
