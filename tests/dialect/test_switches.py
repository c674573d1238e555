import pytest

from commission.dialect.switches import SwitchState, switches_of
from commission.vocabulary import Reading
from tests.dialect.feeding import read_texts

ACTIVE, INACTIVE, UNKNOWN = Reading.ACTIVE, Reading.INACTIVE, Reading.UNKNOWN


def rows(data: bytes) -> list[tuple[str, str, Reading]]:
    """Each switch of a reply as name, wire word and reading."""
    return [(state.name, state.wire_word, state.reading) for state in read_texts(switches_of, data)]


def test_family_a_gives_one_switch_a_line() -> None:
    """Heading, switches and filament sensors come line by line, a blank line and an autoreport between them."""
    reply = (
        b"Reporting endstop status\nx_min: open\n T:21.3 /0.0\nz_min: TRIGGERED\n\nz_probe: open\n"
        b"filament: TRIGGERED\nfilament 2: open\nok\n"
    )

    assert [
        ("x_min", "open", INACTIVE),
        ("z_min", "TRIGGERED", ACTIVE),
        ("z_probe", "open", INACTIVE),
        ("filament", "TRIGGERED", ACTIVE),
        ("filament 2", "open", INACTIVE),
    ] == rows(reply)


def test_old_forks_of_family_a_report_levels() -> None:
    """H and L stand for the two words in the oldest forks."""
    assert [("x_min", "L", INACTIVE), ("filament", "H", ACTIVE)] == rows(b"x_min: L\nfilament: H\nok\n")


def test_nameless_line_is_the_filament() -> None:
    """A line whose name is empty is named filament."""
    assert [("filament", "TRIGGERED", ACTIVE)] == rows(b": TRIGGERED\nok\n")


def test_longer_names_are_kept_as_written() -> None:
    """An older wording keeps its whole name and still counts as a filament sensor."""
    (state,) = read_texts(switches_of, b"Filament Runout Sensor: open\nok\n")

    assert "Filament Runout Sensor" == state.name
    assert state.is_filament


def test_family_b_gives_one_sentence() -> None:
    """A sentence lists the switches; a graded probe that is near has not been reached; none fitted is unknown."""
    reply = b"Endstops - X: at min stop, Y: not stopped, Z: no endstop, U: at max stop, Z probe: near min stop\nok\n"

    assert [
        ("X", "at min stop", ACTIVE),
        ("Y", "not stopped", INACTIVE),
        ("Z", "no endstop", UNKNOWN),
        ("U", "at max stop", ACTIVE),
        ("Z probe", "near min stop", INACTIVE),
    ] == rows(reply)


def test_family_c_gives_one_row() -> None:
    """Three switches on one line without a heading are read."""
    assert [("x", "open", INACTIVE), ("y", "open", INACTIVE), ("z", "TRIGGERED", ACTIVE)] == rows(
        b"x:open y:open z:TRIGGERED\nok\n"
    )


@pytest.mark.parametrize("prefix", [b"endstops hit: ", b"echo:endstops hit: "])
def test_family_d_answers_after_its_acknowledgement(prefix: bytes) -> None:
    """Levels in a row after a prefix are switches, the name with a hyphen and a blank included."""
    assert [("x_max", "L", INACTIVE), ("y_max", "H", ACTIVE), ("Z-probe state", "L", INACTIVE)] == rows(
        b"ok 0\n" + prefix + b"x_max:L y_max:H Z-probe state:L\n"
    )


def test_family_d_without_the_prefix() -> None:
    """The other wording of that family is a bare row."""
    assert [("x_min", "H", ACTIVE), ("z_max", "L", INACTIVE)] == rows(b"ok 3\nx_min:H z_max:L\n")


def test_family_e_leaves_raw_pins_out() -> None:
    """Digits in a row are switches; the raw pins behind them are not."""
    assert [("X_min", "0", INACTIVE), ("Y_max", "1", ACTIVE), ("Probe", "0", INACTIVE)] == rows(
        b"X_min:0 Y_max:1 pins- (X)P1.24:1 (Y)P1.27:0  Probe: 0\nok\n"
    )


@pytest.mark.parametrize(
    "line",
    [
        b"echo:endstops hit:  Z:26.00",
        b"Auto Power Off:0",
        b"X2:355.40",
        b"T:21.3 /0.0 B:20.0 /0.0",
        b"x:open y:ajar",
        b"door: ajar",
        b"X:0",
    ],
)
def test_what_is_no_switch_is_not_read(line: bytes) -> None:
    """A position at a hit switch, a lone digit, a temperature and a word never seen are no switch states."""
    assert [] == rows(line + b"\n")


def test_hostile_name_is_shown_and_is_no_filament() -> None:
    """An escape sequence in a name is written out, and the name does not pass for a filament sensor."""
    (state,) = read_texts(switches_of, b"\x1b[2Jfilament: TRIGGERED\n")

    assert "\\x1b[2Jfilament" == state.name
    assert not state.is_filament


@pytest.mark.parametrize(("name", "word"), [("", "open"), ("filament", "")])
def test_state_without_name_or_word_is_refused(name: str, word: str) -> None:
    """A switch state without a name or a word cannot be made."""
    with pytest.raises(ValueError, match="a name and a word"):
        SwitchState(name, word, UNKNOWN)
