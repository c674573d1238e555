"""`wiring --record`: puts the declared wiring of a printer on record, without a run and without a port."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

import click

from commission.command_lines import filled

if TYPE_CHECKING:
    from commission.procedure.wiring.noted import NotedWiring
    from commission.records.book import Book
    from commission.records.place import Place

SURE = "--record says whose wiring it is; --by, --source and --book go with it."


@dataclass(frozen=True)
class Recorded:
    """A declaration as it stands in the book.

    Attributes:
        entry: its number.
        tag: the printer.
        noted: what it declares, beside what the last run declared.
    """

    entry: int
    tag: str
    noted: "NotedWiring"

    @property
    def sentences(self) -> list[str]:
        """It in words, for the screen."""
        return [
            f"Entry {self.entry} of {self.tag}.",
            *(filled(each, self.tag, "") for each in self.noted.sentences),
            "`check` and `diagnose` take it from now on, until a run or a newer entry declares the wiring.",
        ]

    def as_json(self) -> dict[str, object]:
        """It for a program; `difference` is empty where the last run declared the same, or none did."""
        return {
            "recorded": {
                "entry": self.entry,
                "tag": self.tag,
                "sensor": self.noted.sensor,
                "declared_on": self.noted.now.declared_on,
                "declared_by": self.noted.now.declared_by,
                "difference": self.noted.difference,
            }
        }


@dataclass(frozen=True)
class Recorder:
    """The open book, the printer and who declares its wiring."""

    book: "Book"
    tag: str
    person: str
    sensors: tuple[str, ...]
    sensor: str

    def record(self, answers: Mapping[str, str]) -> Recorded:
        """Write the declaration, which was assessed already.

        Raises:
            BookError: it could not be written.
        """
        from commission.cli.bench_name import bench_name
        from commission.evidence.entry import About
        from commission.procedure.wiring.declaration import assessed, wiring_found
        from commission.records.notes import add_wiring
        from commission.records.wirings import beside_the_last_run

        day = self.book.moment().at[:10]
        wiring = wiring_found(assessed(answers), on=day, by=self.person)
        noted = beside_the_last_run(self.book, self.tag, wiring, self.sensor, self.sensors)
        belongs_to = About(bench=bench_name(), sensor=self.sensor)
        written = add_wiring(self.book, self.tag, wiring, noted.as_note, belongs_to)
        return Recorded(written.sequence, self.tag, noted)


@contextmanager
def recorder(tag: str, person: str, sensor: str, place: "Place | None") -> Iterator[Recorder]:
    """The open book, looked at before anything is asked: so no answer is lost to a book that cannot take it.

    Raises:
        UsageError: nobody declares it, or of no such printer or sensor.
        Ending: the book is not there, or cannot be written.
    """
    from commission.cli.opening import opened_book
    from commission.cli.tag import no_such_printer
    from commission.records.history import tags
    from commission.records.several import sensors_on_record

    if not person.strip():
        raise click.UsageError("Say who declares the wiring: --by NAME.")
    with opened_book(place, writes=True) as book:
        if tag not in (known := tags(book)):
            raise no_such_printer(tag, known)
        sensors = sensors_on_record(book, tag)
        if sensor not in (sensors or ("",)):
            raise click.UsageError(_which_sensor(tag, sensors))
        yield Recorder(book, tag, person.strip(), sensors, sensor)


def _which_sensor(tag: str, sensors: tuple[str, ...]) -> str:
    if not sensors:
        return f"The book has one sensor of {tag}. Leave out --source."
    return f"The book has these sensors of {tag}: {', '.join(sensors)}. Name the one that is wired so with --source."
