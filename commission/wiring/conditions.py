"""What can be wrong with an installation, as data.

The diagnosis weighs these conditions against what was read. Each is a change of the declared installation, a fault
of the hardware, or both (`variants`); what it reads follows from `behaviour` and is written down nowhere. What a
condition is called and how it is cured depends on what the sensor works by: a lever has no lens.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from typing import Any

from commission.wiring.installation import Installation, WorksBy
from commission.wiring.parts import PartsError
from commission.wiring.variants import MADE, Variant

DECLARED_PARTS = ("contact", "pull", "level")


@dataclass(frozen=True)
class Condition:
    """One thing that may be wrong with a sensor of one kind.

    Attributes:
        name: the word under which it is kept.
        title: what it is, for a person.
        prior: its weight before anything was tried; relative, above zero.
        cures: what to do about it, in the order of trying.
        denies: the parts of the declaration that are then wrong.
    """

    name: str
    title: str
    prior: float
    cures: tuple[str, ...]
    denies: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        if not (self.prior > 0 and self.title and self.cures):
            raise PartsError(
                f"conditions.toml, conditions.{self.name}: title, a prior above zero and cures are needed."
            )
        if not self.denies <= set(DECLARED_PARTS):
            raise PartsError(f"conditions.toml, conditions.{self.name}: denies is of {', '.join(DECLARED_PARTS)}.")


Conditions = Mapping[str, Mapping[WorksBy, Condition]]
"""By name, and by what the sensor works by; what is missing there cannot be wrong with such a sensor."""


def variant(installation: Installation, condition: str) -> Variant | None:
    """The installation under a condition, or nothing where the condition cannot be (a wire that is not there).

    Raises:
        PartsError: no condition has this name.
    """
    if condition not in MADE:
        raise PartsError(f"{condition!r} is no condition; known are {', '.join(MADE)}.")
    described = conditions()[condition].get(installation.works_by)
    if described is None or (made := MADE[condition](installation)) is None:
        return None
    return replace(made, denies=described.denies)


@cache
def conditions() -> Conditions:
    """Every condition, in the order of the file."""
    return read_conditions(files(__package__).joinpath("conditions.toml").read_text(encoding="utf-8"))


def conditions_of(installation: Installation) -> dict[Condition, Variant]:
    """Every condition that can be, with what it makes of this installation."""
    found = {name: variant(installation, name) for name in conditions()}
    return {conditions()[name][installation.works_by]: made for name, made in found.items() if made is not None}


def read_conditions(text: str) -> Conditions:
    """Read and check a file of conditions.

    Raises:
        PartsError: it is no TOML, has another format, or does not describe exactly the conditions that can be made.
    """
    try:
        data = tomllib.loads(text)
        if data.get("format") != 2:
            raise PartsError("conditions.toml must begin with format = 2; this release reads no other.")
        read = {name: _described(name, entry) for name, entry in data["conditions"].items()}
    except (tomllib.TOMLDecodeError, KeyError, TypeError, ValueError, AttributeError) as error:
        if isinstance(error, PartsError):
            raise
        raise PartsError(f"conditions.toml has a missing or impossible entry: {error}") from error
    spare = {key for entry in data["conditions"].values() for key in entry}
    if spare or set(read) != set(MADE):
        wrong = spare | (set(read) ^ set(MADE))
        raise PartsError(f"conditions.toml must describe what can be made, no more and no less: {sorted(wrong)}.")
    return read


def _described(name: str, entry: dict[str, Any]) -> dict[WorksBy, Condition]:
    """The condition for each sensor that is described; each key that is understood is taken out of the entry."""
    prior, denies = float(entry.pop("prior")), frozenset(entry.pop("denies", ()))
    if "title" in entry:
        same = Condition(name, entry.pop("title"), prior, tuple(entry.pop("cures")), denies)
        return dict.fromkeys(WorksBy, same)
    own = {works_by: entry.pop(works_by.value) for works_by in WorksBy if works_by.value in entry}
    return {
        works_by: Condition(name, text["title"], prior, tuple(text["cures"]), denies) for works_by, text in own.items()
    }
