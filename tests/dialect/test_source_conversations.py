"""Where the answer to a question about a source ends, on each family and in both ways of acknowledging."""

from collections.abc import Sequence

import pytest

from commission.dialect.answers import Acknowledging
from commission.dialect.commands import HEATERS_OFF, IDENTITY, POSITION, SETTINGS, SWITCHES, Command
from commission.dialect.conversation import Conversation, ConversationState, Happening, Interruption
from commission.dialect.family import Family
from commission.dialect.sources.answers import SUSPENDED_ANSWER
from commission.dialect.sources.report import SourceKind
from commission.dialect.sources.source import Source
from commission.dialect.states import state_question
from tests.dialect.printers import IDENTITIES, printer

A, B, C, D, E = Family
LINE, MONITOR, STATUS, NAMED, WORD, PIN, PULSES = SourceKind
BARE = Acknowledging.EMPTY_LINE


def ask(family: Family, kind: SourceKind, name: str) -> Command:
    """The question for one source."""
    return Source(printer(family), kind, name).question


def state(family: Family) -> Command:
    """The question for the printer's state."""
    found = state_question(printer(family))
    assert found is not None
    return found


def heard(
    command: Command, data: bytes, acknowledging: Acknowledging = Acknowledging.WORD
) -> Sequence[tuple[str, str]]:
    """What belongs where, provided that it is the same whole, byte by byte and with a tail; blank lines kept."""
    results = []
    for chunks in ([data], [data[index : index + 1] for index in range(len(data))], [data + b"Simple fil"]):
        conversation = Conversation(acknowledging=acknowledging)
        conversation.command(command)
        happenings: list[Happening] = [each for chunk in chunks for each in conversation.feed(chunk)]
        results.append([(each.reply.text, each.belongs) for each in happenings])

    assert results[0] == results[1] == results[2]
    return results[0]


JAM = b"Extruder moved: 8.500000 mm\r\nEncoder pulses: 2\r\nFilament detector is enabled\r\nok\r\n"


@pytest.mark.parametrize(
    ("command", "data", "lines"),
    [
        (ask(A, MONITOR, "active tool"), b"echo:Filament runout ON ; Distance 6.00mm ; Mode 3\nok\n", 2),
        (ask(A, MONITOR, "active tool"), b'echo:Unknown command: "M591"\nok\n', 2),
        (ask(A, PIN, "46"), b"PIN:  46 PD3          <unused/unknown>       Input  = 1\nok\n", 2),
        (ask(B, MONITOR, "0"), b"Simple filament sensor on pin io5.in, enabled, filament present: no\nok\n", 2),
        (ask(B, MONITOR, "3"), b"Extruder 3 has no filament sensor\nok\n", 2),
        (ask(B, MONITOR, "0"), b"Error: M591: parameter 'D' too high\nok\n", 2),
        (ask(B, STATUS, "0"), b'{"key":"sensors.filamentMonitors","flags":"","result":[]}\n\nok\n', 3),
        (ask(B, STATUS, "0"), b'{"err":-1}\nok\n', 2),
        (ask(B, PIN, "gpIn[1]"), b'{"key":"sensors.gpIn[1]","flags":"","result":{"value":0}}\nok\n', 2),
        (state(B), b'{"status":"I","heaters":[20.5]}\nok\n', 2),
        (ask(C, NAMED, "s"), b"// Filament Sensor s: filament detected\nok\n", 2),
        (
            ask(C, NAMED, "s"),
            b"// Filament Sensor s: filament not detected\n// {'filament_detected': False, 'enabled': True}\nok\n",
            3,
        ),
        (ask(C, NAMED, "s"), b"!! The value 's' is not valid for SENSOR\nok\n", 2),
        (ask(C, NAMED, "s"), b'// Unknown command:"QUERY_FILAMENT_SENSOR"\nok\n', 2),
        (ask(C, PIN, "b"), b"// b: PRESSED\nok\n", 2),
        (state(C), b"// ExampleFW state: Ready\nok\n", 2),
        (state(C), b"// Host is not ready\n// ExampleFW state: Not ready\n!! Host is not ready\nok\n", 4),
        (ask(D, PIN, "57"), b"ok 3\n to 57 is 0\n", 2),
        (ask(D, PIN, "57"), b"ok 3\nError:Pin can not be set by M42, it heats! \n", 2),
        (ask(E, PULSES, "filament detector"), JAM, 4),
    ],
)
def test_answer_ends_with_its_last_line(command: Command, data: bytes, lines: int) -> None:
    """Whichever family answers, the exchange ends with its last line, and nothing of the answer is an aside."""
    told = heard(command, data)

    assert lines == len(told)
    assert "end" == told[-1][1]
    assert {"answer"} >= {belongs for text, belongs in told[:-1] if text}


