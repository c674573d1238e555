"""The bytes of a run as lines: joined whatever the pieces, folded without losing count."""

from datetime import timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.report.document import ConsoleLine
from commission.report.record import Event, read_run
from commission.report.wire import MOST_LINES, WireLine, console_lines, wire_lines
from tests.report.scripted_run import NUMBER, ScriptedRun
from tests.support.fake_time import START

SAID = b"filament: open\r\nok\n"


def event(sequence: int, pieces: list[tuple[bool, bytes]]) -> Event:
    """One entry of traffic, its stretches a millisecond apart."""
    parts = [[sent, 1000 * (sequence * 100 + place), len(data)] for place, (sent, data) in enumerate(pieces)]
    raw = b"".join(data for _, data in pieces)
    at = START + timedelta(milliseconds=sequence * 100 + len(pieces))
    return Event(sequence, "traffic", at, 1000 * (sequence * 100 + len(pieces)), {"parts": parts}, raw)


@pytest.mark.parametrize(
    "pieces",
    [[SAID], [SAID[place : place + 1] for place in range(len(SAID))], [SAID[:10], SAID[10:]]],
    ids=["whole", "byte by byte", "in two"],
)
def test_lines_are_the_same_whatever_the_pieces(pieces: list[bytes]) -> None:
    """A reply that came whole, byte by byte or in two entries is the same lines, after the command sent before it."""
    events = [event(1, [(True, b"M119\n")]), *(event(2 + n, [(False, piece)]) for n, piece in enumerate(pieces))]

    said = [(line.sent, line.text, line.size) for line in wire_lines(events)]

    assert [(True, "M119", 5), (False, "filament: open", 16), (False, "ok", 3)] == said


def test_a_line_without_end_is_kept_and_said() -> None:
    """The tail that never got its line end is shown as it is."""
    lines = wire_lines([event(1, [(True, b"M119\n"), (False, b"filament: TR")])])

    assert ["M119", "filament: TR … (no line end)"] == [line.text for line in lines]


def test_a_very_long_line_is_cut_and_counted() -> None:
    """Of 8 kB without a line end, 200 characters are printed and the rest is counted."""
    (line,) = wire_lines([event(1, [(False, b"x" * 8192 + b"\n")])])

    assert "x" * 200 + " … and 7992 more bytes of this line, kept in the book" == line.text
    assert 8193 == line.size


def test_a_stretch_has_the_wall_time_of_its_entry(tmp_path: Path) -> None:
    """Monotonic moments are placed on the wall clock, so that no byte lies after the entry that holds it."""
    run = ScriptedRun(tmp_path)
    run.start()
    run.exchange("M119", ["ok"])

    first, second = wire_lines(read_run(run.book, NUMBER).events)

    # each stretch follows 2 ms after the one before, and the entry 1 ms after the last, which counts as nothing
    assert START + timedelta(milliseconds=3) == first.at
    assert START + timedelta(milliseconds=5) == second.at


def test_a_second_process_begins_its_own_time() -> None:
    """When the run was taken up by another process, its moments are placed by its own entries."""
    early, late = event(5, [(False, b"one\n")]), event(1, [(False, b"two\n")])
    late = Event(9, "traffic", START + timedelta(hours=1), late.elapsed_us, late.facts, late.raw)

    first, second = wire_lines([early, late])

    assert timedelta(minutes=59) < second.at - first.at < timedelta(minutes=61)


def poll(number: int, word: str, about: tuple[int, str] = (1, "Trial 1")) -> list[WireLine]:
    """One query with its answer, a tenth of a second after the one before."""
    at = START + timedelta(seconds=number / 10)
    return [WireLine(about, True, at, "M119", 5), WireLine(about, False, at, word, len(word) + 1)]


def test_equal_exchanges_in_a_row_are_folded() -> None:
    """Twenty-one equal polls are one poll and a note that says how many, until when, and how many bytes."""
    lines = [line for number in range(21) for line in poll(number, "open")]

    step, sent, received, note = console_lines(lines)

    assert ConsoleLine("", "step", "Trial 1") == step
    assert (("sent", "M119"), ("received", "open")) == (
        (sent.direction, sent.text),
        (received.direction, received.text),
    )
    assert "the same 20 times more, until 09:26:55.000: 200 bytes folded, kept in the book" == note.text


def test_a_changed_answer_is_never_folded_away() -> None:
    """One poll that differs stands between the folds around it."""
    words = ["open"] * 5 + ["TRIGGERED"] + ["open"] * 5
    shown = console_lines([line for number, word in enumerate(words) for line in poll(number, word)])

    assert ["open", "TRIGGERED", "open"] == [line.text for line in shown if line.direction == "received"]


def test_frames_that_differ_in_number_only_are_alike() -> None:
    """Line numbers and checksums grow with every frame and do not keep equal polls apart."""
    lines = [line for number in range(4) for line in poll(number, "ok")]
    framed = [
        WireLine(line.about, line.sent, line.at, f"N{place} M119*{place + 30}", 12) if line.sent else line
        for place, line in enumerate(lines)
    ]

    assert 4 == len(console_lines(framed))


def test_a_switch_that_chatters_is_bounded() -> None:
    """A thousand changes are cut in the middle, with the number of lines and bytes that were."""
    lines = [line for number in range(2000) for line in poll(number, "open" if number % 2 else "TRIGGERED")]

    shown = console_lines(lines)

    assert MOST_LINES + 1 == len(shown)
    assert "2801 lines of this appendix folded here" in shown[900].text


@given(st.lists(st.tuples(st.booleans(), st.binary(min_size=1, max_size=30)), min_size=1, max_size=20))
@settings(max_examples=100, deadline=None)
def test_every_byte_is_in_a_line(pieces: list[tuple[bool, bytes]]) -> None:
    """Whatever went over the wire, in whatever pieces, the lines account for each byte of each direction."""
    lines = wire_lines([event(1 + place, [piece]) for place, piece in enumerate(pieces)])

    for way in (True, False):
        assert sum(len(data) for sent, data in pieces if sent is way) == sum(
            line.size for line in lines if line.sent is way
        )
