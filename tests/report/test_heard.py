"""What was heard while the tool only listened, in the story of the run."""

from pathlib import Path

from commission.evidence.wire import Heard, HeardSign
from commission.report.record import read_run
from commission.report.write import draw
from tests.report.scripted_run import NUMBER, ScriptedRun

BUSY = "echo:busy: paused for user"


def test_the_same_thing_over_and_over_is_told_once(tmp_path: Path) -> None:
    """A line that came again and again is told with how often it came; one that came once stands alone."""
    run = ScriptedRun(tmp_path)
    run.start()
    waits = [HeardSign(-2.0 * number, "the printer waits for a person", BUSY) for number in range(15, 0, -1)]
    resumed = HeardSign(0.5, "the printer says that it has resumed", "//action:resumed")
    run.write(Heard(signs=(*waits, resumed)))

    said = draw(read_run(run.book, NUMBER), "markdown", full=True)

    assert f"Heard: the printer waits for a person, {BUSY} (15 times); the printer says that it has resumed" in said


def test_silence_is_told_as_such(tmp_path: Path) -> None:
    """Where nothing was heard the story says so."""
    run = ScriptedRun(tmp_path)
    run.start()
    run.write(Heard())

    assert "Listened; nothing was heard." in draw(read_run(run.book, NUMBER), "markdown", full=True)
