"""Whether the owner's consent to have a printer's port opened with nobody near is on record, and still holds."""

from dataclasses import dataclass

from commission.evidence.findings.meeting import Consent
from commission.records.book import Book
from commission.records.history import established, runs
from commission.records.notes import CONSENT_WITHDRAWN, notes_on


@dataclass(frozen=True)
class ConsentOnRecord:
    """The newest word on it.

    Attributes:
        granted: whether it holds.
        sentence: who said what and when.
    """

    granted: bool
    sentence: str


def consent_on_record(book: Book, tag: str) -> ConsentOnRecord:
    """The newest consent or refusal of the printer's owner, unless it was withdrawn since."""
    numbers = {run.number for run in runs(book, tag)}
    given = list(established(book, Consent, numbers))
    withdrawn = [note for note in notes_on(book, tag) if note.entry.what == CONSENT_WITHDRAWN]
    if not given:
        return _no(f"No consent to open the port of {tag} with nobody near is on record.")
    newest, consent = given[-1]
    if withdrawn and withdrawn[-1].sequence > newest.sequence:
        return _no(f"The consent for {tag} was withdrawn on {withdrawn[-1].at[:10]}.")
    if not consent.granted:
        return _no(f"On {newest.at[:10]} {consent.by} did not consent for {tag}.")
    return ConsentOnRecord(granted=True, sentence=f"On {newest.at[:10]} {consent.by} consented for {tag}.")


def _no(sentence: str) -> ConsentOnRecord:
    return ConsentOnRecord(granted=False, sentence=sentence)
