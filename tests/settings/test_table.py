"""The table of commands: every entry is well formed, and a bad one is refused with what is wrong."""

import re
from importlib import resources
from pathlib import Path

import pytest

from commission.dialect.settings_lines import SELECTORS
from commission.settings.meaning import CommandMeaning, Dimension, LetterMeaning, RestoreClass, Span
from commission.settings.table import BadTable
from commission.settings.table_reader import read_table, standard_table

TABLE = standard_table()
TEXT = (resources.files("commission.settings") / "commands.toml").read_text(encoding="utf-8")
SENDABLE = [meaning for meaning in TABLE.commands.values() if meaning.restore is not RestoreClass.REFUSE]


# What may ever be put back, written down a second time by hand (common practice, no source).
ALLOWED = {
    *("M92", "M201", "M203", "M204", "M205", "M206", "M851", "M420", "M421", "G29"),
    *("M301", "M304", "M145", "M200", "M207", "M208", "M209", "M603", "M900", "M906", "M913", "M914"),
}


def test_only_listed_commands_can_be_put_back() -> None:
    """The restorable commands are exactly those of a second list kept by hand."""
    assert {meaning.command for meaning in SENDABLE} == ALLOWED


def command_of(meaning: CommandMeaning) -> str:
    """The name of a case."""
    return meaning.command


@pytest.mark.parametrize("meaning", TABLE.commands.values(), ids=command_of)
def test_every_command_says_what_it_is_for(meaning: CommandMeaning) -> None:
    """A command gives its purpose, the source of its ranges and, unless it is safe, a reason in a sentence."""
    assert meaning.purpose
    assert meaning.source == "common practice, no source"
    assert meaning.restore is RestoreClass.SAFE or re.fullmatch(r"[A-Z].*\.", meaning.reason)


@pytest.mark.parametrize("meaning", SENDABLE, ids=command_of)
def test_every_sendable_letter_is_bounded(meaning: CommandMeaning) -> None:
    """A letter that may be sent has a plausible range inside hard bounds and says what more and less of it do."""
    for letter in meaning.letters.values():
        assert letter.plausible is not None
        assert letter.hard is not None
        assert letter.hard.covers(letter.plausible)
        assert re.fullmatch(r"[A-Z].*\.", letter.more), letter.letter
        assert re.fullmatch(r"[A-Z].*\.", letter.less), letter.letter


@pytest.mark.parametrize("meaning", TABLE.commands.values(), ids=command_of)
def test_selectors_agree_with_the_grammar(meaning: CommandMeaning) -> None:
    """A letter that the table sends as a selector is one that the grammar reads as a selector."""
    assert set(meaning.selectors) <= set(SELECTORS.get(meaning.command, ""))


def test_nothing_dangerous_is_restorable() -> None:
    """Motion, probing, heating, saving, erasing, booting and raw memory are among what is never sent."""
    dangerous = (
        "G0 G1 G28 G30 G33 M104 M109 M140 M190 M303 M500 M501 M502 M504 M112 M997 M999 M30 M350 M302 M211 M600 T0 T1"
    )

    assert [] == [command for command in dangerous.split() if not TABLE.is_never(command)]
    assert [] == [meaning.command for meaning in SENDABLE if TABLE.is_never(meaning.command)]


def test_the_command_words_stand_in_the_data_only() -> None:
    """No module of this room names a command of the printers."""
    sources = Path(str(resources.files("commission.settings"))).glob("*.py")
    named = {path.name: re.findall(r"\b[GM]\d{1,3}\b", path.read_text(encoding="utf-8")) for path in sources}

    assert {} == {name: words for name, words in named.items() if words}


@pytest.mark.parametrize(
    ("edit", "complaint"),
    [
        (("format = 1", "format = 2"), "has format 2; this program reads 1"),
        (("format = 1", "format = "), "is no TOML"),
        (('purpose = "highest speed of each axis"', 'aim = "x"'), "M203: unknown key aim"),
        (('restore = "safe"', 'restore = "maybe"'), "'maybe' is not a valid RestoreClass"),
        (("plausible = [20, 500]", "plausible = [500, 20]"), "the range 500 to 20 is empty"),
        (("plausible = [20, 500]", "plausible = [0, 500]"), "reaches beyond the hard one"),
        (('unit = "steps/mm"', 'unit = "steps/ell"'), "the unit 'steps/ell' is not listed"),
        (('commands = ["G30"', 'commands = ["M92", "G30"'), "M92: it probes and must not be restorable"),
        (('one = { command = "M205"', 'one = { command = "M9999"'), "M9999 or one of its letters is not described"),
        (('probe = "M851"', 'probe = "M852"'), "M852 is not described"),
        (("\n[units]", "\n[unit]"), "unknown key unit"),
        (("\n[checks]", "\n[report_units.checks]"), "lacks 'checks'"),
        (('purpose = "highest speed of each axis"', ""), "M203: lacks 'purpose'"),
        (('letter = "Y"', 'letter = "W"'), "speaks of letters it does not describe: ['W']"),
        (('by = "X"', 'by = "V"'), "speaks of letters it does not describe: ['V']"),
        (('beside = ["S", "T", "B", "Z", "E"]', 'beside = ["K"]'), "speaks of letters it does not describe: ['K']"),
    ],
)
def test_a_badly_written_table_is_refused(edit: tuple[str, str], complaint: str) -> None:
    """A table with a fault raises, and the message names the place and the fault."""
    assert edit[0] in TEXT

    with pytest.raises(BadTable, match=re.escape(complaint)):
        read_table(TEXT.replace(*edit, 1))


def test_complaints_come_together() -> None:
    """Two badly written commands are both named in one message."""
    broken = TEXT.replace("plausible = [20, 500]", "plausible = [9, 1]", 1).replace(
        "plausible = [60, 12000]", "plausible = [9, 1]", 1
    )

    with pytest.raises(BadTable, match=r"M92: .*; M207: "):
        read_table(broken)


@pytest.mark.parametrize(
    "wrong",
    [
        {"letter": "x"},
        {"of": ""},
        {"jump_factor": 1.0},
        {"jump_step": 0.0},
        {"plausible": Span(0, 9), "hard": Span(1, 9)},
    ],
)
def test_a_letter_checks_itself(wrong: dict[str, object]) -> None:
    """A letter's meaning that contradicts itself cannot be made."""
    sound = {"letter": "X", "of": "X axis", "unit": "mm", "dimension": Dimension.LENGTH}

    assert LetterMeaning(**sound)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="letter"):
        LetterMeaning(**(sound | wrong))  # type: ignore[arg-type]
