import pytest

from commission.dialect.storage import StorageEvent, storage_events_of, was_saved
from tests.dialect.feeding import read_texts


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        (b"echo:Settings Stored (702 bytes; crc 40112)", StorageEvent("stored", bytes=702, crc=40112)),
        (b"echo:Settings Stored", StorageEvent("stored")),
        (
            b"echo:V61 stored settings retrieved (702 bytes; crc 40112)",
            StorageEvent("retrieved", version="V61", bytes=702, crc=40112),
        ),
        (b"echo:V27 stored settings retrieved (401 bytes)", StorageEvent("retrieved", version="V27", bytes=401)),
        (b"echo:Stored settings retrieved", StorageEvent("retrieved")),
        (b"echo:Hardcoded Default Settings Loaded", StorageEvent("defaults_loaded")),
        (b"Hardcoded Default Settings Loaded", StorageEvent("defaults_loaded")),
        # these two in the words of family D, from memory
        (b"Configuration stored to EEPROM.", StorageEvent("stored")),
        (b"Configuration reset to defaults.", StorageEvent("defaults_loaded")),
        (b"echo:EEPROM OK", StorageEvent("ok")),
        (
            b"echo:EEPROM version mismatch (EEPROM=V41 ExampleFW=V61)",
            StorageEvent("error", "version_mismatch", details={"stored_version": "V41", "firmware_version": "V61"}),
        ),
        (
            b"Error:EEPROM version mismatch (EEPROM=? ExampleFW=P89)",
            StorageEvent("error", "version_mismatch", details={"stored_version": "?", "firmware_version": "P89"}),
        ),
        (
            b"EEPROM CRC mismatch - (stored) 120 != 31007 (calculated)!",
            StorageEvent("error", "crc_mismatch", details={"stored_crc": 120, "calculated_crc": 31007}),
        ),
        (b"Error:EEPROM datasize error.", StorageEvent("error", "datasize")),
        (b"Error:EEPROM datasize error", StorageEvent("error", "datasize")),
        (b"Error:EEPROM disabled", StorageEvent("error", "disabled")),
        (b"Error:Error writing to EEPROM!", StorageEvent("error", "write_failed")),
    ],
)
def test_message_is_read(line: bytes, expected: StorageEvent) -> None:
    """Each message about the store gives its event and every number it states."""
    assert (expected,) == read_texts(storage_events_of, line + b"\nok\n")


def test_index_line_belongs_to_the_size_error() -> None:
    """The line with index and size completes the error above it."""
    data = b"Error:EEPROM datasize error.\necho:Index: 812 Size: 820\necho:Hardcoded Default Settings Loaded\n"

    assert (
        StorageEvent("error", "datasize", details={"index": 812, "size": 820}),
        StorageEvent("defaults_loaded"),
    ) == read_texts(storage_events_of, data)


def test_notification_is_no_storage_message() -> None:
    """The same words inside a host action are the action's."""
    assert () == read_texts(storage_events_of, b"//action:notification Settings Stored\n")


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (b"echo:Settings Stored (702 bytes; crc 40112)\nok\n", True),
        (b"echo:Settings Stored (702 bytes; crc 40112)\nError:EEPROM datasize error.\nok\n", False),
        (b"Error:EEPROM disabled\nok\n", False),
        (b"ok\n", False),
    ],
)
def test_stored_counts_only_without_an_error_after_it(data: bytes, expected: bool) -> None:
    """A save succeeded when it was reported and no error followed; silence is no success."""
    assert expected is was_saved(read_texts(storage_events_of, data))


@pytest.mark.parametrize(("event", "kind"), [("saved", None), ("error", None), ("ok", "disabled")])
def test_impossible_event_is_refused(event: str, kind: str | None) -> None:
    """An event with an unknown name, an error without a kind and a success with one cannot be made."""
    with pytest.raises(ValueError, match=r"storage event|a kind"):
        StorageEvent(event, kind)
