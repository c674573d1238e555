"""Two programs on one printer: a run that is at work is no broken-off one, as long as its process lives."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.bench import Folder
from tests.support.fake_process import running_printer

WAITING = '[[answer]]\nrequest = "backup.working_enough"\nanswer = "yes"\nafter_s = 60\n'


@pytest.mark.skipif(os.name == "nt", reason="kill -9 is a thing of POSIX systems")
def test_a_run_is_under_way_until_its_process_is_gone(tmp_path: Path) -> None:
    """Until then no second one begins on that printer; killed, it is broken off, and the next one begins."""
    folder = Folder(tmp_path)
    words = folder.script()
    script = tmp_path / "operator.toml"
    script.write_text(script.read_text().replace("format = 1\n", f"format = 1\n{WAITING}"))
    with running_printer("sound", "--tcp", "0", "--unpaced") as printer:
        command = [sys.executable, "-m", "commission", "backup", "bench-3", "--port", printer.link, *words]
        with subprocess.Popen([*command, "--book", str(folder.book)], cwd=tmp_path, stdout=subprocess.DEVNULL) as run:
            try:
                printer.wait_until(lambda _state: "M503" in printer.received(), within_s=30)
                listed = folder.call("book", "list")
                second = folder.call(*folder.backup_words())
                other = folder.call(*folder.backup_words("bench-4"))
            finally:
                run.send_signal(signal.SIGKILL)
                run.wait(10)
    killed = folder.call("book", "list")
    after = folder.call(*folder.backup_words())

    assert "backup  not judged  (under way)" in listed.output
    assert 8 == second.code
    assert "Wait until it has ended, or end it there. This one has sent and recorded nothing." in second.error
    assert 0 == other.code, other
    assert "backup  not judged  (broken off)" in killed.output
    assert 0 == after.code, after
    runs = [line for line in folder.call("book", "list", "bench-3").output.splitlines() if "bench-3/" in line]
    assert ["1", "2"] == [line.split("bench-3/")[1].split()[0].rpartition("/")[2].partition("-")[0] for line in runs]
