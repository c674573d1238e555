"""A cut or damaged report is no backup: what it lacks is named.

The lines are invented; what is expected of a report is common practice, no source.
"""

import pytest

from commission.dialect.framing import split_lines
from commission.dialect.understanding import understand
from commission.settings.gaps import Gaps, gaps_of
from commission.settings.snapshot import snapshot_of, snapshot_of_capture
from tests.settings.reports import MESH, NEWER, OLDER, OLDEST

STEPS = "echo:  M92 X80.00 Y80.00 Z400.00 E97.50\n"
POINTS = "".join(line for line in MESH.splitlines(keepends=True) if "G29" in line)
WITH_MESH = NEWER.replace("echo:; Material", f"{POINTS}echo:; Material")
LISTED = "EPR:3 3 80.00 X-axis steps per mm\nEPR:2 75 115200 Speed\nok\n"


def gaps(text: str) -> Gaps:
    """What is missing from this capture."""
    return gaps_of(
        [line.text for line in split_lines(text.encode("latin-1"))], snapshot_of_capture(text.encode("latin-1"))
    )


@pytest.mark.parametrize("text", [OLDER, NEWER, f"{OLDEST}ok\n", WITH_MESH, LISTED])
def test_a_whole_report_lacks_nothing(text: str) -> None:
    """A report of each generation with its end, also one with a mesh, and a listing of numbered places, is whole."""
    assert gaps(text).whole, gaps(text).sentences


@pytest.mark.parametrize(
    "damaged",
    [
        "echo:  M9~ X80.00 Y80.00 Z400.00 E97.50\n",
        "echo:  M92 X80.00 Y8\x7f.00 Z400.00 E97.50\n",
        "echo:  M92 X80.00 Y Z400.00 E97.50\n",
        "ec 80.00 Y80.00 Z400.00 E97.50\n",
        "M92 X80.0eM203 0 Y80.00\n",
    ],
)
def test_a_damaged_line_is_named(damaged: str) -> None:
    """A line that looks like a setting and is not understood keeps the report from being whole, and is named."""
    found = gaps(NEWER.replace(STEPS, damaged))

    assert not found.whole
    assert any("X80" in line or "Y80" in line for line in found.not_read), found


def test_a_letter_damaged_into_another_is_named() -> None:
    """No build lists a jerk in X and none in Y but an older one, whose line has its own letters."""
    jerk = next(line for line in NEWER.splitlines() if "M205" in line)
    found = gaps(NEWER.replace(jerk, jerk.replace(" Y", " U")))

    assert [jerk.replace(" Y", " U")] == list(found.not_read)


@pytest.mark.parametrize(
    ("command", "said"),
    [
        ("M92", "steps (M92)"),
        ("M203", "highest speeds (M203)"),
        ("M201", "highest accelerations (M201)"),
        ("M204", "accelerations (M204)"),
        ("M205", "jerk (M205)"),
    ],
)
@pytest.mark.parametrize("text", [OLDEST, OLDER, NEWER], ids=["oldest", "older", "newer"])
def test_what_every_report_states_is_missed(text: str, command: str, said: str) -> None:
    """A line that is gone without a trace is missed by its command, in every generation."""
    lines = [line for line in text.splitlines(keepends=True) if f" {command} " not in line]
    found = gaps("".join(lines))

    assert (said,) == found.absent
    assert f"Not on record: {said}." in found.sentences


def test_a_command_damaged_into_another_is_named() -> None:
    """No report lists a command that acts: where one stands, another one was damaged into it."""
    found = gaps(NEWER.replace("M301 P19.40", "M30  P19.40"))

    assert ("echo:  M30  P19.40 I1.21 D77.70",) == found.not_read


@pytest.mark.parametrize("lines", range(2, len(NEWER.splitlines())))
def test_a_report_cut_after_any_line_is_not_whole(lines: int) -> None:
    """Wherever it is cut, the missing end is seen."""
    found = gaps("\n".join(NEWER.splitlines()[:lines]) + "\n")

    assert not found.ended
    assert not found.whole


def test_a_report_cut_at_any_byte_is_not_whole() -> None:
    """Cut anywhere before its last word, it is not whole; each cut keeps at least the settings' first line."""
    for length in range(NEWER.index("M149"), NEWER.rindex("ok")):
        assert not gaps(NEWER[:length]).whole, length


def test_an_end_before_the_last_setting_is_none() -> None:
    """The acknowledgement of another question before the report is not its end."""
    assert not gaps(f"ok\n{NEWER.removesuffix('ok' + chr(10))}").ended


@pytest.mark.parametrize(
    "partial",
    [
        "echo:  M92 X99.00\n",
        "echo:  M92 X80.00 Y80.00 Z400.00 E9\n",
        "echo:  M92 X80.00 Y80.00 Z\n",
        "echo:  M92 X80.00 Y80.00 Z4#0.00 E97.50\n",
    ],
)
def test_a_later_partial_line_replaces_no_whole_one(partial: str) -> None:
    """A setting printed again but cut short or damaged leaves the whole line standing, and is named."""
    taken = snapshot_of_capture(f"{NEWER}{partial}ok\n".encode())
    steps = [line for line in taken.lines if line.command == "M92"]

    assert [{"X": 80.0, "Y": 80.0, "Z": 400.0, "E": 97.5}] == [dict(line.values) for line in steps]
    assert (partial.rstrip("\n"),) == taken.partial
    assert not gaps(f"{NEWER}{partial}ok\n").whole


def test_a_later_whole_line_replaces_a_partial_one() -> None:
    """Where the first line was the cut one, the whole one after it is taken, and nothing is missing."""
    text = NEWER.replace(STEPS, "echo:  M92 X80.00 Y80.00\n")
    taken = snapshot_of_capture(f"{text}{STEPS}ok\n".encode())

    assert [97.5] == [line.values["E"] for line in taken.lines if line.command == "M92"]
    assert () == taken.partial


def test_a_shorter_last_report_lacks_what_the_one_before_had() -> None:
    """Of two reports the last is taken; what only the longer one before it has is named."""
    shorter = "".join(line for line in NEWER.splitlines(keepends=True) if "M301" not in line)

    assert ("M301, which an earlier report in it has",) == gaps(NEWER + shorter).absent


def test_a_remark_is_no_damaged_setting() -> None:
    """What a build says beside its settings, in words, is kept and keeps nothing from being whole."""
    assert gaps(NEWER.replace("ok\n", "echo:Wobble compensation 7 of 9\nok\n")).whole


def test_what_came_is_not_taken_for_an_end_it_had() -> None:
    """Where the end was seen when it was asked for, the lines need not hold it."""
    lines = NEWER.removesuffix("ok\n").splitlines()
    taken = snapshot_of(understand("\n".join(lines).encode()).settings)

    assert gaps_of(lines, taken, ended=True).whole
