"""Words on the filament in replies of runout control, and counters of pulses."""

from functools import reduce

import pytest

from commission.dialect.sources.counters import PulseCount, count_in, counted
from commission.dialect.sources.reader import sources_of
from commission.dialect.sources.report import SourceKind, SourceReport, reading_for
from commission.vocabulary import Presence, Reading
from tests.dialect.feeding import read_texts

IN, OUT = Presence.IN, Presence.OUT


@pytest.mark.parametrize(
    ("words", "presence"),
    [
        (b"filament present", IN),
        (b"filament not present", OUT),
        (b"no filament", OUT),
        (b"filament missing", OUT),
        (b"no sensor", None),
        (b"not connected", None),
        (b"asleep", None),
    ],
)
def test_presence_word_is_read(words: bytes, presence: Presence | None) -> None:
    """A fork's report says of the filament what it says; words never seen before say nothing."""
    (report,) = read_texts(sources_of, b"echo:Filament runout OFF, distance 4.000 mm, sensor: " + words + b"\nok\n")

    assert (SourceKind.RUNOUT_WORD, "sensor") == (report.kind, report.name)
    assert (presence, False) == (report.presence, report.enabled)


def test_line_for_each_sensor_is_read() -> None:
    """Lines below the report name each sensor, an autoreport and an empty line between them."""
    data = (
        b"echo:Filament runout ON\nFilament runout distance (mm): 6.00\n T:21.0 /0.0\nfilament: loaded\n\n"
        b"filament 2: ABSENT\nfilament 3: sleepy\nok\n"
    )
    found = read_texts(lambda lines: [r for r in sources_of(lines) if r.kind is SourceKind.RUNOUT_WORD], data)

    assert [("filament", IN, True), ("filament 2", OUT, True), ("filament 3", None, True)] == [
        (report.name, report.presence, report.enabled) for report in found
    ]


@pytest.mark.parametrize(
    "data",
    [
        b"filament: loaded\nok\n",
        b"echo:Filament runout ON\nok\nfilament: loaded\nok\n",
        b"echo:Filament runout ON\nbelt debug\nfilament: loaded\nok\n",
        b"echo:Filament runout ON ; Distance 6.00mm\nok\n",
        b"echo:Filament settings: Disabled\nok\n",
    ],
    ids=["alone", "after the end", "after another line", "no word", "a heading"],
)
def test_word_elsewhere_is_no_presence(data: bytes) -> None:
    """The same words away from a report of runout control are not taken for a presence."""
    assert () == read_texts(sources_of, data)


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (
            b"Extruder moved: 44.125000 mm\nEncoder pulses: 21\nFilament detector is enabled\nok\n",
            PulseCount(44.125, 21, enabled=True),
        ),
        (
            b"Extruder moved: 0.000000 mm\nEncoder pulses: 0\nFilament detector triggered\n"
            b"Filament detector is disabled\nok\n",
            PulseCount(0.0, 0, triggered=True, enabled=False),
        ),
        (b"Encoder pulses: 3\nok\n", PulseCount(pulses=3)),
        (b"Encoder pulses: many\nok\n", None),
    ],
)
def test_pulses_are_counted(data: bytes, expected: PulseCount | None) -> None:
    """The lines of one report make one count, and what they do not state stays unknown."""
    assert expected == read_texts(lambda lines: reduce(_further, lines, None), data)


def _further(known: PulseCount | None, line: str) -> PulseCount | None:
    """What is known with one more line; another line changes nothing."""
    return counted(known, line) or known


def test_two_counts_are_two_reports() -> None:
    """An acknowledgement ends a count: the next line begins another. Pulses are no presence."""
    data = b"Encoder pulses: 3\nFilament detector triggered\nok\nEncoder pulses: 4\nok\n"

    assert (
        SourceReport(SourceKind.PULSE_COUNTER, "filament detector", error="the detector has triggered"),
        SourceReport(SourceKind.PULSE_COUNTER, "filament detector"),
    ) == read_texts(sources_of, data)


def test_presence_and_reading_agree() -> None:
    """A report whose reading denies its presence, or whose error is empty, cannot be made."""
    assert (Reading.ACTIVE, Reading.INACTIVE, Reading.UNKNOWN) == tuple(map(reading_for, (IN, OUT, None)))
    with pytest.raises(ValueError, match="does not read"):
        SourceReport(SourceKind.MONITOR, "m", Reading.INACTIVE, presence=IN)
    with pytest.raises(ValueError, match="in words"):
        SourceReport(SourceKind.MONITOR, "m", error="")


def test_an_answer_is_counted_as_a_whole() -> None:
    """Its lines make one count, whatever stands between them; an answer without one states nothing."""
    lines = ("Encoder pulses: 21", "echo:busy", "Filament detector is enabled")

    assert PulseCount(pulses=21, enabled=True) == count_in(lines)
    assert PulseCount() == count_in(("ok",)) == count_in(())
