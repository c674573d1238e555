"""Lets a picture from the book into a page only when it is nothing but a drawing.

Pictures are made by this program, but they come back out of a file that may have been through other hands.
"""

import re
from html import unescape
from xml.etree import ElementTree

_SVG = "http://www.w3.org/2000/svg"
_ELEMENTS = frozenset(
    "svg title desc g rect line polyline polygon circle ellipse path text tspan defs pattern marker".split()  # noqa: SIM905
)
_ATTRIBUTE = re.compile(
    r"(?:x|y|x1|x2|y1|y2|cx|cy|r|rx|ry|dx|dy|d|points|width|height|viewBox|role|id|transform|fill|fill-opacity|"
    r"opacity|stroke|stroke-[a-z]+|font-[a-z]+|text-anchor|dominant-baseline|letter-spacing|class|aria-[a-z]+|"
    r"patternUnits|patternTransform|marker[A-Za-z-]*|ref[XY]|orient|preserveAspectRatio|xml:space)"
)
_OUTSIDE = re.compile(r"url\s*\(\s*(?!#)|javascript:|data:|//", re.IGNORECASE)


def checked_svg(svg: str) -> str | None:
    """The drawing as it was, or None when it is empty, no SVG, or holds anything but shapes and text."""
    if not svg or "<!" in svg or "<?" in svg:
        return None
    try:
        root = ElementTree.fromstring(svg)  # noqa: S314 - document types, and with them entities, are refused above
    except ElementTree.ParseError:
        return None
    whole = root.tag == f"{{{_SVG}}}svg" and all(_harmless(element) for element in root.iter())
    return svg if whole else None


def description_of(svg: str) -> str:
    """What the drawing itself says it shows, in words; empty when it says nothing."""
    found = re.search(r"<desc(?: id=\"[^\"]*\")?>(.*?)</desc>", svg, re.DOTALL) or re.search(
        r"<title[^>]*>(.*?)</title>", svg, re.DOTALL
    )
    return unescape(found[1]) if found else ""


def _harmless(element: "ElementTree.Element[str]") -> bool:
    namespace, _, name = str(element.tag).rpartition("}")
    return (
        namespace == f"{{{_SVG}"
        and name in _ELEMENTS
        and all(
            _ATTRIBUTE.fullmatch(attribute) and not _OUTSIDE.search(value)
            for attribute, value in element.attrib.items()
        )
    )
