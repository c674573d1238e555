"""What a report is made of, whatever it is written as: sections of blocks, all of them plain text.

A renderer escapes every text for its own format. Nothing here is markup.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from commission.vocabulary import Verdict

Tone = Literal["note", "caution", "danger"]


@dataclass(frozen=True)
class Judged:
    """A verdict as the cell of a table: shown with its word and a shape, never by colour alone."""

    verdict: Verdict


Cell = str | Judged


@dataclass(frozen=True)
class Paragraph:
    """Running text."""

    text: str


@dataclass(frozen=True)
class Bullets:
    """A list; `ticked` puts an empty box before each, for a list that is worked off on paper."""

    items: tuple[str, ...]
    ticked: bool = False


@dataclass(frozen=True)
class Subheading:
    """A heading within a section."""

    text: str


@dataclass(frozen=True)
class Pairs:
    """Names with their values."""

    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Table:
    """A table with a caption and a header; `numbers` are the columns set to the right."""

    caption: str
    header: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    numbers: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        if not self.header or any(len(row) != len(self.header) for row in self.rows):
            raise ValueError(f"Every row of the table '{self.caption}' has one cell for each column of its header.")


@dataclass(frozen=True)
class Notice:
    """Something that must not be overlooked."""

    tone: Tone
    heading: str
    lines: tuple[str, ...]


@dataclass(frozen=True)
class Figure:
    """A picture, the same as terminal text, and what it shows in a sentence."""

    svgs: tuple[str, ...]
    text: str
    caption: str


@dataclass(frozen=True)
class Log:
    """Lines as they went over the wire, each with a mark in front; long, so that it can be folded away on a screen."""

    summary: str
    lines: tuple[str, ...]


@dataclass(frozen=True)
class Signatures:
    """Places to sign: what the signature says, and a name if it is known."""

    places: tuple[tuple[str, str], ...]


Block = Paragraph | Bullets | Subheading | Pairs | Table | Notice | Figure | Log | Signatures


@dataclass(frozen=True)
class Section:
    """A numbered section; `key` is fixed and names it in links."""

    key: str
    heading: str
    blocks: tuple[Block, ...]
    new_page: bool = False


@dataclass(frozen=True)
class Document:
    """A report, ready to be written.

    Attributes:
        head: what stands beside the title: names with their values.
        notices: what must be read before anything else.
        verdict: of the run; `verdict_line` says in a sentence what it means.
        closing: the last line, by which the reader knows that nothing is missing.
    """

    title: str
    tag: str
    number: str
    verdict: Verdict
    verdict_line: str
    outcome: str
    head: tuple[tuple[str, str], ...]
    notices: tuple[Notice, ...]
    sections: tuple[Section, ...]
    closing: str

    def __post_init__(self) -> None:
        keys = [section.key for section in self.sections]
        if len(set(keys)) != len(keys):
            raise ValueError("Two sections of a report have the same key.")


def section(key: str, heading: str, blocks: Sequence[Block | None], *, new_page: bool = False) -> Section | None:
    """A section of the blocks that there are; None when there is none."""
    there = tuple(block for block in blocks if block is not None)
    return Section(key, heading, there, new_page) if there else None
