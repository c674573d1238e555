"""Which family a printer is of, and that nobody becomes one without proof."""

import pytest

from commission.dialect.family import Family, Identified, identified
from tests.dialect.feeding import read_texts
from tests.dialect.printers import IDENTITIES, printer


@pytest.mark.parametrize("family", list(Family))
def test_family_is_told_by_the_identity(family: Family) -> None:
    """Each family's identity answer, wherever its acknowledgement stands, proves that family and no other."""
    found = read_texts(identified, IDENTITIES[family])

    assert found is not None
    assert family is found.family
    assert "ExampleFW" in (found.identity.firmware_name or "")


@pytest.mark.parametrize(
    ("data", "family"),
    [
        (b"FIRMWARE_NAME:ExampleFW V1; a mashup FIRMWARE_URL:http://example.org PROTOCOL_VERSION:1.0\nok\n", Family.A),
        (b"FIRMWARE_NAME:ExampleFW 103.9\nCap:RUNOUT:1\nok\n", Family.A),
        (b"FIRMWARE_NAME: ExampleFW FIRMWARE_VERSION: 101.2 ELECTRONICS: Board 2\nok\n", Family.B),
        (b"FIRMWARE_NAME:ExampleFW FIRMWARE_VERSION:v100.6\nok\n", Family.C),
    ],
)
def test_sparse_identity_is_enough(data: bytes, family: Family) -> None:
    """An old build that says little still bears the marks of its family."""
    found = read_texts(identified, data)

    assert found is not None
    assert family is found.family


@pytest.mark.parametrize(
    "data",
    [
        b"ok\n",
        b"Cap:EEPROM:1\nok\n",
        b"FIRMWARE_NAME:ExampleFW\nok\n",
        b"FIRMWARE_VERSION:103.1\nok\n",
        b"FIRMWARE_NAME: ExampleFW FIRMWARE_VERSION: 103.8.7 ELECTR0NICS: Board 9 FIRMWARE_DATE: 2025-01-02\nok\n",
        b"FIRMWARE_NAME: ExampleFW FIRMWARE_VERSION: 103.8.7\nok\n",
        b"FIRMWARE_NAME: ExampleFW FIRMWARE_VERSION: 103.8.7 ELECTRONICS: Board 9 PROTOCOL_VERSION:1.0\nok\n",
        b"FIRMWARE_NAME: ExampleFW FIRMWARE_VERSION: 103.8.7 ELECTRONICS: Board 9\nCap:EEPROM:1\nok\n",
        b"FIRMWARE_NAME: ExampleFW ELECTRONICS: Board 9\nok\n",
        b"FIRMWARE_NAME:ExampleFW PROTOCOL_VERSION:1.0 EXAMPLEFW_PROTOCOL:2 X-AXES:3\nok\n",
    ],
    ids=[
        "no answer",
        "capabilities alone",
        "a name alone",
        "a version alone",
        "B with a damaged mark",
        "B without its mark",
        "B that speaks like A",
        "B with capabilities",
        "B without a version",
        "two families at once",
    ],
)
def test_doubtful_identity_proves_nothing(data: bytes) -> None:
    """A damaged, sparse or contradictory answer identifies nobody: a wrong family would turn a question into a set."""
    assert read_texts(identified, data) is None


def test_last_of_several_answers_counts() -> None:
    """After a reflash the printer is what it says now."""
    found = read_texts(identified, IDENTITIES[Family.A] + IDENTITIES[Family.B])

    assert found is not None
    assert Family.B is found.family


@pytest.mark.parametrize("claimed", [Family.B, Family.C, Family.D, Family.E])
def test_claimed_family_needs_proof(claimed: Family) -> None:
    """A family cannot be claimed over an answer that proves another."""
    with pytest.raises(ValueError, match=f"does not prove family {claimed.value}"):
        Identified(claimed, printer(Family.A).said)
