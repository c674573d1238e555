"""The argument TAG: completed from the record book at the press of a key; a mistyped one is told the nearest."""

import sqlite3
from collections.abc import Callable, Collection
from typing import TYPE_CHECKING, Any, TypeVar

import click

from commission.cli.nearest import nearest

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

_F = TypeVar("_F", bound=Callable[..., Any])

CUT_UP = frozenset(",\\*?[]\"'`$")
"""A tag with one of these is not offered: the shells' own functions would cut it up or take it for a pattern."""


def no_such_printer(tag: str, known: Collection[str]) -> click.UsageError:
    """Wrong usage: nothing is on record of that printer. It says which are, and which was probably meant."""
    listed = ", ".join(known) or "none yet"
    return click.UsageError(f"No printer {tag} is on record.{nearest(tag, known)} On record: {listed}.")


def mistyped(tag: str, known: Collection[str]) -> str:
    """What is said before a run on a printer of which nothing is on record, where another's tag is near; else empty."""
    hint = "" if tag in known else nearest(tag, known)
    return f"No printer {tag} is on record.{hint} If so, stop with Ctrl-C: nothing was sent yet." if hint else ""


def offered_tags(context: click.Context, _parameter: click.Parameter, typed: str) -> "list[CompletionItem]":
    """The tags on record that begin so; none where there is no book that can be read, for a key press is no command."""
    from click.shell_completion import CompletionItem

    from commission.records.place import mirror_path, reading_place
    from commission.records.refused import BookError
    from commission.records.shared.address import SharedAddress
    from commission.records.tags import tags_at_a_glance

    try:
        place = reading_place(context.params.get("book") or context.params.get("place"))
        known = tags_at_a_glance(mirror_path(place) if isinstance(place, SharedAddress) else place)
    except (OSError, RuntimeError, BookError, sqlite3.Error):
        # no book, no home folder, or locked: the command itself will say so
        return []
    fit = (tag for tag in known if tag.isprintable() and CUT_UP.isdisjoint(tag))
    return [CompletionItem(tag) for tag in fit if tag.startswith(typed)]


def offered_ports(_context: click.Context, _parameter: click.Parameter, typed: str) -> "list[CompletionItem]":
    """The ports that are there now; none is opened."""
    from click.shell_completion import CompletionItem

    from commission.link.discover import found_ports

    return [CompletionItem(port.device) for port in found_ports() if port.device.startswith(typed)]


def tag_argument(*, required: bool = True) -> Callable[[_F], _F]:
    """Give a command the argument TAG."""
    return click.argument("tag", required=required, shell_complete=offered_tags)
