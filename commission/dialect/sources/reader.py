"""Any lines to the sources they report on, in order.

Most sources are told by one line. Three need what came before: a dictionary below a named sensor's sentence, lines for
each sensor below a report of runout control, and a counter's report of several lines. An acknowledgement ends each.
"""

import re
from collections.abc import Iterable

from commission.dialect.framing import RawLine
from commission.dialect.pins import Pin, pin_refusal_in, pins_of
from commission.dialect.replies import ReplyKind, acknowledgement, classify
from commission.dialect.runout import is_runout_line, labelled_report_in, watching_in, word_report_in
from commission.dialect.sources.counters import PulseCount, counted
from commission.dialect.sources.monitors import monitor_report_in
from commission.dialect.sources.named_sensors import is_dictionary, named_report_in, with_dictionary
from commission.dialect.sources.report import SourceKind, SourceReport
from commission.dialect.sources.status_model import model_answer_in, model_reports_in
from commission.dialect.switches import SwitchState, switches_in

_ASKED_BY = {
    "M119": SourceKind.SWITCH_LINE,
    "M591": SourceKind.MONITOR,
    "M409": SourceKind.MONITOR_STATUS,
    "M407": SourceKind.PULSE_COUNTER,
    "M42": SourceKind.PIN,
    "M43": SourceKind.PIN,
    "QUERY_FILAMENT_SENSOR": SourceKind.NAMED_SENSOR,
    "QUERY_BUTTON": SourceKind.PIN,
}

_MAY_REFUSE = re.compile(r"unknown|not supported", re.IGNORECASE)
HEEDED = (ReplyKind.TEXT, ReplyKind.ERROR, ReplyKind.UNKNOWN_COMMAND, ReplyKind.ACKNOWLEDGED)
"""What may tell of a source; everything else comes between lines that belong together."""
# Most of a long capture is settings, which never tell of a source; they are passed over before any closer look.
_PASSED_OVER = re.compile(r"(?:echo:)?\s*(?:[GMT]\d{1,4}(?:\.\d)?(?=[ ;]|$)|;)|Cap:")


class SourceReader:
    """Reads lines one by one; `take` says whether a line reports on a source."""

    def __init__(self) -> None:
        self._reports: list[SourceReport] = []
        self._open: SourceKind | None = None
        self._watching: bool | None = None
        self._count: PulseCount | None = None

    @property
    def reports(self) -> tuple[SourceReport, ...]:
        """What the sources so far were reported to say."""
        return tuple(self._reports)

    def take(self, text: str) -> bool:
        """Take one line; True when it reports on a source."""
        if _PASSED_OVER.match(text):
            self._end()
            return False
        data = acknowledgement(text)
        said = text if data is None else data
        found = bool(said.strip()) and (self._continues(said) or self._begins(said))
        if data is not None:
            self._end()
        return found

    def _end(self) -> None:
        """Nothing that came before is continued by what follows."""
        self._open, self._watching, self._count = None, None, None

    def _continues(self, text: str) -> bool:
        """Take a line that belongs to what came before it."""
        before, self._count = self._count, counted(self._count, text)
        if self._count is not None:
            if before is not None:
                self._reports.pop()
            self._reports.append(self._count.report)
            return True
        if self._open is SourceKind.RUNOUT_WORD and (report := labelled_report_in(text, enabled=self._watching)):
            self._reports.append(report)
            return True
        if self._open is SourceKind.NAMED_SENSOR and is_dictionary(text):
            self._reports[-1] = with_dictionary(self._reports[-1], text)
            return True
        return False

    def _begins(self, text: str) -> bool:
        stated, found = watching_in(text), _reports_in(text)
        if is_runout_line(text):
            self._open = SourceKind.RUNOUT_WORD
            self._watching = self._watching if stated is None else stated
        else:
            self._end()
            self._open = found[-1].kind if found else None
        self._reports += found
        return bool(found) or model_answer_in(text) is not None


def sources_of(lines: Iterable[str]) -> tuple[SourceReport, ...]:
    """Every source that these lines report on, in order."""
    reader = SourceReader()
    for line in lines:
        if classify(RawLine.of(line)).kind in HEEDED:
            reader.take(line)
    return reader.reports


def _reports_in(text: str) -> list[SourceReport]:
    """What one line says by itself; one line reports on sources of one make, except the switches with raw pins."""
    if switches := switches_in(text):
        return [*(_switch(state) for state in switches), *_pins(pins_of([text]))]
    report = monitor_report_in(text) or word_report_in(text) or named_report_in(text) or pin_refusal_in(text)
    if report is not None:
        return [report]
    if reports := model_reports_in(text):
        return list(reports)
    if pins := pins_of([text]):
        return _pins(pins)
    refused = _refused(text)
    return [] if refused is None else [refused]


def _switch(state: SwitchState) -> SourceReport:
    return SourceReport(SourceKind.SWITCH_LINE, state.name, state.reading, state.wire_word)


def _pins(pins: Iterable[Pin]) -> list[SourceReport]:
    return [report for pin in pins if (report := pin.report) is not None]


def _refused(text: str) -> SourceReport | None:
    """A source that cannot be asked: the printer does not know the question."""
    if not _MAY_REFUSE.search(text):
        return None
    reply = classify(RawLine.of(text))
    if reply.kind is not ReplyKind.UNKNOWN_COMMAND or not reply.command:
        return None
    kind = _ASKED_BY.get(reply.command.split()[0])
    return None if kind is None else SourceReport(kind, "", error="the printer does not know this question")
