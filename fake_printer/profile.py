"""Profiles: a simulated unit read from a TOML file, by name from the shipped ones or by path."""

from pathlib import Path

from fake_printer.disturbance import BY_NAME
from fake_printer.firmware.settings import all_entries
from fake_printer.specs import Profile
from fake_printer.tables import TableError, merged, record_from
from fake_printer.toml_file import NotReadable, read_tables

__all__ = ["FORMAT", "Profile", "ProfileError", "load_profile", "profile_names"]

FORMAT = 1
_SHIPPED = Path(__file__).parent / "profiles"
# A unit described as "like" another may itself be the base of a third; longer chains hide what a unit is.
_LONGEST_CHAIN = 4


class ProfileError(Exception):
    """A profile cannot be used; the text names the file and the key, and says what to do."""


def profile_names() -> list[str]:
    """The shipped units, in alphabetical order."""
    return sorted(path.stem for path in _SHIPPED.glob("*.toml"))


def load_profile(name_or_path: str) -> Profile:
    """The unit of that name, or the one described in that file.

    Raises:
        ProfileError: no such unit, not readable, a newer format, an unknown key or a value out of range.
    """
    path = _find(name_or_path)
    table = _with_base(path, _LONGEST_CHAIN)
    table.pop("format")
    try:
        profile = record_from(Profile, {"name": path.stem, **table})
        _check_names(profile)
    except TableError as wrong:
        raise ProfileError(f"{path}: {wrong}. profiles/README.md lists the keys.") from wrong
    return profile


def _check_names(profile: Profile) -> None:
    """Refuse settings and disturbances that nobody knows: a slip in a fault scenario must not pass unnoticed."""
    letters = {entry.key: set(entry.default) for entry in all_entries()}
    for where, values in (("firmware.settings", profile.firmware.settings), ("stored.values", profile.stored.values)):
        for key, words in values.items():
            if key not in letters:
                raise TableError(f"unknown setting '{where}.{key}'; known: {', '.join(letters)}")
            if strangers := sorted(set(words) - letters[key]):
                raise TableError(f"'{where}.{key}' has no {strangers[0]}; it has: {', '.join(sorted(letters[key]))}")
    for name in profile.disturbances.names:
        if name not in BY_NAME:
            raise TableError(f"'disturbances.names' holds {name!r}; known: {', '.join(BY_NAME)}")


def _find(name_or_path: str) -> Path:
    if "/" in name_or_path or "\\" in name_or_path or name_or_path.endswith(".toml"):
        return Path(name_or_path)
    path = _SHIPPED / f"{name_or_path}.toml"
    if not path.is_file():
        raise ProfileError(f"There is no unit called '{name_or_path}'. Known units: {', '.join(profile_names())}.")
    return path


def _with_base(path: Path, steps_left: int) -> dict[str, object]:
    table = _read(path)
    base_name = table.pop("like", None)
    if base_name is None:
        return table
    if not isinstance(base_name, str):
        raise ProfileError(f"{path}: 'like' must name a shipped unit, for example like = \"sound\".")
    if steps_left == 0:
        raise ProfileError(f"{path}: too many units described as like another. Write the differences out in one file.")
    return merged(_with_base(_find(base_name), steps_left - 1), table)


def _read(path: Path) -> dict[str, object]:
    try:
        table = read_tables(path)
    except NotReadable as problem:
        raise ProfileError(str(problem)) from problem
    _check_format(path, table.get("format"))
    return table


def _check_format(path: Path, stated: object) -> None:
    if type(stated) is not int or stated < 1:
        raise ProfileError(f"{path}: 'format' is missing. The first line of a profile is: format = {FORMAT}")
    if stated > FORMAT:
        raise ProfileError(
            f"{path}: 'format' is {stated}, newer than {FORMAT}, the newest read here. "
            f"Update the simulated printer, or rewrite the profile in format {FORMAT}."
        )
