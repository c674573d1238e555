"""`commission roster`: which printers there are, and which port each is behind."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from commission.cli.book_place import READ_BOOK
from commission.cli.exit_codes import FAILED, NOT_A_PASS, PASSED, exits, worst
from commission.cli.nearest import Commands
from commission.cli.roster_file import ROSTER, roster_listed, roster_required, roster_shared
from commission.cli.telling import hand_out, tell

if TYPE_CHECKING:
    from commission.fleet.known import OnRecord
    from commission.fleet.proof import Proven
    from commission.records.place import Place

NOT_WRITTEN = "The roster is yours: this was written to the output and into no file."


@click.group(cls=Commands, epilog="Example: commission roster propose > roster.toml")
def roster() -> None:
    """List the printers there are, and which port each is behind.

    A roster is a file that you write: one block for each printer, with its tag, place, port, speed, source, wiring and
    notes. No command changes it.
    """


@roster.command()
@ROSTER
def show(roster: Path | None) -> None:
    """Show the printers of the roster; everything that is wrong with the file is said with its line."""
    for each in roster_required(roster):
        told = [each.place, each.port and f"at {each.port}", each.speed and f"{each.speed} baud", each.source]
        told += [each.wiring, each.notes]
        tell(f"{each.tag}: {'; '.join(str(part) for part in told if part) or 'nothing more is said'}")


@roster.command()
@ROSTER
@READ_BOOK
def propose(roster: Path | None, place: "Place | None") -> None:
    """Write a block for each connected port that the roster does not have yet; no port is opened.

    A port with the serial number of a printer on record gets that printer's tag. Put the others' own names in the place
    of `printer-1` and so on, and write them on the machines.
    """
    from commission.fleet.known import proposed
    from commission.fleet.roster import as_toml
    from commission.link.discover import found_ports

    found = proposed(found_ports(), roster_listed(roster), _known(place))
    said = ["Proposed from the ports that are connected now.", NOT_WRITTEN] if found else []
    hand_out(as_toml(found, said or ["No port is connected that the roster does not have."]), end="")


@roster.command()
@ROSTER
@READ_BOOK
def complete(roster: Path | None, place: "Place | None") -> None:
    """Write the roster with what the record book knows: what it says nothing of, and printers it leaves out."""
    from commission.fleet.known import completed
    from commission.fleet.roster import as_toml

    found = completed(roster_listed(roster), _known(place, needed=True))
    said = ["Completed from the record book.", NOT_WRITTEN]
    hand_out(as_toml(found, said, roster_shared(roster)), end="")


@roster.command()
@click.option("--open", "to_open", multiple=True, metavar="TAG", help="Open this printer's port, ask it; repeatable.")
@ROSTER
@READ_BOOK
@click.pass_context
@exits({PASSED: "each is proven", FAILED: "one is another printer", NOT_A_PASS: "one is not proven, or is not there"})
def prove(context: click.Context, to_open: tuple[str, ...], roster: Path | None, place: "Place | None") -> None:
    """Say which printer is behind which port, by its own marks against the record.

    Without --open no port is opened, for that can restart a printer and kill a print: then only a USB serial number of
    its own proves anything. A printer named by --open is asked who it is, and nothing else.
    """
    from commission.fleet.proof import Proof, looked_at
    from commission.link.discover import found_ports

    listed, ports = roster_required(roster), found_ports()
    strange = sorted(set(to_open) - {each.tag for each in listed})
    if strange:
        raise click.UsageError(f"Not in the roster: {', '.join(strange)}.")
    known = {tag: each.marks for tag, each in _known(place).items() if each.marks is not None}
    found = []
    for each in listed:
        proven = looked_at(each, ports, known)
        if each.tag in to_open and proven.proof is not Proof.NO_PORT:
            from commission.cli.roster_ask import asked

            proven = asked(each, ports, known, place)
        found.append(proven)
        tell(f"{each.tag}  {each.port or '-'}  {proven.proof.value}: {proven.why}")
    context.exit(worst(_code(each) for each in found))


def _code(proven: "Proven") -> int:
    from commission.fleet.proof import Proof

    return {Proof.PROVEN: PASSED, Proof.ANOTHER: FAILED}.get(proven.proof, NOT_A_PASS)


def _known(place: "Place | None", *, needed: bool = False) -> "dict[str, OnRecord]":
    """What the book has; nothing where there is no book and none is needed."""
    from commission.cli.opening import opened_book
    from commission.fleet.known import on_record
    from commission.records.place import reading_place

    usual = reading_place(place)
    if not needed and place is None and isinstance(usual, Path) and not usual.exists():
        return {}
    with opened_book(place) as book:
        return on_record(book)
