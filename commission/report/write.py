"""Draws the reports of a run and puts them where they are wanted, whole or not at all."""

import hashlib
import re
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from commission.files.kinds import DATA, PAGE, TEXT
from commission.files.output import make_folder, require_free, write_output
from commission.records.book import Book
from commission.report.build import build
from commission.report.document import Document
from commission.report.record import RunFacts, read_run

FORMATS = ("html", "markdown", "json")
_ENDINGS = {"html": "html", "markdown": "md", "json": "json"}
_KINDS = {"html": PAGE, "markdown": TEXT, "json": DATA}


def write_reports(
    book: Book, number: str, folder: Path, formats: Sequence[str] = FORMATS, *, full: bool = False
) -> list[Path]:
    """Draw a run's report from the book, once for each format, and return where the files are.

    A report is a function of the book alone: an older file of the same run is replaced by the same bytes. Where one of
    the files cannot be replaced, none is written.

    Raises:
        BookError: the book has no such run.
        OutputError: a file cannot be written, or something else is there.
    """
    return write_run(read_run(book, number), folder, formats, full=full)


def write_run(run: RunFacts, folder: Path, formats: Sequence[str] = FORMATS, *, full: bool = False) -> list[Path]:
    """The same for a run that was read already.

    Raises:
        OutputError: a file cannot be written, or something else is there.
    """
    files = {name: folder / f"{file_stem(run)}{_mark(name, full=full)}.{_ENDINGS[name]}" for name in formats}
    make_folder(folder)
    for name, path in files.items():
        require_free(path, _KINDS[name])
    drawn = {name: draw(run, name, full=full).encode() for name in files}
    for name, path in files.items():
        write_output(path, drawn[name], _KINDS[name])
    return list(files.values())


def _mark(name: str, *, full: bool) -> str:
    """What tells the long form from the short one; JSON has one form."""
    return "-full" if full and name != "json" else ""


def draw(run: RunFacts, name: str, *, full: bool = False) -> str:
    """The report in one format; JSON always holds everything."""
    if name == "json":
        from commission.report.as_json import json_text

        return json_text(run)
    return _writers()[name](build(run, full=full))


def _writers() -> Mapping[str, Callable[[Document], str]]:
    from commission.report.as_html import html
    from commission.report.as_markdown import markdown

    return {"html": html, "markdown": markdown}


def file_stem(run: RunFacts) -> str:
    """A file name any file system takes: tag, day and count, from the run's number."""
    plain = run.number.replace("/", "-")
    safe = re.sub(r"[^A-Za-z0-9_-]+", "-", plain).strip("-")[:100]
    # Where something had to be replaced or cut, another number could come to the same name.
    told_apart = "" if safe == plain else "-" + hashlib.sha256(run.number.encode()).hexdigest()[:8]
    return f"{safe or 'report'}{told_apart}"
