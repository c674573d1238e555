"""The file a scripted operator is read from."""

import re
from pathlib import Path

import pytest

import commission.desk
from commission.desk.base import DeskError
from commission.desk.script import OperatorScript, ScriptEntry

HEAD = 'format = 1\n[[answer]]\nrequest = "a"\nanswer = "b"\n'


def test_whole_entry() -> None:
    """Every key of an entry is read."""
    text = HEAD + 'run = [["one", "{name}"], ["two"]]\nafter_s = 0.5\ntimeout_s = 3\ntimes = 2\n'

    script = OperatorScript.parse(text, "bench-3.toml")

    entry = ScriptEntry(1, "a", "b", (("one", "{name}"), ("two",)), 0.5, 3.0, 2)
    assert OperatorScript("bench-3.toml", (entry,)) == script


def test_one_command_needs_no_list_of_lists() -> None:
    """A command may be written as one list of words."""
    script = OperatorScript.parse(HEAD + 'run = ["one", "two"]\n', "bench-3.toml")

    assert (("one", "two"),) == script.entries[0].run


def test_names_in_braces() -> None:
    """Names in braces are filled in; braces around anything else are left alone."""
    entry = ScriptEntry(1, "a", "b", (("{port}", '{"x": {port}}', "{}"),))

    assert [["P", '{"x": P}', "{}"]] == entry.commands({"port": "P", "other": "O"})
    assert frozenset({"port"}) == entry.placeholders


@pytest.mark.parametrize(
    ("pattern", "key", "matches"),
    [
        ("trial.insert", "trial.insert", True),
        ("trial.*", "trial.insert", True),
        ("*", "trial.insert", True),
        ("trial.[iw]*", "trial.withdraw", True),
        ("trial.?????", "trial.leave", True),
        ("TRIAL.*", "trial.insert", False),
        ("trial", "trial.insert", False),
    ],
)
def test_patterns(pattern: str, key: str, matches: bool) -> None:
    """A pattern matches as in a shell, whole keys and case kept."""
    assert matches == ScriptEntry(1, pattern, "x").matches(key)


def test_guide_and_reader_agree() -> None:
    """The documented example is a valid script, and the guide names every key the reader knows."""
    guide = (Path(commission.desk.__file__).parent / "script.md").read_text(encoding="utf-8")
    example = re.search(r"```toml\n(.*?)```", guide, re.DOTALL)
    assert example is not None

    script = OperatorScript.parse(example[1], "script.md")

    script.check_variables({"python": "p", "control": "c"})
    assert 5 == len(script.entries)
    assert ["request", "answer", "run", "after_s", "timeout_s", "times", "sensor"] == re.findall(
        r"^\| `(\w+)`", guide, re.MULTILINE
    )


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        ("", "bench-3.toml: begin the script with: format = 1"),
        ('[[answer]]\nrequest = "a"\nanswer = "b"\n', "bench-3.toml: begin the script with: format = 1"),
        ("format = 2", "bench-3.toml: format 2 is not known to this version, which reads format 1"),
        ("format = true", "bench-3.toml: format True is not known to this version, which reads format 1"),
        ("format = ", "bench-3.toml is not valid TOML: "),
        ("format = 1\nanswers = 1", "bench-3.toml: unknown key 'answers'; known are answer, format"),
        ("format = 1\nanswer = 1", "bench-3.toml: write each answer as a table of its own, headed [[answer]]"),
        ("format = 1\nanswer = [1]", "bench-3.toml, answer 1: write each answer as a table of its own"),
        (HEAD + "when = 1", "bench-3.toml, answer 1: unknown key 'when'; known are after_s, answer, request, run,"),
        ("format = 1\n[[answer]]\nanswer = 'b'", "bench-3.toml, answer 1: request must be given as a text in quotes"),
        ("format = 1\n[[answer]]\nrequest = ''\nanswer = 'b'", "answer 1: request must be given as a text in quotes"),
        ("format = 1\n[[answer]]\nrequest = 'a'", "bench-3.toml, answer 1: answer must be given as a text in quotes"),
        ("format = 1\n[[answer]]\nrequest = 'a'\nanswer = 5", "answer 1: answer must be given as a text in quotes"),
        (HEAD + "run = 'ls'", "answer 1: run must be a list of words, or a list of such lists"),
        (HEAD + "run = []", "none may be empty"),
        (HEAD + "run = [[]]", "none may be empty"),
        (HEAD + "run = [1]", "none may be empty"),
        (HEAD + "run = ['']", "none may be empty"),
        (HEAD + "run = ['a', ['b']]", "none may be empty"),
        (HEAD + "after_s = -1", "answer 1: after_s must be a number of seconds from 0 to 3600"),
        (HEAD + "after_s = nan", "answer 1: after_s must be a number of seconds from 0 to 3600"),
        (HEAD + "after_s = true", "answer 1: after_s must be a number of seconds from 0 to 3600"),
        (HEAD + f"times = {'9' * 5000}", "bench-3.toml cannot be read, line 5: Exceeds the limit"),
        ("format = 1\nx = " + "[" * 5000, "bench-3.toml cannot be read: maximum recursion depth"),
        (HEAD + "timeout_s = 1e9", "answer 1: timeout_s must be a number of seconds from 0 to 3600"),
        (HEAD + "times = 0", "answer 1: times must be a whole number of at least 1"),
        (HEAD + "times = 1.5", "answer 1: times must be a whole number of at least 1"),
        (HEAD + HEAD.removeprefix("format = 1\n") + "x = 1", "bench-3.toml, answer 2: unknown key 'x'"),
    ],
)
def test_refusals(text: str, complaint: str) -> None:
    """What is wrong with a script is said with file, entry and key."""
    with pytest.raises(DeskError) as caught:
        OperatorScript.parse(text, "bench-3.toml")

    assert complaint in str(caught.value)


def test_file_that_is_missing(tmp_path: Path) -> None:
    """A file that cannot be read is named."""
    with pytest.raises(DeskError, match=r"The operator script .*none\.toml cannot be read: .*No such file"):
        OperatorScript.load(tmp_path / "none.toml")


def test_file_that_is_no_text(tmp_path: Path) -> None:
    """A file that is no UTF-8 is named."""
    path = tmp_path / "bytes.toml"
    path.write_bytes(b"format = 1 # \xff")

    with pytest.raises(DeskError, match=r"bytes\.toml cannot be read: "):
        OperatorScript.load(path)


def test_file_is_read(tmp_path: Path) -> None:
    """A script in a file is read as it stands."""
    path = tmp_path / "good.toml"
    path.write_text(HEAD, encoding="utf-8")

    assert (ScriptEntry(1, "a", "b"),) == OperatorScript.load(path).entries
