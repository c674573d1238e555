"""What no printer can mean is refused or left out, and what a line does not say is not made up."""

import math

import pytest

from commission.dialect.commands import IDENTITY, SWITCHES
from commission.dialect.conversation import Conversation
from commission.dialect.events import Event
from commission.dialect.family import printer_of
from commission.dialect.framing import RawLine
from commission.dialect.identity import Identity
from commission.dialect.pausing import Questions
from commission.dialect.replies import classify
from commission.dialect.reports import Heater
from commission.dialect.settings_lines import SettingsLine, like_a_setting, parse_line
from commission.dialect.sources.named_sensors import with_dictionary
from commission.dialect.sources.reader import sources_of
from commission.dialect.sources.report import SourceKind, SourceReport
from commission.dialect.sources.search import USUAL_NAMES, Searched, search, words_on_filament
from commission.dialect.sources.source import Source
from commission.dialect.storage import storage_events_of
from commission.dialect.switches import SwitchState
from commission.vocabulary import Reading
from tests.dialect.test_sources_at_units import Asker


def test_an_event_without_a_kind_is_refused() -> None:
    """Nobody could look for it."""
    with pytest.raises(ValueError, match="an event has a kind"):
        Event("", "text")


def test_a_temperature_that_is_no_number_is_refused() -> None:
    """Infinite or not a number."""
    with pytest.raises(ValueError, match="finite number"):
        Heater(math.inf)


def test_fewer_extruders_than_none_are_refused() -> None:
    """No printer announces that."""
    with pytest.raises(ValueError, match="-1 extruders"):
        Identity(extruders=-1)


@pytest.mark.parametrize(("said", "meant"), [({}, None), ({"RUNOUT": True, "EMERGENCY_PARSER": False}, True)])
def test_what_is_not_announced_is_not_known(said: dict[str, bool], meant: bool | None) -> None:
    """Runout support and urgent words are told by the announced abilities alone."""
    identity = Identity(capabilities=said)

    assert meant is identity.announces_runout
    assert (None if meant is None else False) is identity.takes_emergency_words


def test_the_usual_number_tells_no_printer_apart() -> None:
    """A build's default begins so; another number, or none, is not taken for it."""
    known = [Identity(uuid=each).common_uuid for each in (None, "11111111-2222-3333-4444-555555555555")]

    assert [False, False] == known


def test_nobody_is_no_printer() -> None:
    """Without an identity no family is proven, nothing is searched, and no word on filament is a source."""
    assert None is printer_of(None)
    assert () == words_on_filament(None, ["Filament runout: on"])
    with pytest.raises(StopIteration) as end:
        next(search(None))
    assert Searched() == end.value.value


@pytest.mark.parametrize("line", ["  M92 X1e999 E80", "echo:M92 X1" + "0" * 400 + " E80"])
def test_an_endless_number_is_no_setting(line: str) -> None:
    """The word is kept as one that could not be read; the rest of the line stands."""
    found = parse_line(line, in_listing=True)

    assert found is None or "X" not in found.values


def test_a_setting_has_a_command_and_finite_numbers() -> None:
    """Made otherwise it is refused."""
    with pytest.raises(ValueError, match="has a command"):
        SettingsLine("", {}, {})
    with pytest.raises(ValueError, match="finite number"):
        SettingsLine("M92", {}, {"X": math.inf})


def test_an_endless_value_of_a_table_is_no_setting() -> None:
    """In the numbered table of one family too."""
    assert None is parse_line("EPR:3 23 " + "9" * 400 + " X-axis steps per mm")


def test_what_is_half_there_waits() -> None:
    """Bytes of a line without an end are told as pending, and no number is known where none is used."""
    conversation = Conversation()
    conversation.feed(b"ok\nhalf a li")

    assert (b"half a li", None) == (conversation.pending, conversation.last_number)


def test_lines_are_numbered_for_a_while_only_in_between() -> None:
    """From the number given; not while an answer may be on its way."""
    conversation = Conversation()
    numbered = conversation.numbered_for_a_while(7)
    numbered.command(IDENTITY)
    conversation.command(SWITCHES)

    assert 7 == numbered.last_number
    with pytest.raises(Exception, match="only where no answer may be on its way"):
        conversation.numbered_for_a_while(7)


def test_other_actions_leave_a_question_open() -> None:
    """Only its end or a resumed print closes it."""
    questions = Questions()
    for text in ("prompt_begin Filament runout", "prompt_button Go on", "prompt_show", "notification heating"):
        questions.hear(classify(RawLine.of(f"//action:{text}")))
    questions.hear(classify(RawLine.of("//action is no action")))
    shown = questions.open
    questions.hear(classify(RawLine.of("//action:prompt_end")))

    assert shown is not None
    assert None is questions.open


def test_a_line_that_is_no_dictionary_changes_nothing() -> None:
    """The report stays as it was."""
    report = SourceReport(SourceKind.NAMED_SENSOR, "runout")

    assert report is with_dictionary(report, "filament detected")


def test_an_unknown_question_names_its_source() -> None:
    """Of a command that asks for no source, nothing is said; nor of a sentence that only sounds so."""
    told = [sources_of([line]) for line in ('echo:Unknown command: "M119"', 'echo:Unknown command: "M999"')]

    assert [1, 0] == [len(each) for each in told]
    assert () == tuple(sources_of(["echo:Unknown state of the door"]))


def test_a_switch_of_the_probe_is_told_by_its_name() -> None:
    """And a spare input by what it is, or by the far end of an axis."""
    printer = Asker("sound").printer
    spare = [Source(printer, SourceKind.SWITCH_LINE, name).spare for name in ("x_max", "x_min")]

    assert (True, False) == tuple(SwitchState(name, "open", Reading.INACTIVE).is_probe for name in ("z_probe", "x_min"))
    assert [True, False] == spare


def test_an_index_without_a_size_error_is_no_event() -> None:
    """It belongs to the error above it, and to nothing else."""
    assert () == storage_events_of(["echo:Index: 812 Size: 820"])


@pytest.mark.parametrize(("text", "like"), [("M92 X80 Y8O", True), ("X80.0 Y80.0", True), ("Steps per unit:", False)])
def test_a_damaged_setting_looks_like_one(text: str, like: bool) -> None:
    """By a command word, or two words of a letter and a number."""
    assert like is like_a_setting(text)


def test_a_console_without_sensors_is_asked_for_no_name() -> None:
    """Where the question itself is not known none is set up, and the next name is not tried."""
    steps = search(Asker("family-c").printer)
    next(steps)
    with pytest.raises(StopIteration) as end:
        steps.send(['// Unknown command:"QUERY_FILAMENT_SENSOR"'])

    assert Searched() == end.value.value


def test_a_sensor_by_its_usual_name_is_found() -> None:
    """Every usual name is tried; one that answers with a reading can be tested."""
    steps = search(Asker("c-sensor").printer)
    next(steps)
    steps.send(["Filament Sensor filament_sensor: filament detected"])
    for _ in USUAL_NAMES[2:]:
        steps.send([])
    with pytest.raises(StopIteration) as end:
        steps.send([])
    found: Searched = end.value.value

    assert (1, True) == (len(found.found), found.by_name)
    assert found.found[0].testable
