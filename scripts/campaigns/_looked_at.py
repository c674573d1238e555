"""Looks at what the tool wrote with parsers that are not its own, and tells what a hostile text has brought into it."""

from __future__ import annotations

import json
import re
import unicodedata
from collections import Counter
from collections.abc import Callable, Iterator
from html.parser import HTMLParser

from markdown_it import MarkdownIt

TURNING = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_SENDS = re.compile(r"[A-Z]\d+(?: [A-Z]-?\d+(?:\.\d+)?)+")
_ADDRESSES = ("href", "src", "action", "data", "srcset", "formaction", "background", "poster", "xlink:href")


def unprintable(text: str) -> str:
    """The characters in a text that a terminal might obey, or that turn the direction of what follows."""
    return "".join(sorted({each for each in text if each != "\n" and _acts(each)}))


def _acts(each: str) -> bool:
    return unicodedata.category(each) in ("Cc", "Cs", "Zl", "Zp") or each in TURNING


def differences(kind: str, data: bytes, plain: bytes) -> Iterator[str]:
    """What is in a file that is not in the one for a harmless text; nothing where all is well.

    Args:
        kind: the ending of its name.
        data: the file.
        plain: the file for a harmless text in the same place.
    """
    look = _LOOKS.get(kind)
    if look is None:
        yield "nobody here knows how to look at it"
        return
    text, other = data.decode("utf-8", "surrogateescape"), plain.decode("utf-8", "surrogateescape")
    if kind != ".ics" and (found := unprintable(text.replace("\t", ""))):
        yield f"it holds {found!a}"
    yield from look(text, other)


class _Page(HTMLParser):
    """Counts elements with their attributes, and keeps addresses."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: Counter[tuple[str, tuple[str, ...]]] = Counter()
        self.addresses: set[str] = set()
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Count it."""
        self.elements[tag, tuple(sorted(name for name, _ in attrs))] += 1
        self.addresses |= {str(value) for name, value in attrs if name in _ADDRESSES}
        self.addresses |= {str(value) for name, value in attrs if name == "style" and "url" in str(value)}

    def handle_comment(self, data: str) -> None:
        """A comment is an element too: who can begin one can hide what follows."""
        del data
        self.elements["a comment", ()] += 1


def _page(text: str, other: str) -> Iterator[str]:
    one, plain = _Page(text), _Page(other)
    # a run that took another course has other tables: an element is foreign by its name or by the name of an attribute
    tags = {tag for tag, _ in plain.elements}
    attributes = {name for _, names in plain.elements for name in names}
    for element in one.elements:
        if element[0] not in tags or not attributes.issuperset(element[1]):
            yield f"an element {element[0]} with {', '.join(element[1]) or 'no attribute'}"
    for address in sorted(one.addresses - plain.addresses):
        if not address.startswith("#"):
            yield f"an address {ascii(address)[:80]}"
    for name in ("script", "iframe", "img", "link", "style", "form", "object", "embed", "a comment"):
        count = sum(number for (tag, _), number in one.elements.items() if tag == name)
        expected = sum(number for (tag, _), number in plain.elements.items() if tag == name)
        if count > expected:
            yield f"{count} of {name} where there are {expected}"


def _markdown(text: str, other: str) -> Iterator[str]:
    one, plain = _tokens(text), _tokens(other)
    for kind in sorted(one):
        if one[kind] > plain[kind]:
            yield f"{one[kind]} of {kind} where there are {plain[kind]}"


def _tokens(text: str) -> Counter[str]:
    counted: Counter[str] = Counter()
    for token in MarkdownIt("commonmark", {"html": True}).enable("table").parse(text):
        counted[token.type] += 1
        counted.update(child.type for child in token.children or ())
    kept = ("html_block", "html_inline", "link_open", "image", "heading_open", "hr", "td_open", "th_open", "table_open")
    return Counter(
        {kind: counted[kind] for kind in (*kept, "bullet_list_open", "code_inline", "strong_open", "em_open")}
    )


def _calendar(text: str, other: str) -> Iterator[str]:
    if bare := re.findall(r"(?<!\r)\n|\r(?!\n)", text):
        yield f"{len(bare)} line ends that are none of a calendar"
    if found := unprintable(text.replace("\r\n", "\n")):
        yield f"it holds {found!a}"
    one, plain = (Counter(_property(line) for line in _unfolded(each)) for each in (text, other))
    if one != plain:
        yield f"properties differ: {dict(one - plain)} more, {dict(plain - one)} fewer"


def _unfolded(text: str) -> list[str]:
    """The lines of RFC 5545, section 3.1."""
    return [line for line in re.sub(r"\r?\n[ \t]", "", text).splitlines() if line]


def _property(line: str) -> str:
    name = re.split(r"[;:]", line, maxsplit=1)[0].upper()
    return line.upper() if name in ("BEGIN", "END") else name


def _data(text: str, other: str) -> Iterator[str]:
    try:
        one, plain = json.loads(text), json.loads(other)
    except ValueError as trouble:
        yield f"it is no JSON: {trouble}"
        return
    if more := set(one) ^ set(plain):
        yield f"keys differ: {sorted(more)}"


def _plain_lines(text: str, other: str) -> Iterator[str]:
    del other
    for line in re.split(r"[\r\n\x0b\x0c\x85\u2028\u2029]", text):
        if line and not line.startswith(";") and not _SENDS.fullmatch(line):
            yield f"a line that would be sent: {ascii(line)[:80]}"


def _only_text(text: str, other: str) -> Iterator[str]:
    del text, other
    yield from ()


_LOOKS: dict[str, Callable[[str, str], Iterator[str]]] = {
    ".html": _page,
    ".md": _markdown,
    ".ics": _calendar,
    ".json": _data,
    "settings.gcode": _plain_lines,
    "settings.txt": _only_text,
}
