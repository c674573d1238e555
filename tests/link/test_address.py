"""What an operator may write for a port."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.link.address import Address, Kind, parse_address
from commission.link.base import PortUnusable
from commission.link.port import SPEEDS_BAUD, make_link


@pytest.mark.parametrize(
    ("text", "address"),
    [
        ("/dev/ttyUSB0", Address("/dev/ttyUSB0", Kind.DEVICE)),
        ("/dev/serial/by-id/usb-fffe_x-if00", Address("/dev/serial/by-id/usb-fffe_x-if00", Kind.DEVICE)),
        ("COM3", Address("COM3", Kind.DEVICE)),
        (r"\\.\COM12", Address(r"\\.\COM12", Kind.DEVICE)),
        ("socket://localhost:7001", Address("socket://localhost:7001", Kind.SOCKET, "localhost", 7001)),
        ("socket://[::1]:7001", Address("socket://[::1]:7001", Kind.SOCKET, "::1", 7001)),
        (
            "rfc2217://127.0.0.1:7001?ign_set_control&timeout=0.5",
            Address("rfc2217://127.0.0.1:7001?ign_set_control&timeout=0.5", Kind.RFC2217, "127.0.0.1", 7001),
        ),
    ],
)
def test_readable_address(text: str, address: Address) -> None:
    """A device name, a socket address and an RFC 2217 address are told apart and taken apart."""
    assert address == parse_address(text)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "  ",
        "/dev/tty\x1b[2J",
        "http://127.0.0.1:80",
        "socket://",
        "socket://127.0.0.1",
        "socket://127.0.0.1:0",
        "socket://127.0.0.1:70000",
        "socket://127.0.0.1:seven",
        "socket://127.0.0.1:7001/path",
        "socket://user@127.0.0.1:7001",
        "socket://127.0.0.1:7001?ign_set_control",
        "rfc2217://127.0.0.1:7001?logging=debug",
        "rfc2217://127.0.0.1:7001?timeout=never",
        "rfc2217://127.0.0.1:7001?timeout=nan",
        "rfc2217://127.0.0.1:7001?timeout=0",
    ],
)
def test_unreadable_address(text: str) -> None:
    """Anything else is refused when the link is made, and the advice lists the forms."""
    with pytest.raises(PortUnusable) as caught:
        make_link(text)

    assert "rfc2217://HOST:PORT" in caught.value.advice
    assert caught.value.message.isprintable()


@settings(deadline=None, max_examples=100)
@given(st.text(max_size=40) | st.text(max_size=30).map("socket://".__add__))
def test_any_text_is_read_or_refused(text: str) -> None:
    """Whatever is written is either an address that keeps the text or refused as unusable."""
    try:
        address = parse_address(text)
    except PortUnusable:
        return

    assert text == address.text


def test_speeds_begin_with_the_usual_ones() -> None:
    """A silent printer is tried at the two usual speeds first, and at no speed twice."""
    assert SPEEDS_BAUD[:2] == (115200, 250000)
    assert len(SPEEDS_BAUD) == len(set(SPEEDS_BAUD))
