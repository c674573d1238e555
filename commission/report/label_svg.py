"""The label as a picture in millimetres, 62 mm wide, with the report's number as a QR code (ISO/IEC 18004)."""

import textwrap
from xml.sax.saxutils import escape

import segno

from commission.report.label import Label

WIDTH_MM, HEIGHT_MM = 62.0, 29.0
"""A usual size of stickers on a roll 62 mm wide; a label with long names is higher."""
MARGIN_MM = 2.0
CODE_MM = 24.0
"""Edge of the code, its quiet zone of four modules included, as the standard asks for."""
QUIET_MODULES = 4
POINT_MM = 25.4 / 72
TEXT_PT, TAG_PT = 8.0, 12.0
_LEADING = 1.22
_WIDEST = 0.64
"""Width of a letter of a usual sans-serif face as a share of its size; bold capitals are the widest lines."""


def label_svg(label: Label) -> str:
    """The picture, black on white, its size stated in millimetres; no text is smaller than 8 pt."""
    lines = _lines(label)
    needed_mm = 2 * MARGIN_MM + sum(_height_mm(size_pt) for _, size_pt, _ in lines)
    height_mm = max(HEIGHT_MM, needed_mm)
    size = f'width="{WIDTH_MM:g}mm" height="{height_mm:.2f}mm" viewBox="0 0 {WIDTH_MM:g} {height_mm:.2f}"'
    drawn = [f'<svg xmlns="http://www.w3.org/2000/svg" {size} role="img" font-family="sans-serif">']
    drawn.append(f"<title>{escape(' '.join(label.text.split()))}</title>")
    drawn.append(f'<rect width="{WIDTH_MM:g}" height="{height_mm:.2f}" fill="#ffffff"/>')
    drawn.append(_code(label.number))
    y_mm = MARGIN_MM
    for text, size_pt, weight in lines:
        y_mm += _height_mm(size_pt)
        font = f'font-size="{size_pt * POINT_MM:.3f}" font-weight="{weight}"'
        drawn.append(f'<text x="{MARGIN_MM + CODE_MM:g}" y="{y_mm - 0.8:.2f}" {font}>{escape(text)}</text>')
    return "\n".join([*drawn, "</svg>"]) + "\n"


def _lines(label: Label) -> list[tuple[str, float, str]]:
    """Text, size in points and weight of each line, in order."""
    tag = _wrapped(label.tag, TAG_PT) if len(label.tag) <= _letters(TAG_PT) else []
    lines = [(line, TAG_PT, "bold") for line in tag] or [
        (line, TEXT_PT, "bold") for line in _wrapped(label.tag, TEXT_PT)
    ]
    lines += [(line, TEXT_PT, "bold") for line in _wrapped(label.verdict, TEXT_PT)]
    for said in (label.day, f"Next: {label.next_check}", label.number):
        lines += [(line, TEXT_PT, "normal") for line in _wrapped(said, TEXT_PT)]
    return lines


def _letters(size_pt: float) -> int:
    """How many letters of that size find room beside the code."""
    return int((WIDTH_MM - 2 * MARGIN_MM - CODE_MM) / (size_pt * POINT_MM * _WIDEST))


def _wrapped(text: str, size_pt: float) -> list[str]:
    """The text in lines that find room: broken between words, after a slash, and in a long word anywhere."""
    apart = text.replace("/", "/ ")
    return [line.replace("/ ", "/") for line in textwrap.wrap(apart, _letters(size_pt), break_on_hyphens=True)] or [""]


def _height_mm(size_pt: float) -> float:
    return size_pt * POINT_MM * _LEADING


def _code(number: str) -> str:
    """The dark modules as one path; level M of error correction, which a scratched sticker needs."""
    code = segno.make_qr(number, error="m", boost_error=False)
    rows = [list(row) for row in code.matrix_iter(border=QUIET_MODULES)]
    module_mm = CODE_MM / len(rows)
    dark = [(x, y) for y, row in enumerate(rows) for x, module in enumerate(row) if module]
    path = "".join(f"M{x} {y}h1v1h-1z" for x, y in dark)
    place = f"translate({MARGIN_MM / 2:g} {(HEIGHT_MM - CODE_MM) / 2:g}) scale({module_mm:.5f})"
    return f'<path transform="{place}" shape-rendering="crispEdges" fill="#000000" d="{path}"/>'
