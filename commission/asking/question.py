"""What a person may be asked: yes or no, one of a list, a value; one by one or as the rows of a sheet."""

from dataclasses import dataclass
from enum import Enum

from commission.asking.message import Weight


@dataclass(frozen=True)
class Confirm:
    """A question answered by yes or no.

    Attributes:
        key: names the request for a scripted operator, as in `loop_check.ready`.
        watch: name of the switch whose reading is kept on the screen while the question is open; empty for none.
        afresh: something came up that no sheet could know: whatever stood on one, it is asked.
    """

    key: str
    question: str
    lines: tuple[str, ...] = ()
    watch: str = ""
    weight: Weight = Weight.STEP
    afresh: bool = False


@dataclass(frozen=True)
class Option:
    """One answer of a choice."""

    key: str
    label: str
    meaning: str = ""


@dataclass(frozen=True)
class Choose:
    """A question with a fixed list of answers.

    Attributes:
        usual: key of the option that Enter alone takes; empty for none, as for a hazard or what was seen.
        several: whether all that fit are named in one answer, their keys with commas between.
        alone: keys of the options that go with no other one, as `none`.
    """

    key: str
    question: str
    options: tuple[Option, ...]
    lines: tuple[str, ...] = ()
    watch: str = ""
    usual: str = ""
    several: bool = False
    alone: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        keys = [option.key for option in self.options]
        if len(keys) < 2 or len(set(keys)) != len(keys):
            raise ValueError(f"The choice {self.key} needs at least two options with keys of their own")
        if self.usual and self.usual not in keys:
            raise ValueError(f"The usual answer of the choice {self.key} is one of its options")
        if not self.alone <= set(keys) or (self.several and any("," in key for key in keys)):
            raise ValueError(f"The choice {self.key} needs keys without commas, and those that go alone among them")

    def takes(self, answer: object) -> bool:
        """Whether this is an answer to it: the key of an option, or of several that go together."""
        if not isinstance(answer, str):
            return False
        picks = answer.split(",") if self.several else [answer]
        once = len(picks) == len(set(picks)) and set(picks) <= {option.key for option in self.options}
        return once and (len(picks) == 1 or self.alone.isdisjoint(picks))


class EntryKind(Enum):
    """What may be typed."""

    TEXT = "text"
    NUMBER = "number"


@dataclass(frozen=True)
class Enter:
    """A value typed by the operator.

    Attributes:
        unit: printed behind the question; empty for a text.
        least, most: bounds of a number, in that unit; None for no bound.
        optional: whether an empty answer is allowed.
    """

    key: str
    question: str
    kind: EntryKind = EntryKind.TEXT
    unit: str = ""
    least: float | None = None
    most: float | None = None
    optional: bool = False
    lines: tuple[str, ...] = ()
