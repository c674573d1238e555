"""The way out of a run: make safe, tell the operator, write it down; whatever fails, the rest is still done.

Nothing breaks it off but its own time limit: a key or a signal is answered, an error in it leaves a record of it too.
"""

from collections.abc import Callable
from contextlib import suppress

from commission.asking import table
from commission.asking.message import Tell, Weight
from commission.clock import Clock
from commission.conductor.connection import Connection
from commission.conductor.ear import Ear
from commission.conductor.ledger import Ledger
from commission.conductor.made_safe import MadeSafe
from commission.conductor.make_safe import MakeSafe
from commission.conductor.scribe import Scribe
from commission.conductor.to_the_end import to_its_end
from commission.desk.base import Desk, OperatorStop
from commission.evidence import runs
from commission.records.book import BookError

MAKING_SAFE = (
    "Making safe, wait: heaters off, moves ended, settings put back, then all of it read back. This cannot be stopped."
)


class WayOut:
    """Takes one run out; what it did is kept for whoever ends the run."""

    def __init__(
        self,
        connection: Connection,
        desk: Desk,
        scribe: Scribe,
        clock: Clock,
        ledger: Ledger,
        ear: Ear,
        takes_emergency_words: Callable[[], bool | None],
        left_on: Callable[[], bool],
    ) -> None:
        self._desk = desk
        self._scribe = scribe
        self._ledger = ledger
        self._maker = MakeSafe(connection, desk, ledger, ear, clock, takes_emergency_words, left_on)

    async def take(self) -> MadeSafe:
        """Make safe and say so.

        Raises:
            BookError: it was done and told, and could not be written down.
        """
        return await to_its_end(self._unstoppable())

    async def _unstoppable(self) -> MadeSafe:
        async with self._desk.unstoppable(MAKING_SAFE):
            try:
                if self._maker.has_work:
                    await self._tell(Tell((MAKING_SAFE,)))
            finally:
                made = await self._made()
        return made

    async def _made(self) -> MadeSafe:
        made: MadeSafe | None = None
        try:
            made = await self._maker.run()
        finally:
            made = made or self._maker.broken_off("an error in this program ended it")
            if made.needed:
                await self._account_for(made)
        return made

    async def _account_for(self, made: MadeSafe) -> None:
        if made.complete:
            self._ledger.close_accounts()
        weight = Weight.FINDING if made.complete else Weight.DANGER
        try:
            await self._tell(Tell(made.sentences[1:], heading=made.sentences[0], weight=weight))
        finally:
            await self._write(made)
        if made.item is not None:
            with suppress(OperatorStop):
                await self._desk.punch(made.item)

    async def _write(self, made: MadeSafe) -> None:
        try:
            await self._scribe.flush()
            await self._scribe.write(runs.MadeSafe(way_out=made.on_record()))
            if made.item is not None:
                await self._scribe.write(table.before(made.item))
        except BookError as unwritten:
            said = f"The record does not hold this: {unwritten}"
            await self._tell(Tell((said,), heading="Not written down", weight=Weight.CAUTION))
            raise

    async def _tell(self, message: Tell) -> None:
        with suppress(OperatorStop):  # a terminal that is gone: the record still has it
            await self._desk.tell(message)
