"""Sends what a procedure asks for: only questions without the operator's release; all of it accounted for."""

from commission.asking.moving import Heard, Listen, MovesRun, RunMoves, Say
from commission.asking.request import Ask, Request
from commission.conductor.attention import Attention
from commission.conductor.ear import Ear
from commission.conductor.ledger import Ledger
from commission.conductor.moving import Moving
from commission.conductor.polling import NoAnswer
from commission.dialect.commands import Command, Effect
from commission.dialect.purity import only_reads
from commission.session import Exchange


class Unreleased(Exception):
    """A procedure asked for something that would move, heat, save or erase, and nobody had released it."""


def changes_something(request: Request) -> bool:
    """Whether it asks for more to be sent than a question."""
    match request:
        case Ask():
            return request.command.effect is not Effect.READ_ONLY
        case RunMoves():
            return request.sends
    return isinstance(request, Say)


class Sending:
    """The one way from a procedure to the printer.

    Attributes:
        released: which effects may go out under which release.
    """

    def __init__(self, attention: Attention, moving: Moving, ledger: Ledger, ear: Ear) -> None:
        self.released: dict[str, frozenset[Effect]] = {}
        self._attention = attention
        self._moving = moving
        self._ledger = ledger
        self._ear = ear

    async def fulfil(self, request: Ask | RunMoves | Say | Listen) -> Exchange | MovesRun | Heard | None:
        """Exchange or move. Raises as `exchange`."""
        return await (self.exchange(request) if isinstance(request, Ask) else self.move(request))

    async def exchange(self, request: Ask) -> Exchange:
        """Send one command and bring back its answer.

        Raises:
            Unreleased: it does more than read, and that was not released.
            NoAnswer: the printer was heard to wait for a person, and would not answer.
        """
        if self._ear.waits:
            raise NoAnswer("The printer waits for a person and answers no question.")
        self._account(request.command, request.release)
        self._require_question(request.command)
        exchange = await self._attention.exchange(request)
        self._ledger.read(request.command.text, exchange.lines)
        self._ear.answered()
        return exchange

    async def move(self, request: RunMoves | Say | Listen) -> MovesRun | Heard | None:
        """Run moves, say an urgent word, or listen. Raises as `exchange`."""
        match request:
            case RunMoves(sends=True):
                self._account(request.pattern.command(0), request.release)
            case Say():
                self._account(request.command, request.release)
        return await self._moving.fulfil(request)

    def _require_question(self, command: Command) -> None:
        """What reads on one family sets something, or runs a user's file, on another: there it never goes out."""
        printer = self._attention.printer
        asks = command.effect is Effect.READ_ONLY and printer is not None
        if asks and printer is not None and not only_reads(command.text, printer.family):
            raise Unreleased(f"{command.text} is no question on a printer of family {printer.family.value}")

    def _account(self, command: Command, release: str) -> None:
        effect = command.effect
        if effect is not Effect.READ_ONLY and effect not in self.released.get(release, frozenset()):
            raise Unreleased(f"{command.text} ({effect.value}) was not released by the operator")
        self._ledger.sent(command)
