"""Made-up printers of each family, identified by their own answers, for tests that need one."""

from commission.dialect.family import Family, Identified, identified

IDENTITIES = {
    Family.A: (
        b"FIRMWARE_NAME:ExampleFW 102.1.9 SOURCE_CODE_URL:https://example.org/fw PROTOCOL_VERSION:1.0 "
        b"MACHINE_TYPE:bench-7 EXTRUDER_COUNT:1 UUID:0c1f7d9e-2222-4333-8444-555566667777\nCap:EEPROM:1\nok\n"
    ),
    Family.B: (
        b"FIRMWARE_NAME: ExampleFW for Board 9 FIRMWARE_VERSION: 103.8.7 ELECTRONICS: Board 9 v2.0 or later "
        b"FIRMWARE_DATE: 2025-01-02 03:04:05\nok\n"
    ),
    Family.C: b"ok FIRMWARE_VERSION:v100.7.3-5-gdef5678 FIRMWARE_NAME:ExampleFW\n",
    Family.D: (
        b"ok 0\nFIRMWARE_NAME:ExampleFW_100.93.4 FIRMWARE_URL:https://example.org/ PROTOCOL_VERSION:1.0 "
        b"MACHINE_TYPE:bench-8 EXTRUDER_COUNT:1 EXAMPLEFW_PROTOCOL:2\n"
    ),
    Family.E: (
        b"FIRMWARE_NAME:ExampleFW, FIRMWARE_URL:http%3A//example.org, X-SOURCE_CODE_URL:http%3A//example.org, "
        b"FIRMWARE_VERSION:edge-77aa1c2, PROTOCOL_VERSION:1.0, X-AXES:4\nok\n"
    ),
}


def printer(family: Family) -> Identified:
    """An identified printer of this family."""
    found = identified(IDENTITIES[family].decode().splitlines())
    assert found is not None
    return found
