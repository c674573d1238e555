"""Lines in: length, comments, numbers, checksums, and the words that act as they arrive."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fake_printer.firmware.command import Command
from fake_printer.firmware.intake import EmergencyWords, Intake, checksum_of
from tests.fake_printer.line import Host


def numbered(number: int, text: str) -> str:
    """The line with its number and checksum."""
    body = f"N{number} {text}"
    return f"{body}*{checksum_of(body)}"


def test_published_checksum() -> None:
    """The line `N3 T0` has the checksum 57 (example of the open G-code description, from memory)."""
    assert checksum_of("N3 T0") == 57


def test_numbered_lines_are_acknowledged() -> None:
    """Lines numbered from one on are taken in order."""
    host = Host()

    assert ["ok"] == host.ask(numbered(1, "M110 N0"))
    assert ["ok"] == host.ask(numbered(1, "M117 hello"))
    assert ["ok"] == host.ask(numbered(2, "M117 hello"))


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ("N1 M117 hallo*12", "checksum mismatch"),
        ("N7 M117 hello*12", "Line Number is not Last Line Number+1"),
        ("N1 M117 hello", "No Checksum with line number"),
    ],
)
def test_bad_line_is_asked_for_again(line: str, reason: str) -> None:
    """A line that is not taken is named with the reason, asked for again, and acknowledged."""
    assert [f"Error:{reason}, Last Line: 0", "Resend: 1", "ok"] == Host().ask(line)


def test_old_builds_refuse_a_lone_checksum() -> None:
    """A checksum without a number is refused by the old generation and is plain text to the new one."""
    assert "Error:No Line Number with checksum, Last Line: 0" == Host("old-forms").ask("M117 a*5")[0]
    assert ["ok"] == Host("sound").ask("M117 a*5")


def test_buffer_is_thrown_away_after_a_bad_line() -> None:
    """What waits behind a line that is refused is lost with it."""
    host = Host()
    host.send("G4 S1")
    for _ in range(3):
        host.send("M117 fills the ring")
    host.send("N9 M105*1")
    host.send("M119")
    lines = host.after(1.1)

    assert [
        "ok",
        "Error:Line Number is not Last Line Number+1, Last Line: 0",
        "Resend: 1",
        "ok",
        "ok",
        "ok",
        "ok",
    ] == lines


def test_family_d_asks_in_its_own_words() -> None:
    """Family D names the line it expected and the one it got, and does not acknowledge."""
    assert ["Error:expected line 1 got 256", "", "Resend:1"] == Host("family-d").ask(numbered(256, "M105"))


def test_family_d_keeps_asking_until_a_line_is_taken() -> None:
    """Family D repeats its request on a timer, and stops when a line is taken."""
    host = Host("family-d", firmware={"idle_wait": False})
    host.ask(numbered(256, "M105"))

    assert ["Resend:1"] * 2 == [line for line in host.after(4.5) if line.startswith("Resend")]

    host.ask(numbered(1, "M105"))

    assert [] == host.after(10)


def test_family_a_asks_once() -> None:
    """Family A asks for a line once and then waits."""
    host = Host()
    host.ask(numbered(256, "M105"))

    assert [] == host.after(10)


@pytest.mark.parametrize("end", ["\n", "\r", "\r\n"])
def test_any_line_end_will_do(end: str) -> None:
    """A line ends at either end character; the empty line of a pair is not acknowledged."""
    host = Host()
    host.printer.receive(f"M117 hello{end}".encode())

    assert ["ok"] == host.lines()


def test_comment_is_no_command() -> None:
    """A line with nothing but a comment is not acknowledged, and a comment behind a command is not read."""
    host = Host()

    assert [] == host.ask("; M119")
    assert ["hello", "ok"] == host.ask("M118 hello ; there")


def test_surplus_of_a_long_line_is_dropped() -> None:
    """Of a line of 200 bytes the first 96 are taken, without a word about the rest."""
    host = Host()

    assert ["x" * (96 - 5), "ok"] == host.ask("M118 " + "x" * 195)


def test_bytes_or_whole_come_to_the_same() -> None:
    """A conversation fed byte by byte gives the same replies as one fed whole."""
    text = b"M115\nM119\nG4 P100\nM105\nM999 x\nM412\n"
    whole, stepped = Host(), Host()
    whole.printer.receive(text)
    for byte in text:
        stepped.printer.receive(bytes([byte]))

    assert whole.after(1) == stepped.after(1)


@given(st.binary(max_size=400))
@settings(deadline=None, max_examples=100)
def test_any_bytes_are_survived(data: bytes) -> None:
    """Whatever arrives, the printer goes on serving or was told to stop."""
    host = Host(firmware={"homing_s": 0.1})
    host.printer.receive(data + b"\n")
    host.printer.advance(20)
    host.lines()
    if not host.printer.state()["killed"] and host.printer.state()["running"] is None:
        assert "Reporting endstop status" in host.ask("M119")


@pytest.mark.parametrize(
    ("data", "code"), [(b"M108\n", "M108"), (b"N4 M876 S1*7\n", "M876"), (b"M112\r", "M112"), (b"M410 \n", "M410")]
)
def test_emergency_words_are_heard(data: bytes, code: str) -> None:
    """Each emergency word is recognised at the end of its line, numbered or not."""
    words = EmergencyWords()
    heard = [word for byte in data if (word := words.feed(byte)) is not None]

    assert [code] == [word.code for word in heard]


def test_other_words_are_no_emergency() -> None:
    """A longer number, or the word inside other text, is no emergency."""
    words = EmergencyWords()

    assert [None] * 30 == [words.feed(byte) for byte in b"M1080\nM117 M112 M112\nM11 M410\n"]


@pytest.mark.parametrize(
    ("text", "code", "s"),
    [("M104 S210", "M104", 210.0), (" M104S-2.5 ", "M104", -2.5), ("g28", "", None), ("M006", "M6", None)],
)
def test_command_is_taken_apart(text: str, code: str, s: float | None) -> None:
    """Code and numbers are found with and without blanks, and leading zeros do not matter."""
    command = Command.parse(text)

    assert (code, s) == (command.code, command.number_of("S"))


def test_number_restart_wins() -> None:
    """The number inside the restart command counts, not the one in front of it."""
    intake = Intake(refuses_lone_checksum=False)
    intake.take(numbered(44, "M110 N10").encode())

    assert intake.last_line == 10
