"""`commission help`, and what is said of a command that was mistyped."""

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

import commission
from commission.cli import COMMANDS, main
from commission.cli.exit_codes import MEANINGS
from commission.cli.words import WORDS
from commission.judge.plan import Plan

README = Path(commission.__file__).parents[1] / "README.md"


def said(*words: str) -> str:
    """What a command prints, in one line."""
    done = CliRunner().invoke(main, words)
    return " ".join(done.output.split())


def test_the_exit_codes_are_explained() -> None:
    """Every code of the table with its meaning, and which of several counts."""
    text = said("help", "exit-codes")

    assert [] == [code for code, meaning in MEANINGS.items() if f"{code} {meaning}" not in text]
    assert "the worst of theirs counts: 1, 70, 9" in text


def test_the_words_are_explained_as_in_the_readme() -> None:
    """One table of words, on the screen and in the README."""
    text, readme = said("help", "words"), README.read_text(encoding="utf-8")

    assert [] == [word for word, meaning in WORDS.items() if f"{word} {meaning}" not in text]
    assert [] == [word for word, meaning in WORDS.items() if f"| {word} | {meaning} |" not in readme]
    assert list(WORDS) == sorted(WORDS, key=str.lower)


def test_the_rules_of_a_pass_are_explained() -> None:
    """Each rule of the usual plan, which the screen before the trials names only in short."""
    text = said("help", "plan")

    assert [] == [rule for rule in Plan(seed=1, own_pace=True).rules() if rule not in text]
    assert "seed" not in text


def test_help_of_a_command_is_that_of_its_own_option() -> None:
    """`help install` and `install --help` say the same."""
    assert said("install", "--help").partition("Options")[2] == said("help", "install").partition("Options")[2]


@pytest.mark.parametrize(
    ("typed", "answer"),
    [
        (("instal",), "There is no command 'instal'. Do you mean 'install'?"),
        (("Wiring",), "There is no command 'Wiring'. Do you mean 'wiring'?"),
        (("help", "exit-code"), "There is no command 'exit-code'."),
        (("zzzz",), "There is no command 'zzzz'. `commission --help` lists them."),
    ],
)
def test_a_mistyped_command_names_the_nearest(typed: tuple[str, ...], answer: str) -> None:
    """Wrong usage, with what was probably meant."""
    done = CliRunner().invoke(main, typed)

    assert 2 == done.exit_code
    assert answer in " ".join(done.output.split())


def test_every_command_has_an_example() -> None:
    """Subcommands of `book` too: the last line of the help can be typed."""
    books = ["list", "due", "show", "export", "import", "verify"]
    helps = {name: said(name, "--help") for name in COMMANDS} | {name: said("book", name, "--help") for name in books}

    assert [] == [
        name
        for name, text in helps.items()
        if not re.search(rf"Examples?: commission {'book ' if name in books else ''}{name}", text)
    ]
