"""What is said when a run ends before its end."""

import pytest

from commission.asking.response import Interruption, InterruptionKind
from commission.cli.way_out import why_unfinished
from commission.conductor.ended import Ended
from commission.jobs.install import JobResult
from commission.vocabulary import Outcome


@pytest.mark.parametrize(
    ("interruption", "sentence"),
    [
        (None, ""),
        (Interruption(InterruptionKind.OPERATOR_STOP, "stopped by Ctrl-C"), "Not finished: stopped by Ctrl-C."),
        (
            Interruption(InterruptionKind.OPERATOR_STOP, "the input has ended"),
            "Not finished: stopped by the operator: the input has ended.",
        ),
        (
            Interruption(InterruptionKind.BOARD_RESTARTED, "the board restarted (start)"),
            "Not finished: the board restarted (start).",
        ),
        (
            Interruption(InterruptionKind.NOT_CONNECTED, "The port /dev/ttyUSB0 is in use. Close the other program."),
            "Not finished: the printer was not reached: The port /dev/ttyUSB0 is in use. Close the other program.",
        ),
        (
            Interruption(InterruptionKind.LINK_LOST, "There is no port COM9. Plug the printer in."),
            "Not finished: the link was lost: There is no port COM9. Plug the printer in.",
        ),
    ],
)
def test_why_a_run_is_unfinished(interruption: Interruption | None, sentence: str) -> None:
    """The kind of interruption and its detail are said once each, in a sentence with one full stop."""
    assert sentence == why_unfinished(Ended[JobResult](Outcome.STOPPED, interruption=interruption))
