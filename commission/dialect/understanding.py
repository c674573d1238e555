"""Everything a saved console capture says, as one frozen record.

Each line is taken by the first topic that knows it; the topics' own functions then read their lines. A line that no
topic takes is kept as unrecognised, so that nothing is lost and nothing is guessed.
"""

from collections import defaultdict
from collections.abc import Iterable

from commission.dialect.events import Event, event_of, firmware_banner, worded_event
from commission.dialect.family_events import family_event
from commission.dialect.framing import RawLine, split_lines
from commission.dialect.identity import Identity, identity_of, is_identity_line
from commission.dialect.pins import Pin, has_raw_pins, is_pin_line, pins_of
from commission.dialect.reading import Acknowledgement, Understanding, as_json
from commission.dialect.replies import Reply, ReplyKind, classify
from commission.dialect.runout import RunoutControl, is_runout_line, refuses_runout, runout_of
from commission.dialect.settings_lines import SettingsLine, SettingsReader, unglued
from commission.dialect.sources.reader import HEEDED, SourceReader
from commission.dialect.sources.report import SourceReport
from commission.dialect.storage import StorageEvent, is_storage_line, storage_events_of, was_saved
from commission.dialect.switches import SwitchState, is_switch_heading, switches_in, switches_of

__all__ = [
    "Acknowledgement",
    "Event",
    "Identity",
    "Pin",
    "RunoutControl",
    "SettingsLine",
    "SourceReport",
    "StorageEvent",
    "SwitchState",
    "Understanding",
    "as_json",
    "identity_of",
    "pins_of",
    "runout_of",
    "storage_events_of",
    "switches_of",
    "understand",
    "was_saved",
]


def understand(data: bytes | Iterable[RawLine]) -> Understanding:
    """Read a capture, whole or as lines. Never fails; takes time in proportion to its length."""
    sorter = _Sorter()
    for line in split_lines(data) if isinstance(data, bytes) else data:
        sorter.take(line)
    return sorter.understanding()


class _Sorter:
    """Gives each line to its topic."""

    def __init__(self) -> None:
        self._lines: dict[str, list[str]] = defaultdict(list)
        self._acknowledgements: list[Acknowledgement] = []
        self._log: list[Event | str] = []
        self._settings = SettingsReader()
        self._sources = SourceReader()
        self._pin_lines: list[str] = []

    def take(self, line: RawLine) -> None:
        """Take one line, apart where two are glued together."""
        if b"echo:" not in line.content[1:] or line.cut:
            self._take_reply(classify(line))
            return
        for part in unglued(line.content.decode("latin-1")):
            self._take_reply(classify(RawLine(part.encode("latin-1"))))

    def understanding(self) -> Understanding:
        """What was understood."""
        return Understanding(
            identity=identity_of(self._lines["identity"]),
            switches=switches_of(self._lines["switches"]),
            settings=self._settings.items,
            runout_control=runout_of(self._lines["runout_control"]),
            pins=pins_of(self._pin_lines),
            sources=self._sources.reports,
            stored_settings=storage_events_of(self._lines["stored_settings"]),
            acknowledgements=tuple(self._acknowledgements),
            events=tuple(entry for entry in self._log if isinstance(entry, Event)),
            unrecognised=tuple(entry for entry in self._log if isinstance(entry, str)),
            topics={topic: len(lines) for topic, lines in self._lines.items() if lines},
        )

    def _take_reply(self, reply: Reply) -> None:
        if reply.kind is ReplyKind.BLANK:
            self._lines["blank"].append(reply.text)
        elif reply.kind is ReplyKind.ACKNOWLEDGED:
            self._take_acknowledgement(reply)
        elif topic := self._topic(reply, reply.text):
            self._note(topic, reply.text)
        elif event := event_of(reply) or self._worded(reply):
            self._take_event(event, reply)
        else:
            self._take_unrecognised(reply.text)

    def _take_acknowledgement(self, reply: Reply) -> None:
        self._lines["acknowledgements"].append(reply.text)
        self._acknowledgements.append(Acknowledgement(reply.acknowledged_line, reply.planner_free, reply.queue_free))
        self._settings.take(reply.text)
        self._sources.take(reply.text)
        if not reply.data:
            return
        if topic := _fact_topic(reply.data):
            self._note(topic, reply.data)
        elif event := event_of(reply):
            self._take_event(event, reply)
        else:
            self._take_unrecognised(reply.data)

    def _note(self, topic: str, text: str) -> None:
        self._lines[topic].append(text)
        if topic == "pins" or (topic == "switches" and has_raw_pins(text)):
            self._pin_lines.append(text)

    def _topic(self, reply: Reply, text: str) -> str | None:
        if reply.cut:
            return None
        is_source = reply.kind in HEEDED and self._sources.take(text)
        if reply.kind not in _FACTUAL:
            return None
        if topic := _fact_topic(text):
            return topic
        if is_source and reply.kind is ReplyKind.TEXT:
            return "sources"
        if reply.kind in (ReplyKind.TEXT, ReplyKind.ECHOED_COMMAND):
            return _LISTING_TOPICS.get(self._settings.take(text) or "")
        return None

    @staticmethod
    def _worded(reply: Reply) -> Event | None:
        return None if reply.cut else worded_event(reply.text) or family_event(reply.text)

    def _take_event(self, event: Event, reply: Reply) -> None:
        self._lines["events"].append(event.text)
        if reply.kind is ReplyKind.UNKNOWN_COMMAND and refuses_runout(reply.text):
            self._lines["runout_control"].append(reply.text)
        # Beside a boot line, a name with a version is the firmware announcing itself.
        if reply.kind is ReplyKind.BANNER and self._log and isinstance(last := self._log[-1], str):
            self._log[-1] = firmware_banner(last) or last
        self._log.append(event)

    def _take_unrecognised(self, text: str) -> None:
        self._lines["unrecognised"].append(text)
        self._log.append(text)


_FACTUAL = (ReplyKind.TEXT, ReplyKind.ECHOED_COMMAND, ReplyKind.ERROR)
_LISTING_TOPICS = {"setting": "settings", "continuation": "settings", "heading": "headings"}


def _fact_topic(text: str) -> str | None:
    if is_identity_line(text):
        return "identity"
    if is_switch_heading(text):
        return "headings"
    if switches_in(text):
        return "switches"
    if is_runout_line(text):
        return "runout_control"
    if is_storage_line(text):
        return "stored_settings"
    return "pins" if is_pin_line(text) else None
