import pytest

from commission.dialect.pins import Pin, pins_of
from commission.vocabulary import Level
from tests.dialect.feeding import read_texts


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        (
            b"PIN:   4   Port: G5        RUNOUT_PIN                             protected",
            Pin("4", ("RUNOUT_PIN",), "protected"),
        ),
        (
            b"PIN: 1.24 (A 3)  <unused/unknown>   Analog in =   512   Input  = 1",
            Pin("1.24", (), "input", Level.HIGH, 512),
        ),
        (
            b"PIN: PB4         M42 P20          <unused/unknown>           Input  = 0",
            Pin("PB4", (), "input", Level.LOW),
        ),
        (
            b"PIN: PC6         M42 P38          FAN0_PIN                   Output HIGH",
            Pin("PC6", ("FAN0_PIN",), "output", Level.HIGH),
        ),
        (
            b"PIN: PC7         M42 P39          <unused/unknown>           Input  LOW   ",
            Pin("PC7", (), "input", Level.LOW),
        ),
        (
            b"PIN:  53 PD3          <unused/unknown>                       Input  = 0",
            Pin("53", (), "input", Level.LOW, port="PD3"),
        ),
        (
            b"PIN:  54 PD4          RUNOUT_PIN                             protected",
            Pin("54", ("RUNOUT_PIN",), "protected", port="PD4"),
        ),
        (b" to 57 is 1", Pin("57", (), "input", Level.HIGH)),
        (b"Pin io9.in, active: false", Pin("io9.in", (), "input", Level.LOW)),
        (
            b'{"key":"sensors.gpIn[2]","flags":"","result":{"value":1}}',
            Pin("gpIn[2]", (), "input", Level.HIGH),
        ),
        (b'{"key":"sensors.gpIn[2]","flags":"","result":null}', Pin("gpIn[2]", (), "input")),
        (b"PIN: 54 (A 0)  Port: F0   Input = 1", Pin("54", (), "input", Level.HIGH)),
    ],
)
def test_pin_line_is_read(line: bytes, expected: Pin) -> None:
    """Each form of a pin line gives its pin, names, use and level."""
    assert (expected,) == read_texts(pins_of, line + b"\nok\n")


def test_raw_pins_are_read() -> None:
    """Raw pins behind the switches of a report are pins with the axis that claims them."""
    report = b"X_min:0 Z_min:1 pins- (X)P2.10:0 (Z)P2.14:1 (Z)P2.15:0  Probe: 0\nok\n"

    assert (
        Pin("P2.10", ("X",), "input", Level.LOW),
        Pin("P2.14", ("Z",), "input", Level.HIGH),
        Pin("P2.15", ("Z",), "input", Level.LOW),
    ) == read_texts(pins_of, report)


@pytest.mark.parametrize("line", [b" to 57 is 2", b" to far is 1", b"Pin io9.in, active: maybe", b"PINE: 4"])
def test_what_is_no_pin_is_not_read(line: bytes) -> None:
    """A level that is none, and words that only resemble an answer, give no pin."""
    assert () == read_texts(pins_of, line + b"\nok\n")


def test_second_name_joins_the_pin_above() -> None:
    """A line that starts with a dot adds a claim to the pin before it: two functions on one pin."""
    report = (
        b"PIN: PB1         M42 P17          RUNOUT_PIN                             protected\n"
        b".                                 HEATER_BED_PIN                         protected\nok\n"
    )

    assert (Pin("PB1", ("RUNOUT_PIN", "HEATER_BED_PIN"), "protected"),) == read_texts(pins_of, report)


def test_second_name_without_a_pin_is_left_out() -> None:
    """A continuation whose beginning was not captured belongs to no pin."""
    assert () == read_texts(pins_of, b".        SCK_PIN      Output = 0\nok\n")


@pytest.mark.parametrize(("name", "mode"), [("", None), ("4", "sleeping")])
def test_impossible_pin_is_refused(name: str, mode: str | None) -> None:
    """A pin without a name, or used in a way there is not, cannot be made."""
    with pytest.raises(ValueError, match="pin"):
        Pin(name, mode=mode)
