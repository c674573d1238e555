"""The timeline as plain characters, for a terminal and for plain paper."""

from collections.abc import Sequence

from commission.drawing.timeline import MOST_STRIPS, STRIP_S, Span, Timeline, minutes, strips
from commission.vocabulary import Presence, Reading

TEXT_STRIP_S, CELL_S = 30.0, 0.5
_LETTERS = {Presence.IN: "I", Presence.OUT: "O"}
_SIGNS = {Reading.ACTIVE: "#", Reading.INACTIVE: "-", Reading.UNKNOWN: "?"}


def timeline_text(timeline: Timeline) -> str:
    """The picture as plain characters, at most 78 columns wide."""
    lines = [
        f"Time from {timeline.origin}, {CELL_S:g} s a column.",
        "declared: I in, O out, . time to act",
        "reading:  # active, - inactive, ? not read, ^ changed unasked",
    ]
    begins = strips(timeline, TEXT_STRIP_S)
    most = MOST_STRIPS * int(STRIP_S / TEXT_STRIP_S)
    for begin_s in begins[:most]:
        lines += _text_strip(timeline, begin_s)
    if len(begins) > most:
        lines += ["", f"{len(begins) - most} more strips are not drawn"]
    return "\n".join(lines) + "\n"


def _text_strip(timeline: Timeline, begin_s: float) -> list[str]:
    cells = int(TEXT_STRIP_S / CELL_S)
    declared, reading, marks = ([" "] * cells for _ in range(3))
    for cell in range(cells):
        at_s = begin_s + (cell + 0.5) * CELL_S
        for span in timeline.spans:
            if span.began_s <= at_s <= span.ended_s:
                declared[cell] = _letter(span, at_s)
    for span in timeline.spans:
        _put(reading, begin_s, [(each.at_s, _SIGNS[each.reading]) for each in span.seen])
        _put(marks, begin_s, [(at_s, "^") for at_s in span.unwanted_s])
    lines = [
        "",
        f"{minutes(begin_s):>6}  declared  {''.join(declared)}".rstrip(),
        f"{'reading':>15}   {''.join(reading)}".rstrip(),
    ]
    if "^" in marks:
        lines.append(f"{'unasked':>15}   {''.join(marks)}".rstrip())
    return lines + [f"{'':8}{minutes(at_s)} {sign}" for at_s, sign in _signs(timeline, begin_s)]


def _signs(timeline: Timeline, begin_s: float) -> list[tuple[float, str]]:
    """Letters and events of the strip in the order of time, as they are listed beside the picture."""
    signs = [(span.began_s, span.name) for span in timeline.spans if span.title]
    signs += [(each.at_s, f"event {number}") for number, each in enumerate(timeline.occurrences, 1)]
    return sorted(sign for sign in signs if begin_s <= sign[0] < begin_s + TEXT_STRIP_S)


def _letter(span: Span, at_s: float) -> str:
    if at_s < span.steady_s and span.before is not span.presence:
        return "."
    return " " if span.presence is None else _LETTERS[span.presence]


def _put(cells: list[str], begin_s: float, marks: Sequence[tuple[float, str]]) -> None:
    for at_s, sign in marks:
        cell = int((at_s - begin_s) // CELL_S)
        if 0 <= cell < len(cells):
            cells[cell] = sign
