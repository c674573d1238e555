"""Presence as declared against reading as seen, over time; what changed unasked is marked by a cross and a word.

Time is cut into strips; a strip begins where there is something to show, so that waiting takes no paper.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from commission.drawing.svg import Attribute, Picture, element, safe_text
from commission.vocabulary import Presence, Reading

STRIP_S = 60.0
MOST_STRIPS = 60
"""An hour of prompts; what lies beyond is counted."""
STRIPS_A_PICTURE = 6
"""So that each picture finds room on a sheet of paper beside its caption."""

_LEFT, _RIGHT, _PX_PER_S = 128.0, 12.0, 11.0
_WIDTH = _LEFT + STRIP_S * _PX_PER_S + _RIGHT
_TOP, _STRIP, _LANE = 58.0, 118.0, 22.0
_PRESENCE_Y, _READING_Y = 26.0, 68.0
_LETTER = 6.3
"""Width of a letter of the smallest size, at most."""
_UNSEEN: dict[str, Attribute] = {"fill": "white", "fill_opacity": 0}


@dataclass(frozen=True)
class Seen:
    """One reading; times are seconds since the picture's beginning."""

    at_s: float
    reading: Reading


@dataclass(frozen=True)
class Span:
    """A prompt or a watch.

    Attributes:
        name: printed over it: the number of a trial, or a letter.
        said: the whole of it in one sentence, shown when pointed at.
        before, presence: what was declared before and what is declared now; None where nothing is.
        began_s, steady_s, ended_s: the prompt, the start of the readings that count, their end.
        seen: readings from the prompt on.
        unwanted_s: moments of changes nobody asked for.
        voided: declared spoilt by the operator.
        title: what a letter stands for, to be listed beside the picture; empty for a trial.
    """

    name: str
    said: str
    before: Presence | None
    presence: Presence | None
    began_s: float
    steady_s: float
    ended_s: float
    seen: tuple[Seen, ...] = ()
    unwanted_s: tuple[float, ...] = ()
    voided: bool = False
    title: str = ""

    def __post_init__(self) -> None:
        if not self.began_s <= self.steady_s <= self.ended_s:
            raise ValueError(f"Span {self.name} ends before it begins.")


@dataclass(frozen=True)
class Occurrence:
    """Something that happened at one moment."""

    at_s: float
    text: str


@dataclass(frozen=True)
class Timeline:
    """Everything the picture shows; `origin` says in words what 0:00 is."""

    spans: tuple[Span, ...]
    occurrences: tuple[Occurrence, ...] = ()
    origin: str = "the first prompt"

    @property
    def unwanted_s(self) -> tuple[float, ...]:
        """Moments of all unwanted changes, first to last."""
        return tuple(sorted(at_s for span in self.spans for at_s in span.unwanted_s))

    @property
    def description(self) -> str:
        """The picture in two sentences, for someone who cannot see it."""
        places = ", ".join(map(minutes, self.unwanted_s[:12])) + (" and more" if len(self.unwanted_s) > 12 else "")
        marked = f"Unwanted changes at {places}." if places else "No unwanted change."
        prompts = len(self.spans)
        return f"Declared presence and reading of {prompts} prompts and watches, from {self.origin} on. {marked}"


def minutes(at_s: float) -> str:
    """A time as minutes and seconds, as in `1:07`."""
    whole = int(at_s)
    return f"{whole // 60}:{whole % 60:02d}"


def strips(timeline: Timeline, length_s: float) -> list[float]:
    """Where each strip begins; every span and occurrence lies in one, or across several that follow."""
    begins: list[float] = []
    stretches = [(span.began_s, span.ended_s) for span in timeline.spans]
    stretches += [(each.at_s, each.at_s) for each in timeline.occurrences]
    for began_s, ended_s in sorted(stretches):
        if not begins or began_s >= begins[-1] + length_s:
            begins.append(max(0.0, float(int(began_s))))
        while ended_s > begins[-1] + length_s:
            begins.append(begins[-1] + length_s)
    return begins


def timeline_svg(timeline: Timeline) -> str:
    """The picture as one SVG, black on white, at most `MOST_STRIPS` strips."""
    begins = strips(timeline, STRIP_S)
    return _drawn(timeline, begins[:MOST_STRIPS], left_out=len(begins[MOST_STRIPS:]))


