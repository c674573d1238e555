"""`commission compare`: two settings reports side by side, by value."""

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from commission.settings.snapshot import Snapshot

LARGEST_CAPTURE_BYTES = 16 * 1024 * 1024
"""A console left open for a week stays below this; a greater file was given by mistake."""


@click.command()
@click.argument("tag", required=False)
@click.option("--before", type=click.Path(path_type=Path), help="A saved console capture of the earlier report.")
@click.option("--after", type=click.Path(path_type=Path), help="A saved console capture of the later report.")
@click.option("--json", "as_data", is_flag=True, help="Write JSON, as its published schema describes it.")
@click.option("--all", "everything", is_flag=True, help="List the values that are the same as well.")
@click.pass_context
def compare(
    context: click.Context,
    tag: str | None,
    before: Path | None,
    after: Path | None,
    *,
    as_data: bool,
    everything: bool,
) -> None:
    r"""Compare two settings reports of a printer by value.

    Two numbers are the same when they agree at the coarser printed precision. Lines are matched by what they mean, not
    by where they stand, in old and new forms of reply; an unknown line is compared as text.

    Exit code 0: no difference and nothing looks wrong. 1: something differs or looks wrong. 2: wrong usage.

    \b
    Example:
      commission compare --before bench-3-as-found.txt --after bench-3-reflashed.txt
    """
    if before is None or after is None:
        raise click.UsageError(_what_is_missing(tag, before, after))
    if tag is not None:
        raise click.UsageError("Give either a printer's tag or two files with --before and --after, not both.")
    from commission.settings.comparison import compare as compared
    from commission.settings.comparison_json import as_json
    from commission.settings.side_by_side import side_by_side

    comparison = compared(_snapshot(before, "--before"), _snapshot(after, "--after"))
    if as_data:
        click.echo(json.dumps(as_json(comparison), indent=2, ensure_ascii=False, allow_nan=False))
        for notice in comparison.notices:
            click.echo(notice, err=True)
    else:
        click.echo("\n".join(side_by_side(comparison, everything=everything)))
    context.exit(1 if comparison.differs else 0)


def _what_is_missing(tag: str | None, before: Path | None, after: Path | None) -> str:
    if tag is not None and before is None and after is None:
        return f"Comparing the records of {tag} is not possible yet. Give two saved captures with --before and --after."
    missing = [option for option, path in (("--before", before), ("--after", after)) if path is None]
    return f"{' and '.join(missing)} missing: give a saved console capture for each of --before and --after."


def _snapshot(path: Path, option: str) -> "Snapshot":
    """The settings in a capture.

    Raises:
        click.BadParameter: it cannot be read, is too large, or holds no settings.
    """
    from commission.settings.snapshot import NoReport, snapshot_of_capture

    try:
        if path.stat().st_size > LARGEST_CAPTURE_BYTES:
            raise click.BadParameter(
                f"{path} is larger than 16 MiB: give one capture of one report.", param_hint=option
            )
        return snapshot_of_capture(path.read_bytes())
    except OSError as unreadable:
        raise click.BadParameter(f"{path} cannot be read: {unreadable.strerror}.", param_hint=option) from unreadable
    except NoReport as empty:
        raise click.BadParameter(f"{path}: {empty}", param_hint=option) from empty
