"""A few cases of each fault campaign, through the real command and the simulated printer: only such as hold."""

import pytest

from scripts.campaigns import fuzz, hostile, kills, link, restore, shared, tamper
from scripts.campaigns._shape import Result
from tests.support.programs import unrunnable
from tests.support.shared_server import server_programs


def held(result: Result, *, at_least: int) -> None:
    """That all of it held, and that there was something to hold."""
    assert [] == [line for line in result.lines if line.startswith("BROKEN")]
    assert result.tried >= at_least
    assert (result.held, result.broken) == (result.tried, 0)


def test_a_tampered_book_is_found_out() -> None:
    """Entries removed and swapped are found by verify alone, a tail cut off by the digest of a report."""
    result = tamper.run(quick=True, seed=1, only="entries ")

    held(result, at_least=3)
    assert any(line.startswith("cut or worked out anew: ") for line in result.lines)


def test_a_killed_backup_loses_nothing() -> None:
    """Two backups are killed; what stood in the book is there, and the next one is complete."""
    held(kills.run(quick=True, seed=2, only="backup", cases=4), at_least=2)


def test_a_damaged_capture_restores_settings_only() -> None:
    """Three damaged captures are put back, and the printer's log has questions and settings alone."""
    held(restore.run(quick=True, seed=1, cases=3), at_least=4)


def test_a_backup_that_lacks_something_is_put_back() -> None:
    """A capture whose end was cut off is kept with what it lacks said: the campaign goes on with it."""
    result = restore.run(quick=True, seed=1, only="capture 001")

    held(result, at_least=1)
    assert result.lines[0].endswith("1 cases sent settings")


def test_disturbed_settings_come_right() -> None:
    """A keepalive, a damaged command, a NUL, a late and an endless reply while the settings are read."""
    held(link.run(quick=True, seed=1, only="backup, tuned"), at_least=5)


def test_a_hostile_script_is_only_shown() -> None:
    """As the name of a printer it is shown or refused, in every other field shown."""
    held(hostile.run(quick=True, seed=1, only="script,"), at_least=2)


def test_a_shared_book_loses_and_doubles_nothing() -> None:
    """Four benches with two runs each, killed and cut off."""
    if server_programs() is None:
        unrunnable("the server of PostgreSQL is not installed")
    held(shared.run(quick=True, seed=1, runs=8), at_least=40)


@pytest.mark.parametrize("kind", ["capture 000", "script 000", "export 000"])
def test_a_damaged_file_is_not_taken_for_whole(kind: str) -> None:
    """Ten of each kind; units and books are left to the campaign itself."""
    held(fuzz.run(quick=True, seed=1, only=kind), at_least=10)
