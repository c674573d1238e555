"""Monitors that describe themselves: every kind, with its errors and tails."""

import pytest

from commission.dialect.sources.monitors import Measured, Monitor, MonitorKind, Watching, monitor_in, monitor_report_in
from commission.dialect.sources.report import SourceKind, SourceReport
from commission.vocabulary import Level, Presence, Reading
from tests.dialect.feeding import read_texts


def the_monitor(data: bytes) -> Monitor | None:
    """The monitor that the first line describes, the same however it is fed."""
    return read_texts(lambda lines: monitor_in(lines[0]), data + b"\nok\n")


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        (
            b"Simple filament sensor on pin io5.in, enabled, output high when no filament, filament present: yes",
            Monitor(
                MonitorKind.SIMPLE,
                "io5.in",
                Watching.ON,
                presence=Presence.IN,
                word="filament present: yes",
                absent_level=Level.HIGH,
            ),
        ),
        (
            b"Simple filament sensor on endstop 4, disabled, output low when no filament, filament present: no",
            Monitor(
                MonitorKind.SIMPLE,
                "endstop 4",
                Watching.OFF,
                presence=Presence.OUT,
                word="filament present: no",
                absent_level=Level.LOW,
            ),
        ),
        (
            b"Simple filament sensor on pin 30.io2.in, enabled always, output high when no filament",
            Monitor(MonitorKind.SIMPLE, "30.io2.in", Watching.ALWAYS, absent_level=Level.HIGH),
        ),
        (
            b"Simple filament sensor on pin io5.in, enabled when printing from SD card, filament present: yes",
            Monitor(
                MonitorKind.SIMPLE,
                "io5.in",
                Watching.CARD_JOBS,
                presence=Presence.IN,
                word="filament present: yes",
            ),
        ),
        (
            b"BenchMade laser filament monitor v5 on pin 40.io3.in, enabled, allow 65% to 135%, check every 4.5mm, "
            b"calibration factor 1.125, version 5, quality 90, brightness 31, shutter 77, "
            b"measured min 88% avg 97% max 109% over 512.5mm",
            Monitor(
                MonitorKind.LASER,
                "40.io3.in",
                Watching.ON,
                allowed_percent=(65.0, 135.0),
                calibration=1.125,
                measured=Measured(88.0, 97.0, 109.0, 512.5),
            ),
        ),
        (
            b"BenchMade magnetic filament monitor on input 6, disabled, allow 70% to 120%, mag 99 agc 88, "
            b"no data received",
            Monitor(
                MonitorKind.MAGNET,
                "input 6",
                Watching.OFF,
                error="no data received",
                allowed_percent=(70.0, 120.0),
            ),
        ),
        (
            b"BenchMade magnetic filament monitor with switch on pin io6.in, firmware version 8, "
            b"enabled when SD printing, "
            b"21.50mm/rev, allow 75% to 125%, filament present, mag 91 agc 64, no calibration data",
            Monitor(
                MonitorKind.MAGNET,
                "io6.in",
                Watching.CARD_JOBS,
                with_switch=True,
                presence=Presence.IN,
                word="filament present",
                allowed_percent=(75.0, 125.0),
            ),
        ),
        (
            b"BenchMade laser filament monitor v5 with switch on pin io6.in, enabled always, allow 75% to 125%, "
            b"no filament, error: no light seen",
            Monitor(
                MonitorKind.LASER,
                "io6.in",
                Watching.ALWAYS,
                with_switch=True,
                presence=Presence.OUT,
                word="no filament",
                error="error: no light seen",
                allowed_percent=(75.0, 125.0),
            ),
        ),
        (
            b"Pulse-type filament monitor on pin io7.in, enabled, sensitivity 3.5mm/pulse, error 9",
            Monitor(MonitorKind.PULSES, "io7.in", Watching.ON, error="error 9"),
        ),
        (
            b"echo:Filament runout ON ; Distance 8.50mm ; Mode 3 ; Host handling OFF",
            Monitor(MonitorKind.MOTION, "active tool", Watching.ON),
        ),
        (
            b"echo:Filament runout OFF ; Distance 8.50mm ; Mode 1",
            Monitor(MonitorKind.SIMPLE, "active tool", Watching.OFF, absent_level=Level.LOW),
        ),
        (
            b"echo:Filament runout ON ; Mode 2",
            Monitor(MonitorKind.SIMPLE, "active tool", Watching.ON, absent_level=Level.HIGH),
        ),
        (
            b"echo:Filament runout ON ; Mode 0",
            Monitor(MonitorKind.NONE, "active tool", Watching.ON, error="no sensor is set"),
        ),
    ],
)
def test_monitor_is_read(line: bytes, expected: Monitor) -> None:
    """Each kind gives what its sentence states, and nothing that it does not."""
    assert expected == the_monitor(line)


@pytest.mark.parametrize(
    "line",
    [
        b"BenchMade laser filament monitor v5 on pin io6.in, enabled, no filament",
        b"Pulse-type filament monitor on pin io7.in, enabled, filament present",
        b"Simple filament sensor on pin io5.in, enabled, output high when no filament, filament present: ye",
        b"Simple filament sensor on pin io5.in, enabled, output high when no filament, filam",
        b"Simple filament sensor on pin io5.in, enabled, filament present: yes, filament present: no",
        b"Magnetic filament monitor with switch on pin io6.in, enabled, no filament, filament present",
    ],
    ids=["moving without a switch", "pulses", "cut in its word", "cut before it", "yes and no", "both words"],
)
def test_presence_is_unknown_unless_said(line: bytes) -> None:
    """A moving kind without a switch, a cut line and a contradiction say nothing of presence."""
    monitor = the_monitor(line)

    assert monitor is not None
    assert (None, "") == (monitor.presence, monitor.word)
    assert Reading.UNKNOWN is monitor.report.reading


@pytest.mark.parametrize(
    "line",
    [
        b"Simple filament sensor on pin io5.in, ena",
        b"Simple filament sensor on pin io5.in",
        b"Simple temperature gauge on pin io5.in, enabled",
        b"Bed sensor on pin io5.in, enabled",
        b"echo:Filament runout ON ; Distance 8.50mm ; Host handling OFF",
        b"echo:Filament runout ON ; Mode 12",
        b"echo:Filament runout ON ; Mode 7x",
        b"Simple filament present: yes",
    ],
)
def test_what_is_no_monitor_is_not_read(line: bytes) -> None:
    """A line cut before its state, another gauge, plain runout control and an unheard-of mode are no monitors."""
    assert the_monitor(line) is None


@pytest.mark.parametrize(
    ("line", "name", "error"),
    [
        (b"Extruder 2 has no filament sensor", "extruder 2", "no filament sensor"),
        (b"Extruder drive 3 has no filament monitor", "extruder 3", "no filament monitor"),
        (b"Error: M591: Pin 'io8.in' is not free", "io8.in", "Pin 'io8.in' is not free"),
        (b"Error: M591: missing parameter 'D'", "", "missing parameter 'D'"),
        (b"Error: M591: parameter 'D' too high", "", "parameter 'D' too high"),
    ],
)
def test_missing_monitor_is_an_error(line: bytes, name: str, error: str) -> None:
    """A drive without a monitor and a refused question name what is wrong, and give no reading."""
    found = read_texts(lambda lines: monitor_report_in(lines[0]), line + b"\nok\n")

    assert SourceReport(SourceKind.MONITOR, name, error=error) == found
