"""The manual page holds every command and every option, and a typesetter has nothing to say against it."""

import re
import subprocess
from pathlib import Path

import pytest
from click.testing import CliRunner

import commission
from commission.cli import COMMANDS, main
from commission.cli.exit_codes import MEANINGS
from commission.cli.words import WORDS
from scripts.manual import ENVIRONMENT
from scripts.manual import main as build
from tests.support.patience import PATIENCE_S
from tests.support.programs import needs_program

SUBCOMMANDS = [*COMMANDS, *(f"book {name}" for name in ("list", "due", "show", "export", "import", "verify"))]
SUBCOMMANDS += [f"roster {name}" for name in ("show", "propose", "complete", "prove")]
SOURCES = Path(commission.__file__).parent


@pytest.fixture(name="built", scope="module")
def _built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The page as the script writes it."""
    place = tmp_path_factory.mktemp("manual") / "man1" / "commission.1"
    assert 0 == build(["--out", str(place)])
    return place


def read(built: Path) -> str:
    """The page as a reader sees it, without bold and underline."""
    typeset = subprocess.run(
        [needs_program("groff"), "-man", "-Tutf8", "-wall", "-rLL=200n", "-P-cbou", str(built)],
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=PATIENCE_S,
        check=True,
    )
    assert "" == typeset.stderr
    return typeset.stdout


def section(text: str, name: str) -> str:
    """What stands below a command's heading."""
    return re.split(
        r"^   commission .*$", text.split(f"\n   commission {name}\n", 1)[1], maxsplit=1, flags=re.MULTILINE
    )[0]


def test_typesetter_warns_of_nothing(built: Path) -> None:
    """With every warning on."""
    assert "COMMISSION(1)" in read(built)


@pytest.mark.parametrize("name", SUBCOMMANDS)
def test_every_option_is_in_the_manual(name: str, built: Path) -> None:
    """What the help of the command lists stands in the command's own section, and so does its example."""
    help_text = CliRunner().invoke(main, [*name.split(), "--help"]).output
    options = re.findall(r"^  (?:-\w, )?(--[a-z-]+)", help_text.partition("Options:")[2], re.MULTILINE)
    there = section(read(built), name)

    assert options
    assert [] == [option for option in options if not re.search(rf"{option}\b", there)]
    assert "Example" in there or name in ("book", "roster") or "Example" not in help_text


def test_words_codes_and_variables_are_in_the_manual(built: Path) -> None:
    """The tables of the tool, each whole; and every variable that the source names."""
    text = " ".join(read(built).split())
    named = {
        each for file in SOURCES.rglob("*.py") for each in re.findall(r"\"(COMMISSION_[A-Z]+)\"", file.read_text())
    }

    assert [] == [word for word, meaning in WORDS.items() if f"{word} {meaning}" not in text]
    assert [] == [code for code, meaning in MEANINGS.items() if f"{code} {meaning}" not in text]
    assert named == set(ENVIRONMENT) - {"NO_COLOR"}
    assert [] == [name for name in ENVIRONMENT if name not in text]


def test_what_is_typed_can_be_copied(built: Path) -> None:
    """Hyphens, quotes and accents of the keyboard stay those of the keyboard."""
    text = read(built)

    assert "commission wiring --sensor switch --wires 2 --contact NO" in text
    assert "commission note bench-3 'paused at 02:10, filament was there'" in text
    assert 'eval "$(commission completion bash)"' in text
