"""Sources of the simulated units, asked and read through the dialect, held against what is true of the unit.

The simulator shares no code with the dialect, so what one of them words wrongly the other does not understand.
"""

import pytest

from commission.dialect.commands import IDENTITY, Command
from commission.dialect.conversation import Conversation
from commission.dialect.family import Identified, identified
from commission.dialect.habits import acknowledging_of
from commission.dialect.refusals import refusal_of
from commission.dialect.sources.report import SourceKind, SourceReport
from commission.dialect.sources.source import Source
from commission.dialect.states import PrinterState, state_of, state_question
from commission.vocabulary import Presence, Reading
from tests.fake_printer.line import Host

LINE, MONITOR, STATUS, NAMED, WORD, PIN, PULSES = SourceKind
IN, OUT = Presence.IN, Presence.OUT
ACTIVE, INACTIVE, UNKNOWN = Reading.ACTIVE, Reading.INACTIVE, Reading.UNKNOWN


class Asker:
    """Talks to a simulated unit as the tool would: identity first, then one question at a time to its end."""

    def __init__(self, unit: str) -> None:
        self.host = Host(unit)
        who = [*self.host.ask(IDENTITY.text), *self.host.after(0.5)]
        found = identified(who)
        assert found is not None
        self.printer: Identified = found
        acknowledging = acknowledging_of(who)
        assert acknowledging is not None
        self._talk = Conversation(acknowledging=acknowledging)

    def answer(self, command: Command) -> list[str]:
        """The lines of the answer; the exchange must have ended by itself."""
        self.host.printer.receive(self._talk.command(command))
        heard = []
        for _ in range(40):
            heard += self._talk.feed(self.host.printer.take_output())
            if any(each.exchange_done for each in heard):
                break
            self.host.printer.advance(0.25)
        assert self._talk.in_flight is None
        return [each.reply.text for each in heard if each.belongs != "aside"]

    def read(self, kind: SourceKind, name: str) -> SourceReport:
        """What one source says now."""
        source = Source(self.printer, kind, name)
        return source.read(self.answer(source.question))


@pytest.mark.parametrize(
    ("unit", "kind", "name"),
    [
        ("family-b", MONITOR, "0"),
        ("family-b", STATUS, "0"),
        ("b-monitor-off", MONITOR, "0"),
        ("b-oldest", MONITOR, "0"),
        ("b-first-model", MONITOR, "0"),
        ("b-first-model", STATUS, "0"),
        ("b-newest", MONITOR, "0"),
        ("b-newest", STATUS, "0"),
        ("b-magnet-switch", MONITOR, "0"),
        ("b-two-monitors", MONITOR, "0"),
        ("b-two-monitors", STATUS, "0"),
        ("b-empty-lines", MONITOR, "0"),
        ("b-empty-lines", STATUS, "0"),
        ("b-silent-event", MONITOR, "0"),
        ("c-sensor", NAMED, "spool_left"),
        ("c-dictionary", NAMED, "spool_left"),
        ("c-oldest", NAMED, "spool_left"),
        ("c-two-sensors", NAMED, "spool_left"),
        ("line-each", WORD, "filament"),
        ("sentence-form", WORD, "sensor"),
    ],
)
def test_source_tells_the_presence(unit: str, kind: SourceKind, name: str) -> None:
    """A source that tells the presence tells the truth: out, in, out, and out while unplugged."""
    asker = Asker(unit)
    told = [asker.read(kind, name).presence]
    for deed in (("insert",), ("withdraw",), ("insert",), ("unplug", "board")):
        asker.host.do(*deed)
        told.append(asker.read(kind, name).presence)

    assert [OUT, IN, OUT, IN, OUT] == told


