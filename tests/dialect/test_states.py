"""Whether a printer serves, and what an acknowledged answer says went wrong."""

import pytest

from commission.dialect.family import Family
from commission.dialect.refusals import Fault, Refusal, refusal_of
from commission.dialect.states import PrinterState, StateReport, state_of, state_question
from tests.dialect.feeding import read_texts
from tests.dialect.printers import printer


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (b"// ExampleFW state: Ready\nok\n", StateReport(PrinterState.READY)),
        (
            b"// Bench host is waking\n// ExampleFW state: Not ready\n!! Bench host is waking\nok\n",
            StateReport(PrinterState.NOT_READY, "Bench host is waking"),
        ),
        (
            b"// ExampleFW state: Shutdown\nok\n// Board 'belt' shutdown: lamp broke\n"
            b"// Use the \"FIRMWARE_RESTART\" command\n!! Board 'belt' shutdown: lamp broke\nok\n",
            StateReport(PrinterState.SHUT_DOWN, "lamp broke", ("FIRMWARE_RESTART",)),
        ),
        (
            b'// ExampleFW state: Disconnect\n// "RESTART" or "FIRMWARE_RESTART", "RESTART"\n',
            StateReport(PrinterState.DISCONNECTED, "", ("RESTART", "FIRMWARE_RESTART")),
        ),
        (
            b"// ExampleFW state: Shutdown\n!! Board 'belt' shutdown: lamp broke\n// ExampleFW state: Ready\n",
            StateReport(PrinterState.READY),
        ),
        (b"ok T:0\n", StateReport(PrinterState.NOT_READY)),
        (b'{"status":"P","heaters":[20.5]}\nok\n', StateReport(PrinterState.PRINTING)),
        (b'{"status":"H","heaters":[20.5]}\nok\n', StateReport(PrinterState.HALTED)),
        (b"Emergency Stop! Reset the controller to continue.\n", StateReport(PrinterState.HALTED)),
        (b"Error:Printer halted. kill() called!\n", StateReport(PrinterState.HALTED)),
        (b"!! The value 's' is not valid for SENSOR\nok\n", None),
        (b"ok T:0.0 /0.0\n", None),
        (b'{"status":"?","heaters":[20.5]}\nok\n', None),
        (b"// state: asleep\nok\n", None),
    ],
)
def test_state_is_read(data: bytes, expected: StateReport | None) -> None:
    """The last state that is stated counts, with its reason and the ways out; an acknowledgement says nothing of it."""
    assert expected == read_texts(state_of, data)


def test_dead_states_do_not_serve() -> None:
    """A printer that is not ready, shut down, disconnected or halted carries nothing out; every other state serves."""
    dead = {PrinterState.NOT_READY, PrinterState.SHUT_DOWN, PrinterState.DISCONNECTED, PrinterState.HALTED}

    assert dead == {each for each in PrinterState if not each.serves}


@pytest.mark.parametrize(("family", "text"), [(Family.B, "M408 S0"), (Family.C, "STATUS"), (Family.A, None)])
def test_state_is_asked_where_it_can_be(family: Family, text: str | None) -> None:
    """Two families can be asked about their state; of the others nothing is tried."""
    question = state_question(printer(family))

    assert text == (None if question is None else question.text)


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (b"ok\n", None),
        (b"x_min: open\nok\n", None),
        (
            b"// Why\n!! The value 's' is not valid for SENSOR\nok\n",
            Refusal(Fault.FAILED, "!! The value 's' is not valid for SENSOR"),
        ),
        (
            b"Error: M591: Pin 'io5.in' is not free\nok\n",
            Refusal(Fault.FAILED, "Error: M591: Pin 'io5.in' is not free"),
        ),
        (
            b'// Unknown command:"QUERY_BUTTON"\nok\n',
            Refusal(Fault.UNKNOWN_COMMAND, '// Unknown command:"QUERY_BUTTON"', "QUERY_BUTTON"),
        ),
        (b"ok 4\nError:Wrong checksum\n", Refusal(Fault.GARBLED, "Error:Wrong checksum")),
        (
            b"Emergency Stop! Reset the controller to continue.\n",
            Refusal(Fault.HALTED, "Emergency Stop! Reset the controller to continue."),
        ),
    ],
)
def test_acknowledged_error_is_no_success(data: bytes, expected: Refusal | None) -> None:
    """What went wrong is told by the lines beside the acknowledgement, whichever family words them."""
    assert expected == read_texts(refusal_of, data)
