"""How long a command waits for a printer that says that it is busy, and hangs."""

from pathlib import Path

import pytest

from commission.cli.options import Settings
from tests.cli.bench import Folder
from tests.support.fake_process import running_printer


@pytest.mark.parametrize(
    ("named", "script", "told", "seconds"),
    [
        (None, None, True, 1800.0),
        (None, None, False, 600.0),
        (None, Path("operator.toml"), True, 600.0),
        (20.0, None, True, 20.0),
    ],
    ids=["a person", "nobody", "a script", "as named"],
)
def test_who_can_stop_it_waits_longest(named: float | None, script: Path | None, *, told: bool, seconds: float) -> None:
    """Half an hour where a person is told and can stop, ten minutes where nobody is; what is named goes before both."""
    settings = Settings(tag="bench-3", port="", busy_wait=named, script=script)

    assert seconds == settings.longest_wait_s(told=told)


def test_a_printer_that_hangs_is_left_in_time(tmp_path: Path) -> None:
    """It hangs at the question who it is and says for ever that it is busy: the run ends in a sentence, not judged."""
    folder = Folder(tmp_path)
    with running_printer("tuned", "--tcp", "0", "--unpaced") as printer:
        printer.do("when", "M115", "disturb", "silence")
        said = folder.call("backup", "bench-3", "--port", printer.link, *folder.script(), "--busy-wait", "5")

    assert 3 == said.code, said
    assert "busy" in said.output
    assert "Traceback" not in said.error
