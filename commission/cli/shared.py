"""`commission book sync` and `book prepare-shared`: the shared book of several benches."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from commission.cli.book_place import WRITTEN_BOOK
from commission.cli.exit_codes import FAILED, NOT_FINISHED, PASSED, exits
from commission.cli.roster_file import ROSTER, roster_shared
from commission.cli.telling import remark, say, tell

if TYPE_CHECKING:
    from commission.records.shared.address import SharedAddress

SHARED = click.option(
    "--shared",
    "named",
    metavar="ADDRESS",
    help="Address of the shared book (else $COMMISSION_SHARED, else the roster's).",
)


def shared_address(named: str | None, roster: Path | None) -> "SharedAddress":
    """The address named on the command line, else the one in the environment, else the roster's.

    Raises:
        UsageError: none is named, or what is named is none.
        Ending: the roster cannot be read.
    """
    from commission.records.shared.address import VARIABLE, address_in, usual_address

    found = named or usual_address() or roster_shared(roster)
    if not found:
        raise click.UsageError(
            f"No shared book is named: give its address with --shared, in ${VARIABLE}, or as `shared` in the roster, "
            "as in postgresql://bench@books.example/commission."
        )
    try:
        return address_in(found)
    except ValueError as wrong:
        raise click.UsageError(f"This is no address of a shared book: {wrong}.") from wrong


@click.command(epilog="Example: commission book sync --shared postgresql://bench@books.example/commission")
@SHARED
@ROSTER
@WRITTEN_BOOK
@click.pass_context
@exits(
    {
        PASSED: "both books hold all of each other now",
        FAILED: "something was not carried over, or is gone from the shared book; it is named",
        NOT_FINISHED: "the shared book cannot be reached; nothing is lost, sync again later",
    }
)
def sync(context: click.Context, named: str | None, roster: Path | None, place: Path | None) -> None:
    """Carry over what this book and the shared one lack of each other.

    Every run is written into the book of this bench first, whether the network is there or not; this carries the
    chains of all benches both ways. Once more changes no chain. What was broken off is finished by the next sync. Of a
    chain that was altered, or that goes on in two ways, nothing is carried: it is named.
    """
    from commission.cli.bench_name import bench_name
    from commission.cli.opening import opened_book
    from commission.clock import SystemClock
    from commission.records.shared.sync import sync as synced

    address = shared_address(named, roster)
    with opened_book(place, create=True) as book:
        done = synced(book.path, address, SystemClock(), bench_name())
    for sentence in (*(each.sentence for each in done.chains), *done.lost):
        tell(sentence)
    if done.kept_back:
        tell(f"{done.kept_back} entries of this book are not in the shared one: this login may only read there.")
    given, got = sum(each.given for each in done.chains), sum(each.got for each in done.chains)
    say(f"{given} entries carried to the shared book, {got} fetched.")
    for sentence in done.clocks:
        remark(sentence)
    context.exit(PASSED if done.whole else FAILED)


@click.command(
    epilog="Example: commission book prepare-shared --shared postgresql://commission_owner@books.example/commission"
)
@SHARED
@ROSTER
@exits({PASSED: "it is prepared", NOT_FINISHED: "the database cannot be reached"})
def prepare_shared(named: str | None, roster: Path | None) -> None:
    """Make the tables of the shared book, or bring them up to date after an update of this program.

    It is done by the login that owns the database, and goes forward only: no entry is changed or taken away. All of it
    is done or nothing. The roles come first: docs/examples/shared-roles.sql.
    """
    from commission.records.shared.steps import prepare

    address = shared_address(named, roster)
    before, after = prepare(address)
    if before == after:
        say(f"The shared book {address} is up to date: step {after}.")
    else:
        say(f"The shared book {address} is prepared: step {after}{f', before {before}' if before else ''}.")