def test_acknowledgement_of_another_command_cuts_no_state_short() -> None:
    """A host's reasons are heard to their fault line, although the acknowledgement of a move stands between them."""
    data = (
        b"// ExampleFW state: Shutdown\nok\n// Board 'toolhead' shutdown: queue empty\n"
        b"// Use the \"FIRMWARE_RESTART\" command\n!! Board 'toolhead' shutdown: queue empty\nok\n"
    )
    told = heard(state(C), data)

    assert ["answer", "answer", "answer", "answer", "end", "aside"] == [belongs for _, belongs in told]


def test_lines_after_the_acknowledgement_belong_to_it() -> None:
    """A family that finishes a pause after acknowledging it is heard to its last line."""
    command = Command("SUSPEND", "pause", HEATERS_OFF[0].effect, SUSPENDED_ANSWER)
    data = (
        b"Suspending print, waiting for the moves to end...\n// action:pause\nok\n// Waiting...\n// Saving...\n"
        b"// Print Suspended, enter resume to go on\n"
    )

    assert ["answer", "aside", "answer", "answer", "answer", "end"] == [belongs for _, belongs in heard(command, data)]


def test_unasked_lines_stay_asides() -> None:
    """Jams, pauses and comments that nobody asked for do not enter a sensor's answer."""
    data = (
        b"// ExampleFW state: Ready\n// action:pause\n// Filament Sensor s: filament detected\n"
        b"Extruder 0 reports no filament\nok\n"
    )

    assert ["aside", "aside", "answer", "aside", "end"] == [belongs for _, belongs in heard(ask(C, NAMED, "s"), data)]


# --- empty lines instead of acknowledgements ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("command", "data"),
    [
        (HEATERS_OFF[0], b"\n"),
        (HEATERS_OFF[0], b"Error: M104: heater 1 not found\n"),
        (SWITCHES, b"Endstops - X: not stopped, Y: at min stop\n"),
        (POSITION, b"X:1.000 Y:2.000 Z:3.000 E:0.000 Count 0 0 0\n"),
        (ask(B, MONITOR, "0"), b"Simple filament sensor on pin io5.in, enabled, filament present: no\n"),
        (ask(B, MONITOR, "0"), b"Error: M591: parameter 'D' too high\n"),
        (ask(B, STATUS, "0"), b'{"key":"sensors.filamentMonitors","flags":"","result":[]}\n'),
    ],
)
def test_content_is_its_own_acknowledgement(command: Command, data: bytes) -> None:
    """Where nothing is acknowledged, an empty line is an empty reply, and a whole answer ends with itself."""
    assert "end" == heard(command, data, BARE)[-1][1]


def test_word_still_counts_where_lines_are_empty() -> None:
    """A printer that acknowledges after all is heard."""
    assert ["end"] == [belongs for _, belongs in heard(HEATERS_OFF[0], b"ok\n", BARE)]


def test_empty_line_answers_no_question() -> None:
    """An empty line behind the answer before it does not pass for the answer to the next question."""
    told = heard(ask(B, MONITOR, "0"), b"\nSimple filament sensor on pin io5.in, enabled\n", BARE)

    assert ["aside", "end"] == [belongs for _, belongs in told]


@pytest.mark.parametrize(
    ("command", "data"),
    [(SETTINGS, b"; start-up file\n\nM92 X80.00\n"), (IDENTITY, IDENTITIES[B].removesuffix(b"ok\n"))],
)
def test_long_answer_lingers_until_quiet(command: Command, data: bytes) -> None:
    """Where nothing is acknowledged, an answer of unknown length ends when the line falls quiet, and is in step."""
    conversation = Conversation(acknowledging=BARE)
    conversation.command(SWITCHES)
    conversation.give_up()
    conversation.command(command)
    happenings = conversation.feed(data)

    assert not any(each.exchange_done for each in happenings)
    assert ConversationState.LINGERING is conversation.state

    conversation.end_lingering()

    assert not conversation.adrift


def test_nothing_is_queued_where_nothing_is_acknowledged() -> None:
    """After an answer without an acknowledgement no question is queued ahead in this run."""
    conversation = Conversation(acknowledging=BARE)
    conversation.command(SWITCHES)
    conversation.feed(b"Endstops - X: not stopped\n")

    assert not conversation.may_queue_ahead


def test_stop_without_a_prefix_is_a_halt() -> None:
    """The bare words of an emergency stop end the conversation like any halt."""
    conversation = Conversation()
    conversation.command(ask(B, MONITOR, "0"))
    (happening,) = conversation.feed(b"Emergency Stop! Reset the controller to continue.\n")

    assert Interruption.HALTED is happening.interruption
