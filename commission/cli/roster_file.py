"""Which file is the roster, and what is wrong with it, in lines."""

import os
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import click

from commission.cli.exit_codes import WRONG_USAGE

if TYPE_CHECKING:
    from commission.fleet.roster import Listed

VARIABLE = "COMMISSION_ROSTER"
_T = TypeVar("_T")
ROSTER = click.option(
    "--roster", type=click.Path(path_type=Path), help=f"Roster of the printers (else ${VARIABLE}, else none)."
)


def roster_place(named: Path | None, environment: Mapping[str, str] = os.environ) -> Path | None:
    """The file named on the command line, else the one in the environment, else none."""
    if named is not None:
        return named
    return Path(environment[VARIABLE]).expanduser() if environment.get(VARIABLE) else None


def roster_listed(named: Path | None) -> "list[Listed]":
    """The printers of the roster; none where no roster is named.

    Raises:
        Ending: it cannot be read, or something in it is wrong; each complaint has its line.
    """
    from commission.fleet.roster import read_roster

    place = roster_place(named)
    return [] if place is None else _read(place, read_roster)


def roster_shared(named: Path | None) -> str:
    """The address of the shared book that the roster names; empty where it names none, or no roster is named.

    Raises:
        Ending: as `roster_listed`.
    """
    from commission.fleet.roster import read_shared

    place = roster_place(named)
    return "" if place is None else _read(place, read_shared)


def _read(place: Path, read: Callable[[Path], _T]) -> _T:
    from commission.cli.telling import Ending
    from commission.dialect.sanitise import clean_text
    from commission.fleet.roster import RosterError

    shown = clean_text(str(place))
    try:
        return read(place)
    except OSError as error:
        raise Ending(f"The roster {shown} cannot be read: {error.strerror}.", WRONG_USAGE) from error
    except RosterError as error:
        said = [f"The roster {shown} cannot be used:"]
        said += [f"{shown}:{each.line}: {each.what}" for each in error.complaints]
        raise Ending("\n".join(said), WRONG_USAGE) from error


def roster_required(named: Path | None) -> "list[Listed]":
    """The printers of the roster.

    Raises:
        UsageError: no roster is named.
        Ending: as `roster_listed`.
    """
    if roster_place(named) is None:
        raise click.UsageError(
            f"No roster is named: give its file with --roster, or in ${VARIABLE}. Begin one with "
            "`commission roster propose`."
        )
    return roster_listed(named)
