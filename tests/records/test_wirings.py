"""Which declaration of a wiring is the newest: of a run, or of a note, in one book and in two that were joined."""

from io import BytesIO
from pathlib import Path

import pytest

from commission.evidence.entry import About
from commission.evidence.findings.meeting import Repair
from commission.evidence.findings.wiring import Wiring
from commission.evidence.found import Established
from commission.evidence.runs import REWIRING
from commission.procedure.wiring.declaration import assessed, wiring_found
from commission.procedure.wiring.noted import NotedWiring
from commission.records.book import Book
from commission.records.export import export_lines, import_entries, read_export
from commission.records.history import newest_finding, runs_and_notes
from commission.records.notes import add_note, add_wiring
from commission.records.union import join
from commission.records.wirings import noted_wirings
from tests.records.books import Workshop
from tests.support.fake_time import FakeClock
from tests.support.made import made

FIRST, SECOND = "bench-3/2031-03-14/1", "bench-3/2031-03-20/1"
ANSWERS = {"sensor": "switch", "wires": "2", "contact": "NO", "to": "ground", "pull": "up", "absent": "high"}


def wiring(day: str = "", by: str = "", **answers: str) -> Wiring:
    """The declaration of a switch, with these answers instead of the usual ones."""
    return wiring_found(assessed(ANSWERS | answers), on=day, by=by)


def note(book: Book, day: str, by: str = "R. Okafor", sensor: str = "", tag: str = "bench-3", **answers: str) -> None:
    """A declaration without a run."""
    add_wiring(book, tag, wiring(day, by, **answers), "Declared.", About(sensor=sensor))


def run(workshop: Workshop, number: str, sensor: str = "", **answers: str) -> None:
    """A run that declares the wiring."""
    workshop.begin(number)
    workshop.book.append(number, Established.of(wiring(**answers)), About(sensor=sensor))
    workshop.end(number)


def newest(book: Book, *not_of: str) -> Wiring | None:
    """The declaration that a run which begins now takes."""
    return newest_finding(book, Wiring, runs_and_notes(book, "bench-3"), not_of)


@pytest.fixture(name="workshop")
def _workshop(tmp_path: Path) -> Workshop:
    """The workshop's book, still empty."""
    return Workshop(tmp_path)


def test_the_newest_declaration_wins(workshop: Workshop) -> None:
    """A note after a run is taken, then a later note, then a later run; another printer's never."""
    run(workshop, FIRST)
    assert (wiring(), ()) == (newest(workshop.book), noted_wirings(workshop.book, "bench-3"))

    note(workshop.book, "2031-03-15", contact="NC")
    workshop.begin("bench-4/2031-03-15/1", tag="bench-4")
    note(workshop.book, "2031-03-16", tag="bench-4")
    assert wiring("2031-03-15", "R. Okafor", contact="NC") == newest(workshop.book)

    note(workshop.book, "2031-03-17", "Ada")
    (noted,) = noted_wirings(workshop.book, "bench-3")
    assert ("declared on 2031-03-17 by Ada, without a run", "") == (noted.now.source, noted.difference)

    run(workshop, SECOND, contact="NC")
    assert (wiring(contact="NC"), ()) == (newest(workshop.book), noted_wirings(workshop.book, "bench-3"))


def test_what_differs_from_the_last_run_is_asked_about(workshop: Workshop) -> None:
    """Until a rewiring is noted, before the declaration or after it, or a repair is on record."""
    run(workshop, FIRST)
    note(workshop.book, "2031-03-15", contact="NC")

    def changed() -> bool:
        (noted,) = noted_wirings(workshop.book, "bench-3")
        assert noted.difference.endswith("contact NO, now NC."), noted.difference
        return noted.changed

    assert not changed()
    add_note(workshop.book, "bench-4", REWIRING, "Another printer.")
    assert not changed()
    add_note(workshop.book, "bench-3", REWIRING, "Crimped anew.")
    assert changed()


def test_a_repair_of_a_run_is_a_change_too(workshop: Workshop) -> None:
    """A run that repaired and declared nothing says that the wiring was changed."""
    run(workshop, FIRST)
    workshop.begin(SECOND)
    workshop.book.append(SECOND, Established.of(made(Repair)))
    note(workshop.book, "2031-03-21", contact="NC")

    assert [True] == [each.changed for each in noted_wirings(workshop.book, "bench-3")]


def test_of_several_sensors_each_has_its_own(workshop: Workshop) -> None:
    """A declaration of one is not taken for the other, and is held against what was declared of the same one."""
    run(workshop, FIRST, "left")
    run(workshop, SECOND, "right", contact="NC")
    note(workshop.book, "2031-03-21", sensor="left", contact="NC")
    found = noted_wirings(workshop.book, "bench-3", ("left", "right"))

    assert [("left", True)] == [(each.sensor, each.difference.endswith("contact NO, now NC.")) for each in found]
    assert wiring(contact="NC") == newest(workshop.book, "left")


def test_in_joined_books_the_later_one_wins(tmp_path: Path) -> None:
    """A declaration at one bench is taken until a later one at the other, whichever book takes the other in."""
    benches = []
    for name, days in (("one", 0.0), ("other", 1.0)):
        (tmp_path / name).mkdir()
        benches.append(Workshop(tmp_path / name))
        benches[-1].days_pass(days)
    one, other = benches
    run(one, FIRST)
    note(one.book, "2031-03-14", "Ada", pull="none")
    run(other, SECOND, contact="NC")
    one.days_pass(2)
    note(one.book, "2031-03-16", "Ada")
    other.days_pass(2)
    note(other.book, "2031-03-17", "Eze", contact="NC")
    one.days_pass(2)
    note(one.book, "2031-03-18", "Ada", absent="low")

    def taken(book: Book) -> list[tuple[str, str]]:
        found = noted_wirings(book, "bench-3")
        return [(each.now.declared_by, each.before_on) for each in found]

    assert [("Eze", "2031-03-15")] == taken(other.book)
    join(one.book, other.book)
    join(other.book, one.book)

    assert [[("Ada", "2031-03-15")]] * 2 == [taken(one.book), taken(other.book)]
    assert [] == one.book.verify() + other.book.verify()


def test_an_export_carries_it(workshop: Workshop, tmp_path: Path) -> None:
    """Imported elsewhere, the declaration is the same, with the day and the name."""
    run(workshop, FIRST)
    note(workshop.book, "2031-03-15", contact="NC")
    elsewhere = Book(tmp_path / "elsewhere.sqlite3", FakeClock())
    text = "\n".join(export_lines(workshop.book.chains()))
    import_entries(elsewhere, read_export(BytesIO(text.encode())))

    assert noted_wirings(workshop.book, "bench-3") == noted_wirings(elsewhere, "bench-3")
    assert wiring("2031-03-15", "R. Okafor", contact="NC") == newest(elsewhere)


def test_a_declaration_without_any_run_stands_alone(workshop: Workshop) -> None:
    """There is nothing that it could be held against."""
    note(workshop.book, "2031-03-14")
    (noted,) = noted_wirings(workshop.book, "bench-3")

    assert NotedWiring(wiring("2031-03-14", "R. Okafor")) == noted
    assert ("", "", False) == (noted.difference, noted.before_on, noted.changed)
