"""Sensors and buttons that a host computer knows by name."""

import pytest

from commission.dialect.sources.reader import sources_of
from commission.dialect.sources.report import SourceKind, SourceReport
from commission.vocabulary import Presence, Reading
from tests.dialect.feeding import read_texts

IN, OUT = Presence.IN, Presence.OUT


@pytest.mark.parametrize(
    ("data", "name", "presence", "enabled"),
    [
        (b"// Filament Sensor spool_left: filament detected\nok\n", "spool_left", IN, None),
        (b"// Filament Sensor spool_left: filament not detected\nok\n", "spool_left", OUT, None),
        (b"// Filament Sensor Lane-2: filament NOT detected [lane two]\nok\n", "Lane-2", OUT, None),
        (b"// Encoder Sensor wheel: Filament Detected, motion\nok\n", "wheel", IN, None),
        (b"// Switch Sensor: filament detected\nok\n", "", IN, None),
        (b"Switch Sensor: filament not detected\nok\n", "", OUT, None),
        (b"[GATE left sensor] Filament Detected\nok\n", "GATE left sensor", IN, None),
        (b"// [GATE left sensor] filament not detected\nok\n", "GATE left sensor", OUT, None),
        (b"// filament NOT detected [lane two]\nok\n", "", OUT, None),
        (
            b"// Filament Sensor s7: filament detected\n// {'filament_detected': True, 'enabled': False}\nok\n",
            "s7",
            IN,
            False,
        ),
        (
            b"// Filament Sensor s7: filament not detected, motion\n"
            b"// {'enabled': True, 'filament_detected': False}\nok\n",
            "s7",
            OUT,
            True,
        ),
        (b"// Filament Sensor s7: filament detected\n// {'filament_detected': True}\nok\n", "s7", IN, None),
        (
            b"// Filament Sensor s7: filament detected\n// {'filament_detected': False, 'enabled': True}\nok\n",
            "s7",
            None,
            True,
        ),
    ],
)
def test_sensor_is_read(data: bytes, name: str, presence: Presence | None, enabled: bool | None) -> None:
    """Every wording gives name and presence; a dictionary below says whether it is watched, and must agree."""
    (report,) = read_texts(sources_of, data)

    assert SourceKind.NAMED_SENSOR is report.kind
    assert (name, presence, enabled) == (report.name, report.presence, report.enabled)


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (
            b"!! The value 'spool_9' is not valid for SENSOR\nok\n",
            SourceReport(SourceKind.NAMED_SENSOR, "spool_9", error="The value 'spool_9' is not valid for SENSOR"),
        ),
        (
            b"!! Error on 'QUERY_FILAMENT_SENSOR': missing SENSOR\nok\n",
            SourceReport(SourceKind.NAMED_SENSOR, "", error="Error on 'QUERY_FILAMENT_SENSOR': missing SENSOR"),
        ),
        (
            b'// Unknown command:"QUERY_FILAMENT_SENSOR"\nok\n',
            SourceReport(SourceKind.NAMED_SENSOR, "", error="the printer does not know this question"),
        ),
        (
            b"!! The value 'knob' is not valid for BUTTON\nok\n",
            SourceReport(SourceKind.PIN, "knob", error="The value 'knob' is not valid for BUTTON"),
        ),
        (
            b"// left_stop: PRESSED\nok\n",
            SourceReport(SourceKind.PIN, "left_stop", Reading.ACTIVE, "PRESSED"),
        ),
        (
            b"left_stop: RELEASED\nok\n",
            SourceReport(SourceKind.PIN, "left_stop", Reading.INACTIVE, "RELEASED"),
        ),
    ],
)
def test_error_and_button_are_read(data: bytes, expected: SourceReport) -> None:
    """A wrong name, a missing one and an unknown question name what is wrong; a button is an input and no presence."""
    assert (expected,) == read_texts(sources_of, data)


@pytest.mark.parametrize(
    "data",
    [
        b"// Filament Sensor spool_left: filament det\nok\n",
        b"// Filament Sensor spool_left: filament undetected\nok\n",
        b"// Filament Sensor spool_left\nok\n",
        b"// The filament detected by nobody\nok\n",
        b"// filament detected elsewhere\nok\n",
        b"!! The value 'fast' is not valid for SPEED\nok\n",
        b"// {'filament_detected': True, 'enabled': True}\nok\n",
    ],
    ids=["cut", "another word", "no state", "a sentence", "another place", "another value", "a dictionary alone"],
)
def test_what_is_no_sensor_is_not_read(data: bytes) -> None:
    """A cut line, a word never seen and a dictionary without its sentence say nothing of a sensor."""
    assert () == read_texts(sources_of, data)


def test_dictionary_belongs_to_the_sentence_above() -> None:
    """After an acknowledgement a dictionary belongs to nothing that came before."""
    data = b"// Filament Sensor s7: filament detected\nok\n// {'filament_detected': False, 'enabled': True}\nok\n"
    (report,) = read_texts(sources_of, data)

    assert (IN, None) == (report.presence, report.enabled)