@pytest.mark.parametrize(
    ("unit", "kind", "name", "deeds", "readings"),
    [
        ("sound", LINE, "filament", (), (INACTIVE, ACTIVE, INACTIVE)),
        ("two-sensors", LINE, "filament", (), (INACTIVE, ACTIVE, INACTIVE)),
        ("two-sensors", LINE, "filament 2", (), (ACTIVE, ACTIVE, ACTIVE)),
        ("borrowed-socket", LINE, "x_max", (), (INACTIVE, INACTIVE, INACTIVE)),
        ("borrowed-socket", LINE, "x_max", ("plug-into", "x_max"), (ACTIVE, INACTIVE, ACTIVE)),
        ("borrowed-socket", LINE, "filament", ("plug-into", "x_max"), (UNKNOWN, UNKNOWN, UNKNOWN)),
        ("b-spare-input", PIN, "gpIn[0]", ("plug-into", "spare"), (ACTIVE, INACTIVE, ACTIVE)),
        ("c-borrowed", PIN, "x_max", ("plug-into", "x_max"), (ACTIVE, INACTIVE, ACTIVE)),
        ("d-sensor", PIN, "42", (), (ACTIVE, INACTIVE, ACTIVE)),
        ("e-switch", LINE, "X_max", ("plug-into", "x_max"), (INACTIVE, INACTIVE, ACTIVE)),
        ("e-switch", PIN, "P1.25", ("plug-into", "x_max"), (INACTIVE, INACTIVE, ACTIVE)),
        ("new-forms", PIN, "42", (), (ACTIVE, INACTIVE, ACTIVE)),
    ],
)
def test_input_is_read_without_a_presence(
    unit: str, kind: SourceKind, name: str, deeds: tuple[str, ...], readings: tuple[Reading, ...]
) -> None:
    """A switch line and a pin follow what is plugged into them, and say nothing of the filament themselves."""
    asker = Asker(unit)
    if deeds:
        asker.host.do(*deeds)
    reports = [asker.read(kind, name)]
    for deed in ("insert", "withdraw"):
        asker.host.do(deed)
        reports.append(asker.read(kind, name))

    assert readings == tuple(report.reading for report in reports)
    assert {None} == {report.presence for report in reports}


@pytest.mark.parametrize(
    ("unit", "kind", "name", "enabled", "error"),
    [
        ("b-monitor-off", STATUS, "0", False, None),
        ("b-laser", MONITOR, "0", True, "no data received"),
        ("b-laser", STATUS, "0", True, "noDataReceived"),
        ("b-spare-input", MONITOR, "0", None, "no filament sensor"),
        ("family-b", MONITOR, "1", None, "no filament sensor"),
        ("b-oldest", STATUS, "0", None, "the printer does not know this question"),
        ("c-sensor", NAMED, "Spool_Left", None, "The value 'Spool_Left' is not valid for SENSOR"),
        ("family-c", NAMED, "spool_left", None, "the printer does not know this question"),
        ("c-not-ready", NAMED, "spool_left", None, "!! The host is not ready"),
        ("c-shutdown", NAMED, "spool_left", None, "!! Board 'bench' shutdown: The board's link was lost"),
        ("d-sensor", PIN, "8", None, "Pin can not be set by M42, is in sensitive pins!"),
        ("e-pulses", PULSES, "filament detector", True, None),
        ("mode-form", MONITOR, "active tool", True, None),
        ("sound", MONITOR, "active tool", None, "the printer does not know this question"),
    ],
)
def test_silence_on_presence_is_unknown(
    unit: str, kind: SourceKind, name: str, enabled: bool | None, error: str | None
) -> None:
    """Where a source does not tell the presence, it is unknown with filament in, and what is wrong is in its words."""
    asker = Asker(unit)
    if error not in ("no data received", "noDataReceived"):  # a hand that puts it in moves the wheel
        asker.host.do("insert")
    report = asker.read(kind, name)

    assert (None, UNKNOWN) == (report.presence, report.reading)
    assert (enabled, error) == (report.enabled, report.error)


@pytest.mark.parametrize(
    ("unit", "state", "serves"),
    [
        ("c-sensor", PrinterState.READY, True),
        ("c-not-ready", PrinterState.NOT_READY, False),
        ("c-shutdown", PrinterState.SHUT_DOWN, False),
        ("family-b", PrinterState.IDLE, True),
    ],
)
def test_state_is_understood(unit: str, state: PrinterState, serves: bool) -> None:
    """A unit's own words for its state are understood, and an acknowledged fault is no success."""
    asker = Asker(unit)
    question = state_question(asker.printer)
    assert question is not None
    lines = asker.answer(question)
    found = state_of(lines)

    assert found is not None
    assert (state, serves) == (found.state, found.state.serves)
    assert serves is (refusal_of(lines) is None)


def test_nothing_is_changed_by_questions_about_monitors() -> None:
    """On the fork of another family whose command sets by the drive, the question leaves the distance as it was."""
    asker = Asker("mode-form")
    before = asker.host.ask("M591")
    asker.read(MONITOR, "active tool")

    assert before == asker.host.ask("M591")


def test_no_question_runs_a_file_of_the_users() -> None:
    """Every question of the table that fits the unit leaves its user's files alone."""
    asker = Asker("b-silent-event")
    for kind, name in ((LINE, "X"), (MONITOR, "0"), (STATUS, "0"), (PIN, "gpIn[0]")):
        source = Source(asker.printer, kind, name)
        assert not any("user's file" in line for line in asker.answer(source.question))
