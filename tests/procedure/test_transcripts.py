"""What each procedure asks, says and establishes is as it is kept: as usual, and with one answer given otherwise."""

from difflib import unified_diff
from itertools import islice

import pytest

from commission.asking.request import Confirm
from commission.asking.steps import Steps, confirm
from tests.procedure.settings_bench import FakeUnit, SettingsBench
from tests.procedure.transcripts.kept import FOLDER, RUNS, compared, kept
from tests.procedure.transcripts.recorder import Recorder, Scene
from tests.support.sweeps import as_many

MOST_LINES = 60
"""So much of a difference is shown; writing the files anew shows all of it."""
MOST_BYTES = 300_000


@pytest.mark.swept
@pytest.mark.parametrize("name", RUNS)
def test_each_run_goes_as_it_is_kept(name: str) -> None:
    """Draw it anew by `python -m tests.procedure.transcripts` after a change that is meant, and read the difference."""
    before, now = compared(name, one_in=as_many(16, 1))
    difference = unified_diff(before, now, "kept", "now", n=2, lineterm="")

    assert "" == "\n".join(islice(difference, MOST_LINES))


def test_each_kept_file_is_of_a_run() -> None:
    """No file stays of a run that is gone, and none is too large to be read."""
    files = sorted(FOLDER.glob("*.txt"))

    assert sorted(kept(name) for name in RUNS) == files
    assert [] == [file.name for file in files if file.stat().st_size > MOST_BYTES]


def asked_twice() -> Steps[tuple[bool, bool]]:
    """Two questions."""
    first = yield from confirm(Confirm("first", "One?"))
    return first, (yield from confirm(Confirm("second", "Two?")))


def test_one_answer_is_given_otherwise() -> None:
    """Of two questions that are answered yes, each is answered no in a run of its own."""

    def run(recorder: Recorder) -> object:
        return SettingsBench(FakeUnit("sound")).play(recorder.of(asked_twice()))

    scene = Scene(run)
    usual = scene.recorded()
    ends = [scene.recorded(other).blocks[-1] for other in (None, *usual.others)]

    assert [("Returns (True, True)",), ("Returns (False, True)",), ("Returns (True, False)",)] == ends
