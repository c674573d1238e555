"""Runs a procedure that needs no printer and asks nobody: what it says and keeps goes into the book as ever."""

import asyncio
from pathlib import Path
from typing import TypeVar

from commission.asking import table
from commission.asking.message import Establish, Punch, Tell, Weight
from commission.asking.request import Fingerprint, Keep, PhaseBegins, Recall, Request, Response
from commission.asking.reread import Reread
from commission.asking.steps import Steps
from commission.asking.table import By
from commission.conductor import evidence
from commission.conductor.conductor import Ended
from commission.conductor.keeping import fingerprint, keep_file
from commission.conductor.scribe import Scribe
from commission.desk.base import Desk
from commission.vocabulary import Outcome, PunchClass

_T = TypeVar("_T")
WITHOUT_A_PRINTER = (By.SAYING, By.BOOK, By.FILES)


class NeedsAPrinter(TypeError):
    """A procedure asked for something that only a printer or a person can give."""


class OnPaper:
    """Runs procedures without a printer, into one book."""

    def __init__(self, desk: Desk, scribe: Scribe, folder: Path) -> None:
        self._desk = desk
        self._scribe = scribe
        self._folder = folder
        self._unsafe_items = 0

    async def run(self, steps: Steps[_T]) -> Ended[_T]:
        """Run it to its end.

        Raises:
            BookError: the book cannot be written.
            NeedsAPrinter: it asks for what is not here.
        """
        response: Response = None
        while True:
            try:
                request = steps.send(response)
            except StopIteration as end:
                result: _T = end.value
                return Ended(Outcome.COMPLETE, result, unsafe_items=self._unsafe_items)
            await self._scribe.write(table.before(request))
            response = await self._fulfil(request)
            answer = table.after(request, response)
            if answer is not None:
                await self._scribe.write(answer)

    async def _fulfil(self, request: Request) -> Response:
        if table.TABLE[type(request)].by not in WITHOUT_A_PRINTER:
            raise NeedsAPrinter(f"{type(request).__name__} needs a printer or a person")
        match request:
            case Recall() | Reread():
                return await self._scribe.read_back(request)
            case Keep():
                return await self._keep(request)
            case Fingerprint():
                return await asyncio.to_thread(fingerprint, request.path)
            case Tell():
                await self._desk.tell(request)
            case Establish():
                await self._desk.establish(request)
            case Punch():
                self._unsafe_items += request.grade is PunchClass.UNSAFE
                await self._desk.punch(request)
            case PhaseBegins():
                await self._desk.tell(Tell((), heading=request.title, weight=Weight.STEP))
        return None

    async def _keep(self, request: Keep) -> str:
        kept = await asyncio.to_thread(keep_file, request, self._folder)
        await self._scribe.write(evidence.file_kept(request, kept))
        return str(kept.path)