def timeline_svgs(timeline: Timeline) -> list[str]:
    """The same as pictures that follow each other, so that paper can be turned between them."""
    begins = strips(timeline, STRIP_S)
    drawn = begins[:MOST_STRIPS]
    pages = [drawn[at : at + STRIPS_A_PICTURE] for at in range(0, max(1, len(drawn)), STRIPS_A_PICTURE)]
    left_out = len(begins) - len(drawn)
    return [_drawn(timeline, page, left_out if page is pages[-1] else 0) for page in pages]


def _drawn(timeline: Timeline, begins: Sequence[float], left_out: int) -> str:
    height = _TOP + _STRIP * max(1, len(begins)) + 8
    picture = Picture("Declared presence and reading over time", timeline.description, _WIDTH, height)
    _legend(picture)
    for index, begin_s in enumerate(begins):
        _Strip(picture, begin_s, _TOP + _STRIP * index).draw(timeline)
    if left_out:
        picture.text(_LEFT, picture.height - 4, f"{left_out} more strips are not drawn", size=11)
    return picture.render()


def _legend(picture: Picture) -> None:
    picture.box(_LEFT, 8, 22, 14, fill="#e6e6e6", stroke="#767676")
    picture.text(_LEFT + 28, 20, "readings that count", size=12)
    picture.line(_LEFT + 170, 15, _LEFT + 196, 15, stroke_dasharray="3 3")
    picture.text(_LEFT + 202, 20, "time to act", size=12)
    _cross(picture, _LEFT + 300, 15)
    picture.text(_LEFT + 312, 20, "changed unasked", size=12)
    _flag(picture, _LEFT + 440, 6, 18)
    picture.text(_LEFT + 450, 20, "event, listed below", size=12)
    said = "Numbers over the strips are trials, letters are listed below. Time is minutes:seconds; ? is not known."
    picture.text(_LEFT, 40, said, size=11)


def _cross(picture: Picture, x: float, y: float) -> None:
    picture.line(x - 5, y - 5, x + 5, y + 5, stroke_width=2.5)
    picture.line(x - 5, y + 5, x + 5, y - 5, stroke_width=2.5)


def _flag(picture: Picture, x: float, y: float, height: float) -> None:
    picture.line(x, y, x, y + height, stroke_width=1.2)
    picture.dot(x, y, 3)


