import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.dialect.settings_lines import SELECTORS, SettingsLine, parse_line, unglued
from tests.dialect.feeding import read_texts
from tests.support.settings_lines import settings_of

# One invented bench printer, listed in the forms of five ages and three families.
OLDEST = (
    b"echo:Steps per unit:\necho:  M92 X78.50 Y78.50 Z402.00 E141.00\n"
    b"echo:PID settings:\necho:   M301 P20.10 I1.20\nok\n"
)
OLD = (
    b"echo:  G21    ; Units in mm\necho:  M149 C ; Units in Celsius\n\necho:Filament settings: Disabled\n"
    b"echo:  M200 D1.75\necho:  M200 D0\necho:Hotend offsets:\necho:  M218 T1 X20.00 Y5.00\n"
    b"echo:Endstop adjustment:\necho:  M666\necho:Z-Probe Offset (mm):\necho:  M851 Z-0.3 \nok\n"
)
MIDDLE = (
    b"echo:; Steps per unit:\necho: M92 X78.50 Y78.50\nG21    ; Units in mm (mm)\n"
    b"; Controller Fan\necho:  M710 S255 I0 A1 D60 ; (100% 0%)\nok\n"
)
NEWEST = (
    b"echo:; Linear Units:\necho:  G21 ;\n (mm)\necho:; Input Shaping:\necho:  M593 X F16.60 D0.15\n"
    b"echo:  M593 Y F18.00 D0.10\necho:; Filament runout sensor:\necho:  M412 S0 D25.00 ; Sensor OFF\n"
    b"echo:; Driver stepping mode:\necho:  M569 S1 X Y Z\necho:  M569 S1 T0 E\necho:  G29 W I0 J1 Z-0.02125\nok\n"
)
REPLAY = b"  M92 X78.50 Y78.50\n  M200 D3.00\n  M200 D0\nok\n"
FAMILY_D = b"ok 0\nEPR:3 149 200.000 Steps/mm\nEPR:2 75 115200 Baudrate\nwait\n"
FAMILY_E = b";Steps per unit:\nM92 X78.5 Y78.5\n;Accelerations:\nM204 S900 Z5\nok\n"


def brief(item: SettingsLine) -> tuple[str, dict[str, object], dict[str, float], tuple[str, ...]]:
    """An item without its line and its occurrence."""
    return (item.command, dict(item.selectors), dict(item.values), item.flags)


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (
            OLDEST,
            [
                ("M92", {}, {"X": 78.5, "Y": 78.5, "Z": 402.0, "E": 141.0}, ()),
                ("M301", {}, {"P": 20.1, "I": 1.2}, ()),
            ],
        ),
        (
            OLD,
            [
                ("G21", {}, {}, ()),
                ("M149", {}, {}, ("C",)),
                ("M200", {}, {"D": 1.75}, ()),
                ("M200", {}, {"D": 0.0}, ()),
                ("M218", {"T": 1}, {"X": 20.0, "Y": 5.0}, ()),
                ("M666", {}, {}, ()),
                ("M851", {}, {"Z": -0.3}, ()),
            ],
        ),
        (
            MIDDLE,
            [
                ("M92", {}, {"X": 78.5, "Y": 78.5}, ()),
                ("G21", {}, {}, ()),
                ("M710", {}, {"S": 255.0, "I": 0.0, "A": 1.0, "D": 60.0}, ()),
            ],
        ),
        (
            NEWEST,
            [
                ("G21", {}, {}, ()),
                ("M593", {}, {"F": 16.6, "D": 0.15}, ("X",)),
                ("M593", {}, {"F": 18.0, "D": 0.1}, ("Y",)),
                ("M412", {}, {"S": 0.0, "D": 25.0}, ()),
                ("M569", {}, {"S": 1.0}, ("X", "Y", "Z")),
                ("M569", {"T": 0}, {"S": 1.0}, ("E",)),
                ("G29", {"I": 0, "J": 1}, {"Z": -0.02125}, ("W",)),
            ],
        ),
        (
            REPLAY,
            [
                ("M92", {}, {"X": 78.5, "Y": 78.5}, ()),
                ("M200", {}, {"D": 3.0}, ()),
                ("M200", {}, {"D": 0.0}, ()),
            ],
        ),
        (
            FAMILY_D,
            [("EPR", {"T": 3, "P": 149}, {"X": 200.0}, ()), ("EPR", {"T": 2, "P": 75}, {"S": 115200.0}, ())],
        ),
        (
            FAMILY_E,
            [("M92", {}, {"X": 78.5, "Y": 78.5}, ()), ("M204", {}, {"S": 900.0, "Z": 5.0}, ())],
        ),
    ],
    ids=["oldest", "old", "middle", "newest", "replayable", "family D", "family E"],
)
def test_listing_is_read(data: bytes, expected: list[object]) -> None:
    """A listing of any age gives one item per command line, with indexes, values and flags apart."""
    assert expected == [brief(item) for item in read_texts(settings_of, data)]


