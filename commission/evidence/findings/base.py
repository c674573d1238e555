"""What every finding has in common."""

from typing import Any, ClassVar

import msgspec
from msgspec import Struct, structs

MOST_ODDS = 1e12
"""Odds above these are written as these: they can be without end, which is no number in JSON."""


class Finding(Struct, frozen=True, kw_only=True, tag_field="name"):
    """What was established: in words for a person, and as values for whoever computes with it.

    Each finding is a class of its own with its fixed name. Names of fields carry their unit. All of them are written,
    so that a default that is changed one day changes no finding of before.

    Attributes:
        sentences: the finding in words; empty where it only keeps values for a later phase.
    """

    title: ClassVar[str] = ""
    """Its heading in a report; empty for the name itself as a heading."""
    newest_stands: ClassVar[bool] = False
    """Whether it replaces what an earlier one of its kind said in the same run."""

    sentences: tuple[str, ...] = ()

    @classmethod
    def name(cls) -> str:
        """The name under which it stands in the book."""
        return str(cls.__struct_config__.tag)

    @classmethod
    def heading(cls) -> str:
        """What stands above it in a report, as in `Fail safe`."""
        return cls.title or cls.name().replace("_", " ").capitalize()

    @property
    def values(self) -> dict[str, Any]:
        """Its values by name, of JSON types, without sentences, earlier pictures, and what it does not tell."""
        every: dict[str, Any] = msgspec.json.decode(msgspec.json.encode(self))
        may_be_untold = {field.name for field in structs.fields(self) if not field.required}
        return {
            name: value
            for name, value in every.items()
            if name not in ("name", "sentences", "drawn_before") and not (name in may_be_untold and value in _NOTHING)
        }


_NOTHING: tuple[object, ...] = (None, "", [], {})


class Picture(Struct, frozen=True, kw_only=True):
    """A picture as an earlier version of the tool drew it and put it into the book; none is written any more."""

    svg: str = ""
    text: str = ""
    description: str = ""
