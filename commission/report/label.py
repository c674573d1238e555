"""The label of a printer: what its last test with hands came to, and when the next check is due."""

from dataclasses import dataclass
from datetime import date

from commission.command_lines import LIST
from commission.dialect.sanitise import clean_text
from commission.records.book import Book, BookError
from commission.records.due import Standing, due_list
from commission.vocabulary import Verdict

WORDS = {
    Verdict.PASS: "PASS",
    Verdict.CONDITIONAL: "CONDITIONAL PASS",
    Verdict.FAIL: "FAIL: do not rely on it",
    Verdict.NOT_JUDGED: "NOT JUDGED: no pass",
}


class NoTest(BookError):
    """No completed test with hands on is on record."""


@dataclass(frozen=True)
class Label:
    """What stands on the sticker.

    Attributes:
        tag: the owner's name for the printer.
        verdict: of its newest completed test with hands on, in words.
        day: of that test, ISO.
        next_check: which check comes next and when; at once where something stands against the printer.
        number: of the report.
    """

    tag: str
    verdict: str
    day: str
    next_check: str
    number: str

    @property
    def text(self) -> str:
        """It as plain text, one line each."""
        lines = (self.tag, f"{self.verdict}  {self.day}", f"Next: {self.next_check}", f"Report: {self.number}")
        return "".join(f"{line}\n" for line in lines)


def label_of(book: Book, tag: str, today: date) -> Label:
    """The label of a printer as it stands on that day.

    Raises:
        NoTest: it has no completed installation and no completed check with hands on.
    """
    due = next((each for each in due_list(book, today) if each.tag == tag), None)
    if due is None or due.last is None:
        raise NoTest(
            f"No completed installation or check of {clean_text(tag)} is on record, so there is nothing to put on a "
            f"label. `{LIST}` shows the runs there are."
        )
    when = "at once" if due.standing is Standing.AT_ONCE else f"by {due.on.isoformat()}"
    return Label(
        tag=clean_text(tag),
        verdict=WORDS[due.last.verdict],
        day=due.last.started_at[:10],
        next_check=f"{due.what} {when}",
        number=clean_text(due.last.number),
    )
