"""Several questions on one screen, answered together, and each answer given where its question comes.

The steps behind a sheet ask as they always do, one question at a time: one that the sheet has answered is not put to
the person again, and stands in the book like any other. So a script answers each question by its own key, a done phase
is worked out again from its answers, and a desk that has no sheets asks one by one.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import Enum
from typing import TypeVar

from commission.asking.question import Choose, Confirm, Enter

_T = TypeVar("_T")
Question = Confirm | Choose | Enter
Answer = bool | str
Answers = Mapping[str, Answer]


@dataclass(frozen=True)
class FormRow:
    """One question of a sheet.

    Attributes:
        label: what it is about, in a few words.
        usual: the answer that is taken as it stands there; None where one has to be given.
        empty: how an empty answer reads.
    """

    question: Question
    label: str
    usual: Answer | None = None
    empty: str = "not noted"


class Closing(Enum):
    """How a sheet is closed."""

    ENTER = "by Enter: nothing on it is an observation or a hazard"
    YES = "by a yes: what stands there is said to be so"
    FILLED = "once all is filled in: what comes of it is shown next, and can be answered again"


@dataclass(frozen=True)
class Form:
    """Questions shown together with their usual answers.

    Attributes:
        rows: the rows there are, by the answers given so far.
        asked: what a yes to the whole of it says; printed where it is closed by a yes.
        watch: name of the switch whose reading is kept on the screen meanwhile; empty for none.
        expand: the answers under the keys of the questions that they answer, where a row answers several.
    """

    key: str
    title: str
    rows: Callable[[Answers], tuple[FormRow, ...]]
    lines: tuple[str, ...] = ()
    closing: Closing = Closing.ENTER
    asked: str = ""
    watch: str = ""
    expand: Callable[[Answers], Answers] = lambda answers: answers


@dataclass(frozen=True)
class Known:
    """A question that is answered already, for the record; with `tells` what goes with it is still said."""

    question: Question
    answer: Answer
    tells: bool = False
