"""What is said when a run ends before its end."""

import pytest

from commission.asking.response import Interruption, InterruptionKind
from commission.cli.way_out import make_safe, why_unfinished
from commission.conductor.ended import Ended
from commission.dialect.commands import Effect
from commission.evidence.findings.settings import SettingsSaved
from commission.jobs.install import JobResult
from commission.procedure.settings.saving import Saved
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


@pytest.mark.parametrize(
    ("saved", "said"),
    [
        (Saved.STORED, "it changed settings and saved the settings, each under a release."),
        (Saved.UNSAID, "it changed settings and sent a save that the printer did not confirm, each under a release."),
        (Saved.FAILED, "it changed settings and sent a save that failed, each under a release."),
        (
            Saved.DISABLED,
            "it changed settings and sent a save that this firmware cannot carry out, each under a release.",
        ),
        (None, "it changed settings and sent a save of which nothing is known, each under a release."),
    ],
)
def test_a_save_is_told_by_what_came_of_it(saved: Saved | None, said: str) -> None:
    """That a save was sent does not show that anything was saved."""
    ended = Ended[JobResult](Outcome.COMPLETE)
    effects = frozenset({Effect.SETTING, Effect.SAVE})
    found = None if saved is None else SettingsSaved(saved=saved.value)

    assert make_safe(ended, effects, found).sentence.endswith(said)
