"""Notes that people make between two checks: a nuisance trip, a reflash, new filament. New entries, never changes."""

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from commission.evidence.entry import NOTHING_TOLD, About, AnyRecord, Record, of_kind
from commission.evidence.findings.wiring import Wiring
from commission.evidence.runs import REWIRING, WIRING_DECLARED, Note
from commission.records.rows import readable

if TYPE_CHECKING:
    from commission.records.book import Book
    from commission.records.chain import Row

REMARK, NUISANCE, REFLASH, FILAMENT, INCIDENT = (
    "remark",
    "nuisance-trip",
    "reflash",
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
"""What a person may choose from."""
MEANINGS = WHATS | {WIRING_DECLARED: "the wiring, declared without a run"}
"""Every kind of note that there is."""
TRIGGERS = {
    NUISANCE: "a nuisance trip was noted",
    REFLASH: "a reflash was noted",
    REWIRING: "rewiring was noted",
    FILAMENT: "a new filament family was noted",
    INCIDENT: "an incident was noted",
}
"""What makes the next check due at once, and how the due list says so."""


def add_note(
    book: "Book", tag: str, what: str, text: str, *, person: str = "", about: int = 0, belongs_to: About = NOTHING_TOLD
) -> "Row":
    """Write a note behind the newest entry.

    Args:
        book: the record book.
        tag: the printer it is on.
        what: a key of `WHATS`.
        text: what it says.
        person: who writes it.
        about: sequence of the entry it corrects; 0 for none.
        belongs_to: the computer it is written at, as far as that is known.

    Raises:
        ValueError: a kind of note that does not exist, or an empty text.
        BookError: it could not be written.
    """
    if what not in WHATS:
        raise ValueError(f"A note is one of {', '.join(WHATS)}; not {what}.")
    if not text.strip():
        raise ValueError("A note says something: give its text.")
    note = Note(tag_of_printer=tag, what=what, text=text.strip(), person=person, about=about)
    return book.append(notes_of(tag), note, belongs_to)


def add_wiring(book: "Book", tag: str, wiring: Wiring, text: str, belongs_to: About = NOTHING_TOLD) -> "Row":
    """Write a wiring that was declared without a run behind the newest entry.

    Args:
        book: the record book.
        tag: the printer that is wired so.
        wiring: with the day and the name of who declares it.
        text: it in words.
        belongs_to: the computer it is written at, and of several sensors the one that is meant.

    Raises:
        BookError: it could not be written.
    """
    note = Note(tag_of_printer=tag, what=WIRING_DECLARED, text=text, person=wiring.declared_by, wiring=wiring)
    return book.append(notes_of(tag), note, belongs_to)


def notes_on(book: "Book", tag: str) -> Iterator[Record[Note]]:
    """The notes on one printer, oldest first; what another printer's note says is not needed for it.

    Raises:
        BookError: one of them cannot be read; it is named.
    """
    every = book.once("notes", lambda: tuple(book.every_record(Note)))
    found = (note for note in every if note.run == notes_of(tag) or isinstance(note.entry, Note))
    return iter(notes(readable(book.path, found), tag))


def notes_of(tag: str) -> str:
    """What stands in place of the number of a run in the notes on a printer."""
    return f"{tag}/notes"


def notes(records: Iterable[AnyRecord], tag: str) -> list[Record[Note]]:
    """The notes on one printer, oldest first."""
    return [note for note in of_kind(records, Note) if note.entry.tag_of_printer == tag]
