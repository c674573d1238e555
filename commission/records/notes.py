"""Notes that people make between two checks: a nuisance trip, a reflash, new filament. New entries, never changes."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from commission.records.chain import Entry

if TYPE_CHECKING:
    from commission.records.book import Book

KIND = "note"
REMARK, NUISANCE, REFLASH, REWIRING, FILAMENT, INCIDENT = (
    "remark",
    "nuisance-trip",
    "reflash",
    "rewiring",
    "new-filament",
    "incident",
)
CORRECTION, CONSENT_WITHDRAWN = "correction", "consent-withdrawn"

WHATS = {
    REMARK: "a remark",
    NUISANCE: "the printer paused although filament was there",
    REFLASH: "the firmware was put on the board anew",
    REWIRING: "sensor, cable or plug was changed or moved",
    FILAMENT: "a filament family not used before",
    INCIDENT: "a crash, a moved printer, a runout that was not noticed",
    CORRECTION: "puts right an earlier entry, which stays as it was written",
    CONSENT_WITHDRAWN: "the tool may no longer open the port by itself",
}
TRIGGERS = {
    NUISANCE: "a nuisance trip was noted",
    REFLASH: "a reflash was noted",
    REWIRING: "rewiring was noted",
    FILAMENT: "a new filament family was noted",
    INCIDENT: "an incident was noted",
}
"""What makes the next check due at once, and how the due list says so."""


@dataclass(frozen=True)
class Note:
    """One note.

    Attributes:
        sequence: its place in the book.
        at: wall time, ISO 8601.
        what: a key of `WHATS`.
        person: who wrote it.
        about: sequence of the entry it corrects; 0 for none.
    """

    sequence: int
    at: str
    tag: str
    what: str
    text: str
    person: str = ""
    about: int = 0


def add_note(book: "Book", tag: str, what: str, text: str, *, person: str = "", about: int = 0) -> Note:
    """Write a note behind the newest entry.

    Raises:
        ValueError: a kind of note that does not exist, or an empty text.
        BookError: it could not be written.
    """
    if what not in WHATS:
        raise ValueError(f"A note is one of {', '.join(WHATS)}; not {what}.")
    if not text.strip():
        raise ValueError("A note says something: give its text.")
    facts = {"tag": tag, "what": what, "text": text.strip(), "person": person, "about": about}
    return _note(book.append(f"{tag}/notes", KIND, facts))


def notes(entries: Iterable[Entry], tag: str) -> list[Note]:
    """The notes on one printer, oldest first."""
    found = (_note(entry) for entry in entries if entry.kind == KIND)
    return [note for note in found if note.tag == tag]


def _note(entry: Entry) -> Note:
    facts = entry.facts
    return Note(
        entry.sequence,
        entry.at,
        str(facts["tag"]),
        str(facts["what"]),
        str(facts["text"]),
        str(facts.get("person", "")),
        int(facts.get("about", 0)),
    )
