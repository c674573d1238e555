"""The kinds of files this tool writes, and the mark by which it knows one of its own again.

Each mark is one that the format has a place for, so that a file with it is still what its ending says. Whoever draws a
file puts the mark in; a new kind gets its row here.

| kind | where the mark stands |
|---|---|
| calendar | the PRODID that every iCalendar file must have (RFC 5545, 3.7.3) |
| picture | a comment before the root element (XML 1.0, 2.5 and 2.8) |
| page, overview page | the name of its generator (HTML standard, 4.2.5.1) |
| text report | a link reference definition to which nothing refers, and which no reader shows (CommonMark, 4.7) |
| metrics | the type of the family that comes first (OpenMetrics 1.0) |
| JSON report | the member `format`, which comes first |
| export of the book | its line of heading |
"""

import re
from dataclasses import dataclass

HEAD_BYTES = 4096
"""So much of a file is read to know it: every mark stands within."""


@dataclass(frozen=True)
class Kind:
    """One kind of file.

    Attributes:
        name: how it is called in a sentence.
        mark: what its first bytes look like when this tool wrote it.
    """

    name: str
    mark: re.Pattern[bytes]

    def is_ours(self, head: bytes) -> bool:
        """Whether a file that begins so is one of this kind and was written by this tool."""
        return self.mark.match(head) is not None


CALENDAR_MAKER = "-//commission//filament sensor checks//EN"
PICTURE_MARK = "<!-- commission: picture -->"
PAGE_GENERATOR = "commission"
OVERVIEW_GENERATOR = "commission overview"
TEXT_MARK = "[//]: # (commission: report)"
REPORT_FORMAT = "commission-report"
EXPORT_FORMAT = "commission-record-book"


def _kind(name: str, begins: str) -> Kind:
    return Kind(name, re.compile(begins.encode("ascii"), re.DOTALL))


CALENDAR = _kind("calendar", rf"BEGIN:VCALENDAR\r\n(?:(?!BEGIN:)[^\r\n]*\r\n)*?PRODID:{re.escape(CALENDAR_MAKER)}\r\n")
PICTURE = _kind("picture", rf"{re.escape(PICTURE_MARK)}\n<svg[ >]")
PAGE = _kind("page", rf'<!doctype html>\n.*?<meta name="generator" content="{PAGE_GENERATOR}">\n')
OVERVIEW = _kind("overview page", rf'<!doctype html>\n.*?<meta name="generator" content="{OVERVIEW_GENERATOR}">\n')
TEXT = _kind("text report", rf"{re.escape(TEXT_MARK)}\n")
METRICS = _kind("metrics file", "# TYPE commission_overview_timestamp_seconds gauge\n")
DATA = _kind("JSON report", rf'\{{\s*"format": "{REPORT_FORMAT}",')
EXPORT = _kind("export of a record book", rf'\{{"format":"{EXPORT_FORMAT}",')


def picture(svg: str) -> bytes:
    """A drawing as a file of its own, with the mark."""
    return f"{PICTURE_MARK}\n{svg}".encode()
