"""Profiles: what is read, and what is refused with advice."""

import dataclasses
import re
from pathlib import Path

import pytest

from fake_printer.profile import ProfileError, load_profile, profile_names
from fake_printer.specs import Profile

README = Path(__file__).parents[2] / "fake_printer" / "profiles" / "README.md"


def written(folder: Path, text: str) -> str:
    """A profile file with this text."""
    path = folder / "mine.toml"
    path.write_text(text, encoding="utf-8")
    return str(path)


@pytest.mark.parametrize("name", profile_names())
def test_a_made_up_version_is_nobodys(name: str) -> None:
    """Its first number is 100 or more, which no firmware has reached; a build named by a word has none."""
    version = load_profile(name).firmware.version
    first = re.match(r"v?(\d+)\.", version)

    assert int(first[1]) >= 100 if first else version.startswith("edge-")


def test_own_file_is_laid_over_a_shipped_unit(tmp_path: Path) -> None:
    """A file that is like a shipped unit takes everything from it but what it states."""
    text = 'format = 1\nlike = "sound"\nsummary = "s"\nfinding = "f"\n[board.input]\npull = "none"\n'
    profile = load_profile(written(tmp_path, text))

    assert profile.board.input.pull == "none"
    assert profile.firmware == load_profile("sound").firmware
    assert profile.name == "mine"


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        ("", "'format' is missing"),
        ('format = "1"', "'format' is missing"),
        ("format = 2", "newer than 1"),
        ("format = 1\nsummary", "not valid TOML"),
        (f"format = 1\nseed = {'7' * 5000}", "mine.toml: is not readable at line 2 (Exceeds the limit"),
        ("format = 1\nx = " + "[" * 5000, "mine.toml: is not readable (maximum recursion depth"),
        ('format = 1\nsummary = "s"\nfinding = "f"\ncolour = 1', "unknown key 'colour'"),
        ('format = 1\nsummary = "s"\nfinding = "f"\n[plant.lever]\nstick = 1', "unknown key 'plant.lever.stick'"),
        ('format = 1\nsummary = "s"\nfinding = "f"\n[board.input]\npull = "sideways"', "one of up, down, none"),
        ('format = 1\nsummary = "s"\nfinding = "f"\n[wire]\nspeed_baud = "fast"', "must be of type int"),
        ('format = 1\nsummary = "s"\nfinding = "f"\n[wire]\nreset_on_open = 1', "must be of type bool"),
        ('format = 1\nsummary = "s"\nfinding = "f"\n[wire]\nloss_per_byte = 2', "a probability"),
        ('format = 1\nsummary = "s"\nfinding = "f"\nplant = 3', "'plant' must be a table"),
        ('format = 1\nsummary = "s"\nfinding = "f"\n[plant]\ncontacts = 3', "must be a list"),
        (
            'format = 1\nsummary = "s"\nfinding = "f"\n[[plant.contacts]]\nbetween = ["signal", "signal"]',
            "two different terminals",
        ),
        ('format = 1\nsummary = "s"\nfinding = "f"\n[firmware.settings.M9999]\nX = 1', "M9999"),
        ('format = 1\nsummary = "s"\nfinding = "f"\n[disturbances]\nnames = ["rain"]', "rain"),
        ('format = 1\nfinding = "f"', "missing key 'summary'"),
        ('format = 1\nlike = "nothing-such"', "no unit called 'nothing-such'"),
        ("format = 1\nlike = 7", "'like' must name"),
    ],
)
def test_wrong_file_is_refused_by_key(tmp_path: Path, text: str, complaint: str) -> None:
    """A file that does not fit is refused with its name, the key and what is expected."""
    path = written(tmp_path, text)
    with pytest.raises(ProfileError, match=re.escape(complaint)):
        load_profile(path)


def test_chain_of_units_is_bounded(tmp_path: Path) -> None:
    """A unit that is like itself is refused instead of read for ever."""
    path = tmp_path / "mine.toml"
    path.write_text(f'format = 1\nlike = "{path.as_posix()}"\n', encoding="utf-8")
    with pytest.raises(ProfileError, match="too many units"):
        load_profile(str(path))


def test_missing_file_says_so(tmp_path: Path) -> None:
    """A path that leads nowhere is refused with the reason."""
    with pytest.raises(ProfileError, match="cannot be read"):
        load_profile(str(tmp_path / "nothing.toml"))


def test_unknown_unit_lists_the_known() -> None:
    """An unknown name is answered with the names there are."""
    with pytest.raises(ProfileError, match=", ".join(profile_names())):
        load_profile("sounds")


def keys_of(record: type) -> set[str]:
    """Every key of a record and of the records in it."""
    keys = set()
    for item in dataclasses.fields(record):
        keys.add(item.name)
        for part in (item.default, item.default_factory):
            inner = part[0] if isinstance(part, tuple) and part else part
            kind = inner if isinstance(inner, type) else type(inner)
            if dataclasses.is_dataclass(kind):
                keys |= keys_of(kind)
    return keys


def test_readme_explains_every_key() -> None:
    """Every key a profile may hold stands in profiles/README.md."""
    text = README.read_text(encoding="utf-8")
    missing = sorted(key for key in keys_of(Profile) - {"name"} if f"`{key}`" not in text)

    assert [] == missing