def test_second_tool_without_prefix_is_read() -> None:
    """A line per tool is told apart by its selector, whether the prefix was printed or not."""
    items = read_texts(settings_of, b"echo:  M92 T0 E768.00\n  M92 T1 E90.00\nok\n")

    assert [{"T": 0}, {"T": 1}] == [dict(item.selectors) for item in items]
    assert [1, 1] == [item.occurrence for item in items]


def test_lines_that_differ_by_order_alone_are_counted() -> None:
    """Identical commands without a selector are numbered in their order."""
    items = read_texts(settings_of, b"echo:  M301 P20.00 I1.00 D80.00\necho:  M301 P21.00 I1.00 D80.00\nok\n")

    assert [1, 2] == [item.occurrence for item in items]


def test_broken_line_is_joined() -> None:
    """A comment that was broken in two belongs to the line it began on."""
    (item,) = read_texts(settings_of, b"echo:  G21 ;\n (mm)\nok\n")

    assert "echo:  G21 ; (mm)" == item.line


def test_glued_line_is_taken_apart() -> None:
    """A settings line that was printed without a newline before it is still read."""
    (item,) = read_texts(settings_of, b"Unified Bed Levelingecho:  G21 ; (mm)\nok\n")

    assert "G21" == item.command
    assert ["Unified Bed Leveling", "echo:  G21 ; (mm)"] == unglued("Unified Bed Levelingecho:  G21 ; (mm)")


def test_private_commands_of_a_fork_are_read() -> None:
    """Commands with another letter than G and M are settings when every word of them is readable."""
    items = read_texts(settings_of, b"echo:  C100 X1.50 E0\necho:  C412 M1\necho: V27 stored badly\nok\n")

    assert ["C100", "C412"] == [item.command for item in items]


def test_text_between_lines_changes_nothing() -> None:
    """Mesh status, asides and blank lines between settings lines are passed over."""
    items = read_texts(
        settings_of,
        b"echo:; Steps per unit:\necho: M92 X78.50\nUnified Bed Leveling System v1.01 active\n\n"
        b"Active Mesh Slot: 0\nNot SD printing\n T:21.3 /0.0\nM145 S1 H240 B100\nok\n",
    )

    assert ["M92", "M145"] == [item.command for item in items]


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (b"M600\nok\n", []),
        (b"M111 S14\nok\n", []),
        (b"M412 S1\nok\n", []),
        (b"echo:  M92 X78.50\nok\nM92 X80\nok\n", ["echo:  M92 X78.50"]),
        (b'echo:Unknown command: "M412"\nok\n', []),
    ],
)
def test_echoed_command_is_no_setting(data: bytes, expected: list[str]) -> None:
    """A command said back to us outside a listing is not taken for a setting."""
    assert expected == [item.line for item in read_texts(settings_of, data)]


