from hypothesis import given, settings
from hypothesis import strategies as st

from commission.dialect.sanitise import clean_bytes, clean_text


def test_plain_text_passes() -> None:
    """A line of printable ASCII comes out as it went in."""
    assert "filament: TRIGGERED" == clean_bytes(b"filament: TRIGGERED")


def test_escape_sequences_are_shown() -> None:
    """A sequence that would clear the screen is written out instead of being sent on."""
    assert "\\x1b[2Jz_min: open\\x07" == clean_bytes(b"\x1b[2Jz_min: open\x07")


def test_every_byte_comes_out_printable() -> None:
    """Each of the 256 byte values becomes printable ASCII."""
    cleaned = clean_bytes(bytes(range(256)))

    assert cleaned.isascii()
    assert cleaned.isprintable()


def test_degree_sign_is_kept_as_bytes() -> None:
    """A two-byte degree sign is shown by its bytes, whatever the encoding was meant to be."""
    assert "60\\xc2\\xb0C" == clean_bytes(b"60\xc2\xb0C")


def test_names_keep_their_letters() -> None:
    """A file name in another script stays readable."""
    assert "Prüfstand-3 данные.txt" == clean_text("Prüfstand-3 данные.txt")


def test_reversing_marks_are_shown() -> None:
    """A bidirectional override and a line separator are written as escapes."""
    assert "a\\u202eb\\u2028c" == clean_text("a\u202eb\u2028c")


@settings(deadline=None, max_examples=100)
@given(st.text())
def test_any_text_comes_out_printable(text: str) -> None:
    """Cleaned text holds nothing unprintable, whatever came in, lone surrogates included."""
    assert clean_text(text).isprintable()
