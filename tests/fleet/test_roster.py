"""The roster file: what it says, everything that is wrong with it at once, and that it comes back as it was written."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.fleet.roster import Listed, RosterError, as_toml, parse_roster, read_roster

WHOLE = '''\
format = 1

[[printer]]
tag = "bench-3"
place = "workshop, second bench"
port = "/dev/serial/by-id/usb-example-if00"
speed = 115200
source = "switch_line"
wiring = "fail-safe"
notes = """
[[printer]]
tag = "not a printer: a remark"
"""

[[printer]]
tag = "bench-4"
'''
WRONG = """\
format = 2
owner = "R. Okafor"

[[printer]]
place = "workshop"
speed = 12

[[printer]]
tag = "bench-4"
port = "ftp://bench-4:9"
colour = "red"

[[printer]]
tag = "bench-4"
wiring = "safe"
notes = 7
"""
TEXTS = st.text(st.characters(exclude_categories=["C", "Z"]) | st.just(" "), max_size=30).filter(str.isprintable)


def complaints(text: str) -> list[tuple[int, str]]:
    """What is wrong with a roster: line and sentence."""
    with pytest.raises(RosterError) as refused:
        parse_roster(text)
    return [(each.line, each.what) for each in refused.value.complaints]


def test_a_roster_says_of_each_printer_what_it_says() -> None:
    """A key that is left out is empty; a text of several lines is a text and nothing else."""
    first, second = parse_roster(WHOLE)

    assert ("bench-3", "workshop, second bench", 115200) == (first.tag, first.place, first.speed)
    assert ("switch_line", "fail-safe") == (first.source, first.wiring)
    assert 'tag = "not a printer: a remark"' in first.notes
    assert Listed("bench-4") == second


def test_everything_that_is_wrong_is_said_at_once() -> None:
    """Each complaint has the line of the key it is about, or of its printer's heading."""
    found = complaints(WRONG)

    assert [1, 2, 4, 6, 10, 11, 14, 15, 16] == [line for line, _ in found]
    said = dict(found)
    assert "write `format = 1`" in said[1]
    assert "`owner` is no key of a roster" in said[2]
    assert "has no `tag`" in said[4]
    assert "from 300 to 20000000" in said[6]
    assert said[10].startswith("`port`: ")
    assert "there are tag, place, port, speed, source, wiring, notes" in said[11]
    assert "the tag bench-4 stands in line 9 already" in said[14]
    assert "fail-safe, fail-danger, unsteady, not tested" in said[15]
    assert "put it in quotes" in said[16]


def test_a_remark_does_not_shift_the_lines() -> None:
    """Quotes in a remark open no text, and a text that is closed in its line goes on no further."""
    text = 'format = 1\n# """ is no text here\n[[printer]]\ntag = """a"""\nspeed = 1\n'

    assert [5] == [line for line, _ in complaints(text)]


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ("format = 1\n\n[[printer]\n", 3, "this is no TOML"),
        ("format = 1\nprinter = 3\n", 2, "under its own heading"),
        ("[[printer]]\ntag = 'a'\n", 1, "there is no `format`"),
        ("format = true\n", 1, "this format is not known"),
        ("format = 1\n[[printer]]\ntag = ' '\n", 3, "give the printer a name"),
        ('format = 1\n[[printer]]\ntag = "a\\u001b[2J"\n', 3, "some that do not print"),
    ],
)
def test_a_file_of_another_form_is_refused(text: str, line: int, said: str) -> None:
    """The first thing to put right is named with its line."""
    ((found, what), *_) = complaints(text)

    assert line == found
    assert said in what


def test_a_file_that_is_no_text_is_refused(tmp_path: Path) -> None:
    """Bytes of another encoding are named with their line."""
    (tmp_path / "roster.toml").write_bytes(b"format = 1\n# \xff\n")
    with pytest.raises(RosterError, match="line 2: this is no UTF-8 text"):
        read_roster(tmp_path / "roster.toml")


@given(
    st.lists(
        st.builds(Listed, tag=TEXTS.filter(str.strip), place=TEXTS, notes=TEXTS, speed=st.sampled_from([0, 9600])),
        unique_by=lambda each: each.tag,
        max_size=4,
    )
)
def test_what_is_written_is_read_back(printers: list[Listed]) -> None:
    """Whatever the texts hold; what is empty is left out."""
    assert printers == parse_roster(as_toml(printers, ["a remark"]))


@given(st.text(max_size=200) | st.lists(st.sampled_from([*WRONG.splitlines(), '"""']), max_size=30).map("\n".join))
def test_any_text_is_read_or_refused(text: str) -> None:
    """Nothing ends in another error, and each complaint has a line of the text."""
    found: list[int] = []
    try:
        parse_roster(text)
    except RosterError as refused:
        found = [each.line for each in refused.complaints]
    assert all(1 <= line <= text.count("\n") + 1 for line in found)
