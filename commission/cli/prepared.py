"""What a run begins with, read from the record book in one look: what is known of the printer, and its procedure."""

from dataclasses import dataclass
from datetime import date

from commission.asking.steps import Steps
from commission.cli.background import background_of
from commission.cli.options import Context, Job, Settings
from commission.conductor.ledger import Ledger
from commission.jobs.install import JobResult
from commission.judge.advice import Advice
from commission.judge.plan import Plan
from commission.procedure.settings.record import Sheet
from commission.records.book import Book
from commission.records.continuation import BrokenOff
from commission.records.unfinished import accounts


@dataclass(frozen=True)
class Given:
    """What is known before the book is asked.

    Attributes:
        person: who works.
        plan: of the trials.
        today: the day.
        repair: what the run before this one advised.
        broken: the run that is taken up again; None where a new one begins.
    """

    person: str
    plan: Plan
    today: date
    repair: Advice = Advice.NONE
    broken: BrokenOff | None = None


@dataclass(frozen=True)
class Prepared:
    """What a run begins with.

    Attributes:
        context: what its procedure was built from.
        left_on: what earlier runs of the printer left switched on or changed.
        steps: its procedure, not begun yet.
    """

    context: Context
    left_on: Ledger
    steps: Steps[JobResult]


def prepared(book: Book, settings: Settings, job: Job, known: Given) -> Prepared:
    """Read it, before the run itself stands in the book.

    Raises:
        BookError: something that the run is held against cannot be read.
    """
    with book.one_look():
        background = None
        if job.has_printer:
            background = background_of(
                book,
                settings.tag,
                settings.port,
                known.today,
                prove=settings.prove,
                broken=known.broken,
                attended=job.asks_to_open,
                purpose=job.purpose,
                source=settings.source,
            )
        sheet = Sheet(settings.tag, known.today.isoformat())
        context = Context(known.person, known.plan, known.repair, sheet, background, book)
        return Prepared(context, Ledger.from_record(accounts(book, settings.tag)), job.steps(context))
