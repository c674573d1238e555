"""A small builder of SVG pictures that read in print, without colour and by a screen reader.

Every picture has a title and a description; all text is escaped here and nowhere else; characters that XML forbids
are made visible instead of being let through. Styles are line weights and dashes, never colour alone.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from html import escape
from zlib import crc32

_FORBIDDEN = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_BIDIRECTIONAL = re.compile("[\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]")

SMALLEST = 13.1
"""Units of text at least: 8 pt in print where a picture is 800 units wide on 173 mm, 95 % of A4 less its margins."""
Attribute = str | float | int
_NONE: Mapping[str, Attribute] = {}
_STROKE: dict[str, Attribute] = {"stroke": "black", "stroke_width": 1.5}
_OUTLINE: dict[str, Attribute] = {"fill": "none", **_STROKE}


def safe_text(text: str) -> str:
    """Text as it may stand in XML; control characters and direction overrides are shown by their code point."""
    shown = _FORBIDDEN.sub(_visible, text)
    return escape(_BIDIRECTIONAL.sub(_visible, shown), quote=True)


def _visible(match: re.Match[str]) -> str:
    return f"\\u{{{ord(match[0]):04X}}}"


def element(name: str, content: Iterable[str] | str = (), attributes: Mapping[str, Attribute] = _NONE) -> str:
    """One element; `content` is made by this module already, `attributes` are escaped here.

    An underscore in an attribute's name stands for a hyphen (`stroke_width`).
    """
    body = content if isinstance(content, str) else "".join(content)
    written = "".join(f' {key.replace("_", "-")}="{_value(value)}"' for key, value in attributes.items())
    return f"<{name}{written}>{body}</{name}>" if body else f"<{name}{written}/>"


def _value(value: Attribute) -> str:
    return safe_text(value) if isinstance(value, str) else f"{round(value, 2):g}"


@dataclass
class Picture:
    """A picture in the making: add to it, then ask for its text.

    Attributes:
        title: what it is, in a few words.
        description: what it shows, in one sentence that replaces the picture for someone who cannot see it.
        width: of the drawing, in its own units.
        height: likewise.
    """

    title: str
    description: str
    width: float
    height: float
    parts: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        if not (self.width > 0 and self.height > 0):
            raise ValueError("A picture needs a width and a height above zero.")

    def add(self, made: str) -> None:
        """Add an element made by `element`."""
        self.parts.append(made)

    def line(self, x1: float, y1: float, x2: float, y2: float, **style: Attribute) -> None:
        """A straight line; black and 1.5 wide unless said otherwise."""
        self._draw("line", {"x1": x1, "y1": y1, "x2": x2, "y2": y2}, _STROKE | style)

    def polyline(self, points: Sequence[tuple[float, float]], **style: Attribute) -> None:
        """A line through several points."""
        path = " ".join(f"{_value(x)},{_value(y)}" for x, y in points)
        self._draw("polyline", {"points": path}, _OUTLINE | style)

    def box(self, x: float, y: float, width: float, height: float, **style: Attribute) -> None:
        """A rectangle, not filled unless said otherwise."""
        self._draw("rect", {"x": x, "y": y, "width": width, "height": height}, _OUTLINE | style)

    def dot(self, x: float, y: float, radius: float, **style: Attribute) -> None:
        """A filled circle."""
        self._draw("circle", {"cx": x, "cy": y, "r": radius}, {"fill": "black", "stroke": "black"} | style)

    def text(self, x: float, y: float, text: str, *, size: float = 13, **style: Attribute) -> None:
        """A line of text with its baseline at y, never smaller than can be read in print."""
        look: Mapping[str, Attribute] = {"font_family": "sans-serif", "font_size": max(size, SMALLEST), "fill": "black"}
        self._draw("text", {"x": x, "y": y}, {**look, **style}, safe_text(text))

    def _draw(
        self, name: str, place: Mapping[str, Attribute], style: Mapping[str, Attribute], content: str = ""
    ) -> None:
        self.parts.append(element(name, content, {**place, **style}))

    def render(self) -> str:
        """The whole picture as one SVG document that needs nothing from outside."""
        number = crc32(f"{self.title}\n{self.description}".encode("utf-8", "backslashreplace"))
        title, told = f"title-{number:08x}", f"desc-{number:08x}"  # a page may hold several pictures
        head = [
            element("title", safe_text(self.title), {"id": title}),
            element("desc", safe_text(self.description), {"id": told}),
        ]
        background = element("rect", (), {"width": self.width, "height": self.height, "fill": "white"})
        frame: dict[str, Attribute] = {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": f"0 0 {_value(self.width)} {_value(self.height)}",
            "width": self.width,
            "height": self.height,
            "role": "img",
            "aria_labelledby": f"{title} {told}",
        }
        return element("svg", [*head, background, *self.parts], frame)
