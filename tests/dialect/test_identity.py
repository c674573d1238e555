import pytest

from commission.dialect.identity import Identity, identity_of, version_in
from tests.dialect.feeding import read_texts

# Invented printers, in the shapes of the families.
FAMILY_A = (
    b"FIRMWARE_NAME:ExampleFW 102.1.2 (Mar  4 2023 09:41:07) SOURCE_CODE_URL:https://example.org/fw "
    b"PROTOCOL_VERSION:1.0 MACHINE_TYPE:Workshop Bench, no. 3 KINEMATICS:Cartesian EXTRUDER_COUNT:2 "
    b"UUID:0c1f7d9e-1111-4222-8333-444455556666\n"
    b"filament debug: pulse 0\n"
    b"Cap:EEPROM:1\n"
    b" T:21.30 /0.00 B:21.00 /0.00 @:0 B@:0\n"
    b"\n"
    b"Cap:RUNOUT:0\n"
    b"Cap:SHOP_LIGHT:1\n"
    b"area:{full:{min:{x:0.0,y:0.0},max:{x:200.0,y:200.0}}}\n"
    b"ok\n"
)
FAMILY_B = (
    b"FIRMWARE_NAME: ExampleFW for Board 7 FIRMWARE_VERSION: 103.5.1 ELECTRONICS: Board 7 v1.0 or later "
    b"FIRMWARE_DATE: 2024-02-03 10:20:30\nok\n"
)
FAMILY_C = b"ok FIRMWARE_VERSION:v100.9.1-14-gabc1234 FIRMWARE_NAME:ExampleFW\n"
FAMILY_D = (
    b"ok 0\nFIRMWARE_NAME:ExampleFW_100.92.8 FIRMWARE_URL:https://example.org/ PROTOCOL_VERSION:1.0 "
    b"MACHINE_TYPE:Bench EXTRUDER_COUNT:1 EXAMPLEFW_PROTOCOL:2\nPrinted filament:12.34m Printing time:1 days 2 hours\n"
)
FAMILY_E = (
    b"FIRMWARE_NAME:ExampleFW, FIRMWARE_URL:http%3A//example.org, X-SOURCE_CODE_URL:http%3A//example.org, "
    b"FIRMWARE_VERSION:edge-94de12c, PROTOCOL_VERSION:1.0, X-AXES:3\nok\n"
)


def test_family_a_is_read_through_interleaved_lines() -> None:
    """Values keep blanks, commas and colons; capabilities are collected across autoreports and blank lines."""
    identity = read_texts(identity_of, FAMILY_A)

    assert identity is not None
    assert "ExampleFW 102.1.2 (Mar  4 2023 09:41:07)" == identity.firmware_name
    assert "102.1.2" == identity.firmware_version
    assert "Workshop Bench, no. 3" == identity.machine
    assert 2 == identity.extruders
    assert "0c1f7d9e-1111-4222-8333-444455556666" == identity.uuid
    assert {"EEPROM": True, "RUNOUT": False, "SHOP_LIGHT": True} == identity.capabilities
    assert "Cartesian" == identity.other["KINEMATICS"]


@pytest.mark.parametrize(
    ("data", "name", "version", "extruders"),
    [
        (FAMILY_B, "ExampleFW for Board 7", "103.5.1", None),
        (FAMILY_C, "ExampleFW", "v100.9.1-14-gabc1234", None),
        (FAMILY_D, "ExampleFW_100.92.8", "100.92.8", 1),
        (FAMILY_E, "ExampleFW", "edge-94de12c", None),
    ],
)
def test_other_families_are_read(data: bytes, name: str, version: str, extruders: int | None) -> None:
    """Name and version come from either entry, before the acknowledgement, after it or on its line."""
    identity = read_texts(identity_of, data)

    assert identity is not None
    assert (name, version, extruders) == (identity.firmware_name, identity.firmware_version, identity.extruders)


@pytest.mark.parametrize(
    ("name", "version"),
    [
        ("ExampleFW 102.0.9.3", "102.0.9.3"),
        ("ExampleFW 101.1.0-RC8", "101.1.0-RC8"),
        ("ExampleFW bugfix-2.0.x", "bugfix-2.0.x"),
        ("ExampleFW V1; a mashup with 101.1.9", "V1"),
        ("ExampleFW 0a30fac + pull/1 (Mar  4 2023)", "0a30fac + pull/1"),
        ("ExampleFW build32_2cd90e9", "build32_2cd90e9"),
        ("ExampleFW 103.8.1 based on AnotherFW 101.0.2", "103.8.1"),
        ("ExampleFW 102.1.2.1 - SHOP v1.0", "102.1.2.1"),
        ("ExampleFW x2y-101.03-15-dirty (Jan 2031)", "x2y-101.03-15-dirty"),
        ("Example2-101.3", "101.3"),
        ("ExampleFW (no version)", None),
    ],
)
def test_version_is_found_in_the_name(name: str, version: str | None) -> None:
    """The leftmost thing that looks like a version is the firmware's own; what follows is somebody else's."""
    assert version == version_in(name)


def test_shared_number_is_no_identity() -> None:
    """The unique number that many builds share is known for what it is."""
    assert Identity(uuid="CEDE2A2F-41A2-4748-9B12-C55C62F367FF").common_uuid
    assert not Identity(uuid="0c1f7d9e-1111-4222-8333-444455556666").common_uuid
    assert not Identity().common_uuid


def test_second_answer_replaces_the_first() -> None:
    """Asked twice with a reflash between, the later identity counts, its capabilities too."""
    before = b"FIRMWARE_NAME:ExampleFW 102.0.5\nCap:EEPROM:1\nCap:ARCS:1\nok\n"
    after = b"FIRMWARE_NAME:ExampleFW 102.1.2\nCap:EEPROM:1\nok\n"
    identity = read_texts(identity_of, before + after)

    assert identity is not None
    assert "102.1.2" == identity.firmware_version
    assert {"EEPROM": True} == identity.capabilities


def test_without_an_identity_line_there_is_none() -> None:
    """Lines that state no identity give none, not an empty one."""
    assert read_texts(identity_of, b"ok\nwait\n") is None


def test_capabilities_cannot_be_changed() -> None:
    """An identity is a finished record: its mappings refuse to be written to."""
    identity = read_texts(identity_of, FAMILY_A)

    assert identity is not None
    with pytest.raises(TypeError):
        identity.capabilities["RUNOUT"] = True  # type: ignore[index]