@dataclass(frozen=True)
class _Strip:
    """One strip: a window of time at a place on the paper."""

    picture: Picture
    begin_s: float
    y: float

    def draw(self, timeline: Timeline) -> None:
        self._lanes()
        inside = [span for span in timeline.spans if span.began_s < self.end_s and span.ended_s > self.begin_s]
        for span in inside:
            self._span(span)
        self._names(inside)
        for number, each in enumerate(timeline.occurrences, 1):
            if self.begin_s <= each.at_s < self.end_s:
                self._occurrence(number, each)

    @property
    def end_s(self) -> float:
        return self.begin_s + STRIP_S

    def x(self, at_s: float) -> float:
        return _LEFT + _PX_PER_S * (min(max(at_s, self.begin_s), self.end_s) - self.begin_s)

    def _lanes(self) -> None:
        for y, name, high, low in (
            (_PRESENCE_Y, "declared", "in", "out"),
            (_READING_Y, "reading", "active", "inactive"),
        ):
            self.picture.text(4, self.y + y + 15, name, size=12, font_weight="bold")
            self.picture.text(_LEFT - 6, self.y + y + 5, high, size=11, text_anchor="end")
            self.picture.text(_LEFT - 6, self.y + y + _LANE + 3, low, size=11, text_anchor="end")
            for edge in (y, y + _LANE):
                self.picture.line(
                    _LEFT, self.y + edge, _WIDTH - _RIGHT, self.y + edge, stroke="#767676", stroke_width=0.6
                )
        for tick in range(0, int(STRIP_S) + 1, 10):
            x = _LEFT + _PX_PER_S * tick
            self.picture.line(x, self.y + 93, x, self.y + 97, stroke_width=0.8)
            if tick < STRIP_S:
                self.picture.text(x, self.y + 106, minutes(self.begin_s + tick), size=11)

    def _span(self, span: Span) -> None:
        left, right = self.x(span.steady_s), self.x(span.ended_s)
        if right > left:
            self.picture.box(left, self.y + 20, right - left, 74, fill="#e6e6e6", stroke="#767676")
        self._presence(span)
        self._readings(span)
        for at_s in span.unwanted_s:
            if self.begin_s <= at_s < self.end_s:
                _cross(self.picture, self.x(at_s), self.y + _READING_Y + _LANE / 2)
        if span.voided:
            self.picture.line(left, self.y + 57, right, self.y + 57, stroke_width=3)
        self._hover(span)

    def _names(self, spans: Sequence[Span]) -> None:
        """Each name over its readings; one that would run into the name before it stands a row higher."""
        free = [0.0, 0.0]
        for span in sorted(spans, key=lambda each: each.steady_s):
            left, right = self.x(span.steady_s), self.x(span.ended_s)
            name = f"{span.name} void" if span.voided else span.name
            width = len(name) * _LETTER
            if right <= left or (len(name) > 2 and width > _WIDTH - left):
                continue
            row = next((row for row, taken in enumerate(free) if taken <= left), None)
            if row is not None:
                self.picture.text(left + 3, self.y + 17 - 10 * row, name, size=11)
                free[row] = left + width + 3

    def _presence(self, span: Span) -> None:
        if span.presence is None:
            self.picture.text(self.x(span.steady_s) + 3, self.y + _PRESENCE_Y + 15, "?", size=11, font_weight="bold")
            return
        level = {Presence.IN: self.y + _PRESENCE_Y, Presence.OUT: self.y + _PRESENCE_Y + _LANE}
        now = level[span.presence]
        start, steady, end = self.x(span.began_s), self.x(span.steady_s), self.x(span.ended_s)
        if span.before is span.presence:
            self.picture.line(start, now, end, now, stroke_width=2.2)
            return
        if span.before is not None and span.steady_s > self.begin_s:
            self.picture.polyline(
                [(start, level[span.before]), (steady, level[span.before]), (steady, now)], stroke_dasharray="3 3"
            )
        self.picture.line(steady, now, end, now, stroke_width=2.2)

    def _readings(self, span: Span) -> None:
        level = {Reading.ACTIVE: self.y + _READING_Y, Reading.INACTIVE: self.y + _READING_Y + _LANE}
        for run in _stretches([each for each in span.seen if self.begin_s <= each.at_s < self.end_s]):
            if run[0].reading is Reading.UNKNOWN:
                self.picture.text(self.x(run[0].at_s) - 2, self.y + _READING_Y + 15, "?", size=11, font_weight="bold")
                continue
            points = [(self.x(run[0].at_s), level[run[0].reading])]
            for before, after in pairwise(run):
                if before.reading is not after.reading:
                    points += [(self.x(after.at_s), level[before.reading]), (self.x(after.at_s), level[after.reading])]
            points.append((self.x(run[-1].at_s) + 1, level[run[-1].reading]))
            self.picture.polyline(points, stroke_width=2.2)

    def _occurrence(self, number: int, each: Occurrence) -> None:
        x = self.x(each.at_s)
        _flag(self.picture, x, self.y + 8, 86)
        self.picture.text(x + 5, self.y + 8, str(number), size=11, font_weight="bold")
        self.picture.add(_pointed_at(f"{minutes(each.at_s)} {each.text}", x - 4, self.y, 14))

    def _hover(self, span: Span) -> None:
        left, right = self.x(span.began_s), self.x(span.ended_s)
        self.picture.add(_pointed_at(span.said, left, self.y + 8, max(1.0, right - left)))


def _pointed_at(said: str, x: float, y: float, width: float) -> str:
    """A place without ink that says something when it is pointed at."""
    place = {"x": x, "y": y, "width": width, "height": 90.0}
    return element("g", [element("title", safe_text(said)), element("rect", (), {**place, **_UNSEEN})])


def _stretches(seen: Sequence[Seen]) -> Iterator[list[Seen]]:
    """Readings that belong together: those that could be read, up to one that could not; the latter alone."""
    run: list[Seen] = []
    for each in seen:
        if each.reading is Reading.UNKNOWN:
            if run:
                yield run
            yield [each]
            run = []
        else:
            run.append(each)
    if run:
        yield run
