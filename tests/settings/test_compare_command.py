"""`commission compare --before FILE --after FILE`: screen, JSON, exit codes and wrong usage."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from jsonschema import Draft202012Validator

from commission.cli.compare import compare
from commission.settings.comparison_json import schema
from tests.settings.reports import NEWER, OLDER


def run(*arguments: str) -> Result:
    """Run the command."""
    return CliRunner().invoke(compare, list(arguments))


@pytest.fixture
def captures(tmp_path: Path) -> dict[str, str]:
    """Saved captures by name."""
    texts = {
        "older": OLDER,
        "newer": NEWER,
        "tuned": OLDER.replace("E97.50", "E99.00"),
        "empty": "",
        "no settings": "ok\n T:21.0\n",
        "hostile": OLDER + "  C100 \x1b[2J\u202e\n",
        "binary": "\x00\xff\n" * 50,
    }
    for name, text in texts.items():
        (tmp_path / name).write_bytes(text.encode())
    return {name: str(tmp_path / name) for name in texts} | {
        "missing": str(tmp_path / "missing"),
        "folder": str(tmp_path),
    }


def test_no_difference_is_exit_code_zero(captures: dict[str, str]) -> None:
    """A capture compared with itself ends with 0."""
    result = run("--before", captures["older"], "--after", captures["older"])

    assert 0 == result.exit_code, result.output
    assert "0 changed" in result.output


@pytest.mark.parametrize("encoding", ["utf-16", "utf-8-sig"])
def test_a_capture_that_an_editor_saved_is_read(captures: dict[str, str], tmp_path: Path, encoding: str) -> None:
    """The mark that some editors put before their text is taken off, as `read` does."""
    saved = tmp_path / "saved.txt"
    saved.write_text(OLDER, encoding=encoding)

    result = run("--before", captures["older"], "--after", str(saved))

    assert 0 == result.exit_code, result.output


def test_a_difference_is_exit_code_one(captures: dict[str, str]) -> None:
    """A changed value ends with 1 and is shown."""
    result = run("--before", captures["older"], "--after", captures["tuned"])

    assert 1 == result.exit_code
    assert "  M92 E  extruder                            97.50           99.00  steps/mm" in result.output


def test_json_follows_the_published_schema(captures: dict[str, str]) -> None:
    """With --json the output is one JSON document of the published form."""
    result = run("--before", captures["older"], "--after", captures["newer"], "--json")

    data = json.loads(result.stdout)
    Draft202012Validator(schema()).validate(data)
    assert 1 == result.exit_code
    assert ["M200"] == [item["command"] for item in data["meaning_changed"]]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([], "Give a printer's tag, or a saved console capture for each"),
        (["--before", "older"], "--after missing"),
        (["bench-3", "--before", "older", "--after", "newer"], "not both"),
        (["--before", "missing", "--after", "older"], "cannot be read: No such file"),
        (["--before", "folder", "--after", "older"], "cannot be read"),
        (["--before", "empty", "--after", "older"], "no settings line was found in it"),
        (["--before", "older", "--after", "no settings"], "no settings line was found in it"),
        (["--before", "binary", "--after", "older"], "no settings line was found in it"),
    ],
)
def test_wrong_usage_is_exit_code_two(captures: dict[str, str], arguments: list[str], words: str) -> None:
    """What cannot be compared ends with 2 and a sentence that says what to do."""
    result = run(*(captures.get(argument, argument) for argument in arguments))

    assert 2 == result.exit_code
    assert words in " ".join(result.output.split())


def test_without_a_book_nothing_is_compared(tmp_path: Path) -> None:
    """A printer's tag needs a record book; a missing one is named, and none is begun."""
    result = run("bench-3", "--book", str(tmp_path / "none.sqlite3"))

    assert 9 == result.exit_code
    assert "There is no record book" in result.output
    assert [] == list(tmp_path.iterdir())


def test_hostile_text_does_not_reach_the_screen(captures: dict[str, str]) -> None:
    """Control characters of a capture are shown, not obeyed."""
    result = run("--before", captures["hostile"], "--after", captures["older"], "--all")

    assert "\x1b" not in result.output
    assert "\u202e" not in result.output


def test_a_file_that_is_too_large_is_refused(tmp_path: Path, captures: dict[str, str]) -> None:
    """A file that can be no capture of one report is refused before it is read."""
    large = tmp_path / "large"
    with large.open("wb") as file:
        file.truncate(17 * 1024 * 1024)

    result = run("--before", str(large), "--after", captures["older"])

    assert 2 == result.exit_code
    assert "larger than 4 MiB" in result.output


def test_help_shows_an_example() -> None:
    """The help has an example and the exit codes."""
    result = run("--help")

    assert "commission compare --before as-found.txt" in result.output
    assert "Exit codes: 0 no difference" in result.output
