"""Draws the reports of a run and puts them where they are wanted, whole or not at all."""

import hashlib
import re
import tempfile
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from commission.records.book import Book
from commission.report.build import build
from commission.report.record import RunFacts, read_run

FORMATS = ("html", "markdown", "json")
_ENDINGS = {"html": "html", "markdown": "md", "json": "json"}


def write_reports(book: Book, number: str, folder: Path, formats: Sequence[str] = FORMATS) -> list[Path]:
    """Draw a run's report from the book, once for each format, and return where the files are.

    A report is a function of the book alone: an older file of the same run is replaced by the same bytes.

    Raises:
        BookError: the book has no such run.
        OSError: a file cannot be written.
    """
    run = read_run(book, number)
    folder.mkdir(parents=True, exist_ok=True)
    drawn = [(folder / f"{file_stem(run)}.{_ENDINGS[name]}", draw(run, name)) for name in formats]
    for path, text in drawn:
        _write(path, text)
    return [path for path, _ in drawn]


def draw(run: RunFacts, name: str) -> str:
    """The report in one format."""
    return _writers()[name](run)


def _writers() -> Mapping[str, Callable[[RunFacts], str]]:
    from commission.report.as_html import html
    from commission.report.as_json import json_text
    from commission.report.as_markdown import markdown

    return {
        "html": lambda run: html(build(run)),
        "markdown": lambda run: markdown(build(run)),
        "json": json_text,
    }


def file_stem(run: RunFacts) -> str:
    """A file name any file system takes: tag, day and count, from the run's number."""
    plain = run.number.replace("/", "-")
    safe = re.sub(r"[^A-Za-z0-9_-]+", "-", plain).strip("-")[:100]
    # Where something had to be replaced or cut, another number could come to the same name.
    told_apart = "" if safe == plain else "-" + hashlib.sha256(run.number.encode()).hexdigest()[:8]
    return f"{safe or 'report'}{told_apart}"


def _write(path: Path, text: str) -> None:
    with tempfile.NamedTemporaryFile("w", encoding="utf-8", newline="\n", dir=path.parent, delete=False) as draft:
        draft.write(text)
    Path(draft.name).chmod(0o644)
    Path(draft.name).replace(path)
