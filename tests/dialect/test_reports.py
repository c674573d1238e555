import pytest

from commission.dialect.framing import RawLine
from commission.dialect.replies import classify
from commission.dialect.reports import (
    ColdExtrusion,
    Heater,
    PositionReport,
    TemperatureReport,
    cold_extrusion_of,
    keepalive_interval_of,
    position_in,
    temperatures_of,
)
from tests.dialect.feeding import read_texts


@pytest.mark.parametrize(
    ("line", "heaters"),
    [
        (b"ok T:21.70 /0.00 B:20.66 /0.00 @:0 B@:0", {"T": Heater(21.7, 0.0), "B": Heater(20.66, 0.0)}),
        (b" T:198.20 /200.00 B:60.1 /60.0 @:127 B@:0", {"T": Heater(198.2, 200.0), "B": Heater(60.1, 60.0)}),
        (
            b"ok T:20.1 /0.0 T0:20.1 /0.0 (8377.00) T1:-15.0 /0.0 @:0",
            {"T": Heater(20.1, 0.0), "T0": Heater(20.1, 0.0), "T1": Heater(-15.0, 0.0)},
        ),
        (b"ok T:213.23 /250 B:89.79 /110 B@:255 @:255", {"T": Heater(213.23, 250.0), "B": Heater(89.79, 110.0)}),
        (b"ok B:21.5 /0.0 T0:21.6 /0.0", {"B": Heater(21.5, 0.0), "T0": Heater(21.6, 0.0)}),
        (b"T:200.1 E:0 W:?", {"T": Heater(200.1)}),
    ],
)
def test_temperatures_are_read(line: bytes, heaters: dict[str, Heater]) -> None:
    """Each heater gives its temperature, and its target only where one is stated."""
    assert (TemperatureReport(heaters),) == read_texts(temperatures_of, line + b"\n")


def test_targets_are_summed_up_honestly() -> None:
    """A heater with a target is noticed, and a target that is not stated is not taken for zero."""
    assert TemperatureReport({"T": Heater(21.0, 0.0), "B": Heater(40.0, 60.0)}).any_target
    assert not TemperatureReport({"T": Heater(21.0, 0.0)}).any_target
    assert not TemperatureReport({"T": Heater(21.0)}).all_targets_known


def positions_of(lines: list[str]) -> tuple[PositionReport, ...]:
    """Every position report among these lines, each taken by itself as in a conversation."""
    found = (position_in(classify(RawLine.of(line))) for line in lines)
    return tuple(report for report in found if report is not None)


@pytest.mark.parametrize(
    ("line", "axes"),
    [
        (b"X:4.00 Y:2.00 Z:0.30 E:-1.25 Count X:320 Y:160 Z:0", {"X": 4.0, "Y": 2.0, "Z": 0.3, "E": -1.25}),
        (b"X:4.00 Y:2.00 Z:0.30 E:0.00 Count X: 320Y:160Z:0", {"X": 4.0, "Y": 2.0, "Z": 0.3, "E": 0.0}),
        (b"X:0.00 Y:0.00 Z:0.000 E:0.0000", {"X": 0.0, "Y": 0.0, "Z": 0.0, "E": 0.0}),
        (b"ok C: X:12.5 Y:-3.2 Z:0.0 E:1.0", {"X": 12.5, "Y": -3.2, "Z": 0.0, "E": 1.0}),
    ],
)
def test_position_is_read(line: bytes, axes: dict[str, float]) -> None:
    """The planned position is read in every form; step counts behind it are left out."""
    assert (PositionReport(axes),) == read_texts(positions_of, line + b"\n")


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (b"echo:Cold extrudes are disabled (min temp 170C)\nok\n", ColdExtrusion(allowed=False, limit_c=170.0)),
        (b"Cold extrudes are enabled (min temp 0.00C)\nok\n", ColdExtrusion(allowed=True, limit_c=0.0)),
        (b"ok\n", None),
    ],
)
def test_cold_extrusion_is_read(data: bytes, expected: ColdExtrusion | None) -> None:
    """The limit and whether it is lifted are read, and silence says neither (wording from memory)."""
    assert expected == read_texts(cold_extrusion_of, data)


@pytest.mark.parametrize(("data", "expected"), [(b"echo:M113 S2\nok\n", 2.0), (b"M113 S0\nok\n", 0.0), (b"ok\n", None)])
def test_keepalive_interval_is_read(data: bytes, expected: float | None) -> None:
    """The interval is read in seconds, zero included, and silence says nothing."""
    assert expected == read_texts(keepalive_interval_of, data)


def test_switches_are_no_reports() -> None:
    """A row of switch states is neither a temperature nor a position."""
    data = b"x:open y:open z:TRIGGERED\nX_min:0 Y_min:0\nendstops hit: x_max:L\n"

    assert () == read_texts(temperatures_of, data)
    assert () == read_texts(positions_of, data)
