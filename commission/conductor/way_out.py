"""The way out of a run: make safe, tell the operator, write it down; whatever fails, the rest is still done."""

from collections.abc import Callable

from commission.conductor import evidence
from commission.conductor.connection import Connection
from commission.conductor.ear import Ear
from commission.conductor.ledger import Ledger
from commission.conductor.made_safe import MadeSafe
from commission.conductor.make_safe import MakeSafe
from commission.conductor.scribe import Scribe
from commission.desk.base import Desk
from commission.procedure.message import Tell, Weight
from commission.records.book import BookError


class WayOut:
    """Takes one run out; what it did is kept for whoever ends the run."""

    def __init__(
        self,
        connection: Connection,
        desk: Desk,
        scribe: Scribe,
        ledger: Ledger,
        ear: Ear,
        takes_emergency_words: Callable[[], bool | None],
    ) -> None:
        self._desk = desk
        self._scribe = scribe
        self._ledger = ledger
        self._maker = MakeSafe(connection, desk, ledger, ear, takes_emergency_words)

    async def take(self) -> MadeSafe:
        """Make safe and say so.

        Raises:
            BookError: it was done and told, and could not be written down.
        """
        made = await self._maker.run()
        if not made.needed:
            return made
        if made.complete:
            self._ledger.settle()
        weight = Weight.FINDING if made.complete else Weight.DANGER
        await self._desk.tell(Tell(made.sentences[1:], heading=made.sentences[0], weight=weight))
        try:
            await self._scribe.flush()
            await self._scribe.write("made_safe", made.facts())
            if made.item is not None:
                await self._scribe.write(*evidence.request_entry(made.item))
        except BookError as unwritten:
            said = f"The record does not hold this: {unwritten}"
            await self._desk.tell(Tell((said,), heading="Not written down", weight=Weight.CAUTION))
            raise
        if made.item is not None:
            await self._desk.punch(made.item)
        return made