def test_unreadable_words_are_kept_apart() -> None:
    """A damaged number is no value and no flag: the line says that it was not read whole."""
    item = parse_line("echo:  M92 X7?.50 Y78.50 Znan Y80.00")

    assert item is not None
    assert {"Y": 78.5} == item.values
    assert ("X7?.50", "Znan", "Y80.00") == item.unread_words


def test_digits_are_kept_as_printed() -> None:
    """The digits stay beside the value, because their number is the precision."""
    item = parse_line("echo:  M92 X80.6600 Y80")

    assert item is not None
    assert {"X": "80.6600", "Y": "80"} == item.number_texts
    assert {"X": 80.66, "Y": 80.0} == item.values


@pytest.mark.parametrize(
    ("line", "selectors", "values"),
    [
        ("echo:  M204 P500.00 R500.00 T600.00", {}, {"P": 500.0, "R": 500.0, "T": 600.0}),
        ("echo:  M145 S1 H240 B110 F0", {"S": 1}, {"H": 240.0, "B": 110.0, "F": 0.0}),
        ("echo:  M569 S1 T1 E", {"T": 1}, {"S": 1.0}),
        ("echo:  M906 I1 X800", {"I": 1}, {"X": 800.0}),
        ("echo:  M301 E1 P20.00", {"E": 1}, {"P": 20.0}),
        ("echo:  M92 E93.00", {}, {"E": 93.0}),
        ("echo:  M710 S255 I0", {}, {"S": 255.0, "I": 0.0}),
        ("echo:  G29 S3 X1 Y2 Z0.010", {"S": 3, "X": 1, "Y": 2}, {"Z": 0.01}),
    ],
)
def test_letter_selects_only_where_its_command_says_so(
    line: str, selectors: dict[str, int], values: dict[str, float]
) -> None:
    """The same letter is an index in one command and a value in the next."""
    item = parse_line(line)

    assert item is not None
    assert (selectors, values) == (item.selectors, item.values)


def test_selector_table_holds_letters_only() -> None:
    """Every entry of the table names a command and single capital letters."""
    for command, letters in SELECTORS.items():
        assert command == "EPR" or command[1:].isdigit()
        assert letters.isalpha()
        assert letters.isupper()
        assert len(letters) == len(set(letters))


def test_setting_that_is_no_number_is_refused() -> None:
    """A settings line with an infinite value cannot be made."""
    with pytest.raises(ValueError, match="finite"):
        SettingsLine("M92", values={"X": float("inf")})


@settings(deadline=None, max_examples=100)
@given(
    st.sampled_from(["M92", "M203", "M851", "M412"]),
    st.dictionaries(st.sampled_from("XYZDS"), st.decimals(-9999, 9999, places=3), min_size=1),
)
def test_printed_values_come_back(command: str, words: dict[str, object]) -> None:
    """What a listing prints for each letter is what is read, in value and in digits."""
    item = parse_line(f"echo:  {command} " + " ".join(f"{letter}{value}" for letter, value in words.items()))

    assert item is not None
    assert {letter: str(value) for letter, value in words.items()} == item.number_texts
    assert {letter: float(str(value)) for letter, value in words.items()} == item.values


def test_monitor_of_a_fork_is_told_by_its_drive() -> None:
    """One family tells its monitors apart by D, a fork of another by E, where D is a distance."""
    (ours,) = settings_of([" M591 D1 P2 S1 E3.0"])
    (theirs,) = settings_of(["  M591 E1 S1 D8.50 P7"])

    assert ({"D": 1}, {"P": 2.0, "S": 1.0, "E": 3.0}) == (dict(ours.selectors), dict(ours.values))
    assert ({"E": 1}, {"S": 1.0, "D": 8.5, "P": 7.0}) == (dict(theirs.selectors), dict(theirs.values))


def test_drives_all_on_one_line_are_not_read_in_part() -> None:
    """A variant that prints every drive on one line leaves words that are not read, so it is never given back."""
    (both,) = settings_of(["  M591 E0 S1 D8.50 P7 E1 S0 D8.50 P7"])

    assert ("E1", "S0", "D8.50", "P7") == both.unread_words
