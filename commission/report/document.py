"""A report as plain blocks: what is said and in which order, without a word about how it is set.

Every text in a block is plain: nothing in it is markup, and whoever sets it escapes it. The one exception is the
drawing of a `Figure`, which comes from this program and is checked before it is let through.
"""

from dataclasses import dataclass
from typing import Literal

Tone = Literal["plain", "quiet", "caution", "alarm", "digest"]


@dataclass(frozen=True)
class Paragraph:
    """One paragraph; `alarm` and `caution` are set apart with their own heading."""

    text: str
    tone: Tone = "plain"
    heading: str = ""


@dataclass(frozen=True)
class Bullets:
    """A list; numbered where the order matters."""

    items: tuple[str, ...]
    numbered: bool = False


@dataclass(frozen=True)
class Pairs:
    """Names with their values; `sheet` sets them in two columns, as on a data sheet."""

    rows: tuple[tuple[str, str], ...]
    sheet: bool = False


@dataclass(frozen=True)
class Table:
    """A table whose first column names the row.

    Attributes:
        caption: what it shows; printed above it. Empty where the heading says it.
        head: the columns' headings.
        rows: cells, each row as long as the head.
        verdicts: index of the column that holds a verdict, or None.
    """

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    verdicts: int | None = None

    def __post_init__(self) -> None:
        if any(len(row) != len(self.head) for row in self.rows):
            raise ValueError(f"Every row of '{self.caption}' needs {len(self.head)} cells")


@dataclass(frozen=True)
class Figure:
    """A picture: as SVG of our own making, and as text for a terminal or plain paper."""

    caption: str
    svg: str
    text: str


@dataclass(frozen=True)
class Console:
    """Lines as they went over the wire, each with its time and direction; and what was folded away."""

    lines: tuple["ConsoleLine", ...]


@dataclass(frozen=True)
class ConsoleLine:
    """One line: `sent`, `received`, or ours: the `step` it belongs to, a `note` that something was folded."""

    at: str
    direction: Literal["sent", "received", "step", "note"]
    text: str


@dataclass(frozen=True)
class Signature:
    """Lines to be signed by hand: what for, and the name where it is known."""

    rows: tuple[tuple[str, str], ...]


Block = Paragraph | Bullets | Pairs | Table | Figure | Console | Signature


@dataclass(frozen=True)
class Section:
    """A part of the report with a heading.

    Attributes:
        anchor: its name inside the document, letters and hyphens only.
        parts: sections one level below.
        appendix: whether it is evidence behind the report rather than the report.
        page: 1 or 2 where it belongs on that page of the paper; 0 for what follows the list of contents.
    """

    anchor: str
    heading: str
    blocks: tuple[Block, ...] = ()
    parts: tuple["Section", ...] = ()
    appendix: bool = False
    page: int = 0


@dataclass(frozen=True)
class Document:
    """A whole report.

    Attributes:
        title: what kind of paper it is.
        number: unique number of the run.
        tag: the owner's name for the printer.
        day: the day the run began, with its zone.
        verdict, outcome: as in the record; never mixed.
        meaning: what the verdict covers, for the reader.
        points: the run in short, as names with sentences; the verdict itself is not among them.
        alarms: what must be known before anything else; empty when nothing.
        digest: of the evidence.
        entries: how many entries the record book had with it.
    """

    title: str
    number: str
    tag: str
    day: str
    verdict: str
    outcome: str
    meaning: str
    alarms: tuple[Paragraph, ...]
    sections: tuple[Section, ...]
    language: str = "en"
    digest: str = ""
    entries: int = 0
    points: tuple[tuple[str, str], ...] = ()

    def on_page(self, page: int) -> tuple[Section, ...]:
        """The sections that belong on that page; 0 for those after the list of contents."""
        return tuple(section for section in self.sections if section.page == page)
