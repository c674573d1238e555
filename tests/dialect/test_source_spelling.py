"""What a source is called: one text for each, and the same source back from it."""

import pytest

from commission.dialect.sources.report import SourceKind
from commission.dialect.sources.spelling import is_reversed, kind_and_name, spelled

LINE, MONITOR, STATUS, NAMED, WORD, PIN, PULSES = SourceKind


@pytest.mark.parametrize(
    ("kind", "name", "text"),
    [
        (LINE, "filament", "filament"),
        (LINE, "filament 2", "filament 2"),
        (LINE, "x_max", "x_max"),
        (LINE, "Z probe", "Z probe"),
        (LINE, "monitor 0", "line monitor 0"),
        (LINE, "line filament", "line line filament"),
        (LINE, "monitor", "monitor"),
        (MONITOR, "0", "monitor 0"),
        (MONITOR, "active tool", "monitor active tool"),
        (STATUS, "1", "status 1"),
        (NAMED, "spool_left", "sensor spool_left"),
        (WORD, "filament 2", "word filament 2"),
        (PIN, "gpIn[0]", "input gpIn[0]"),
        (PULSES, "filament detector", "counter filament detector"),
    ],
)
def test_each_source_has_one_name(kind: SourceKind, name: str, text: str) -> None:
    """A line of the switch report keeps its own name unless that would be read as another kind; own choice."""
    assert text == spelled(kind, name)
    assert (kind, name) == kind_and_name(text)


@pytest.mark.parametrize("text", ["x_max (reversed)", "input gpIn[0] (reversed)", "line line a (reversed)"])
def test_a_reversed_input_says_so(text: str) -> None:
    """Its text is that of the input with the word behind it."""
    kind, name = kind_and_name(text)

    assert is_reversed(text)
    assert text == spelled(kind, name, reverse=True)
    assert not is_reversed(spelled(kind, name))


def test_names_of_earlier_books_are_lines() -> None:
    """Whatever an earlier release read was a line of the switch report, and its name says so still."""
    assert {LINE} == {kind_and_name(name)[0] for name in ("filament", "filament 3", "Filament runout", "FILAMENT")}
