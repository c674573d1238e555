"""The bytes of a run as lines: joined whatever the pieces, folded without losing count."""

from datetime import timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.evidence.entry import Record
from commission.evidence.wire import Bytes, Stretch
from commission.report.document import ConsoleLine
from commission.report.folds import MOST_LINES, console_lines
from commission.report.record import read_run
from commission.report.wire import WireLine, wire_lines
from tests.report.scripted_run import NUMBER, ScriptedRun
from tests.support.fake_time import START
from tests.support.made import on_record

SAID = b"filament: open\r\nok\n"


def event(sequence: int, pieces: list[tuple[bool, bytes]], hours: int = 0) -> Record[Bytes]:
    """One entry of traffic, its stretches a millisecond apart; written so many hours later by the wall."""
    parts = (Stretch(sent, 1000 * (sequence * 100 + place), len(data)) for place, (sent, data) in enumerate(pieces))
    raw = b"".join(data for _, data in pieces)
    at = START + timedelta(milliseconds=sequence * 100 + len(pieces))
    later = at + timedelta(hours=hours)
    us = 1000 * (sequence * 100 + len(pieces))
    return on_record(Bytes(parts=tuple(parts)), sequence + 100 * hours, later, elapsed_us=us, raw=raw)


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

    first, second = wire_lines(read_run(run.book, NUMBER).records)

    # each stretch follows 2 ms after the one before, and the entry 1 ms after the last, which counts as nothing
    assert START + timedelta(milliseconds=3) == first.at
    assert START + timedelta(milliseconds=5) == second.at


def test_a_second_process_begins_its_own_time() -> None:
    """When the run was taken up by another process, its moments are placed by its own entries."""
    early, late = event(5, [(False, b"one\n")]), event(1, [(False, b"two\n")], hours=1)

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


STARTS = ("start", "echo:ExampleFW 102.1.2", "echo: Free Memory: 4096", "echo:SD card ok")


def start_up(second: int, about: tuple[int, str]) -> list[WireLine]:
    """A banner as a board says it when it starts, and the question that follows it."""
    at = START + timedelta(seconds=second)
    heard = [WireLine(about, False, at, text, len(text) + 1) for text in STARTS]
    asked = [WireLine(about, sent, at, text, len(text) + 1) for sent, text in ((True, "M115"), (False, "ok"))]
    return heard + asked


def test_a_banner_is_printed_once_and_referred_to() -> None:
    """The second start says the same lines: they are one note with the time of the first and their bytes."""
    shown = console_lines([*start_up(0, (1, "Opening")), *start_up(60, (2, "Power off"))])

    assert list(STARTS) == [line.text for line in shown if line.direction == "received" and line.text != "ok"]
    (note,) = [line for line in shown if line.direction == "note"]
    assert "09:27:53.000" == note.at
    assert "the same 4 lines as at 09:26:53.000: 69 bytes folded, kept in the book" == note.text
    assert 2 == len([line for line in shown if line.text == "M115"])


def test_a_long_answer_that_came_before_is_referred_to() -> None:
    """Polls of a later trial that answer as an earlier one did are a question and a note, however many they are."""

    def polls(first: int, about: tuple[int, str]) -> list[WireLine]:
        answers = [[*poll(n, "x_min: open", about), *poll(n, "ok", about)[1:]] for n in range(first, first + 3)]
        head = WireLine(about, False, START, "Reporting", 10)
        return [line for sent, *rest in answers for line in (sent, head, *rest)]

    shown = console_lines([*polls(0, (1, "Trial 1")), *polls(10, (2, "Trial 2"))])

    assert ["M119", "Reporting", "x_min: open", "ok"] == [line.text for line in shown][1:5]
    assert ["Trial 2", "M119"] == [line.text for line in shown][6:8]
    assert "the same 3 lines as at 09:26:53.000; all of it 2 times more, until 09:26:54.200: 85 bytes folded" in (
        shown[8].text
    )
    assert 9 == len(shown)


def test_frames_that_differ_in_number_only_are_alike() -> None:
    """Line numbers and checksums grow with every frame and do not keep equal polls apart."""
    lines = [line for number in range(4) for line in poll(number, "ok")]
    framed = [
        WireLine(line.about, line.sent, line.at, f"N{place} M119*{place + 30}", 12) if line.sent else line
        for place, line in enumerate(lines)
    ]

    assert 4 == len(console_lines(framed))


def test_a_switch_that_chatters_is_counted() -> None:
    """A thousand changes between two answers are both answers, and how often each came."""
    lines = [line for number in range(2000) for line in poll(number, "open" if number % 2 else "TRIGGERED")]

    *both, note = console_lines(lines)

    assert ["TRIGGERED", "open"] == [line.text for line in both if line.direction == "received"]
    assert "1998 exchanges more, until 09:30:12.900" in note.text
    assert "M119 as at 09:26:53.000 999 times, M119 as at 09:26:53.100 999 times" in note.text
    assert "24975 bytes folded" in note.text


def test_moves_with_polls_between_them_are_told_together() -> None:
    """What alternates is printed once and counted, with the command it begins with."""
    lines = [
        WireLine((1, "Move"), sent, START + timedelta(seconds=number), text, 10)
        for number in range(40)
        for sent, text in ((True, "G1 X10 E1" if number % 2 else "G1 X-10 E1"), (False, "ok"), (True, "M119"))
    ]

    shown = console_lines(lines)

    assert ["G1 X-10 E1", "M119", "G1 X10 E1"] == [line.text for line in shown if line.direction == "sent"]
    assert "77 exchanges more" in shown[-1].text
    assert "G1 X-10 E1 as at 09:26:53.000 19 times" in shown[-1].text


def test_answers_that_never_come_again_are_bounded() -> None:
    """Two thousand different answers are cut in the middle, with the number of lines and bytes that were."""
    lines = [line for number in range(2000) for line in poll(number, f"count: {number:04}")]

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
