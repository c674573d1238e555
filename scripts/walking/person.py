"""Who walks: reads what is on the screen, does with the hands what it says, and types an answer.

Nothing is known here of requests and their keys: an answer is found by the words on the screen, as a person finds it.
How long everything takes is stated, not measured; so are the minutes of a walk.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

READS_WORDS_PER_S = 4.0
"""Of English text read in silence, common practice, no source."""
LOOKS_S = 0.5
"""So long a question, and a deed, last for the printer too; the rest is counted alone, and brings readings only."""
KEYS_PER_S = 3.0
DECIDES_S = 1.0
"""From the last word of a question to the first key."""
REACTS_S = 0.9
"""From a large word on the screen to the hand's movement."""
HANDS_S: Mapping[str, float] = {
    "insert": 2.0,
    "withdraw": 2.0,
    "shake": 0.0,
    "mains": 5.0,
    "usb": 5.0,
    "plug": 20.0,
    "unplug": 20.0,
    "lay": 20.0,
    "take-away": 10.0,
    "press": 2.0,
    "release": 2.0,
}
"""How long the hands need for a deed, by its first word."""


class NotUnderstood(Exception):
    """The screen asks something this person has no answer to; the text is the screen."""


@dataclass(frozen=True)
class Habit:
    """What this person does where these words are read.

    Attributes:
        words: on the screen, in any case.
        typed: the answer; None where only the hands are wanted.
        hands: deeds at the bench, one after the other.
        takes_s: besides, for looking, measuring and thinking.
    """

    words: str
    typed: str | None = None
    hands: tuple[str, ...] = ()
    takes_s: float = 0.0


@dataclass(frozen=True)
class Deed:
    """Something done at a moment: with the hands, or by typing a line.

    Attributes:
        at_s: when, in seconds from the start of the walk.
        hands: the deed; empty where a line is typed.
        typed: that line, without its end.
    """

    at_s: float
    hands: str = ""
    typed: str = ""


@dataclass(frozen=True)
class Answer:
    """What a question has this person do.

    Attributes:
        deeds: in their order; the last one types.
        reads_s: so long is read, and works_s: so long is worked and typed, while the printer's time stands still.
    """

    deeds: list[Deed]
    reads_s: float
    works_s: float


@dataclass(frozen=True)
class Person:
    """One who has these habits; the first one that fits is followed."""

    habits: Sequence[Habit]

    def answers(self, text: str, unread: str, now_s: float) -> Answer:
        """What is done until the question at the end of this text is answered; the end of it is still to be read.

        Raises:
            NotUnderstood: there is no answer to it.
        """
        habit = self._first(text, typing=True)
        if habit is None or habit.typed is None:
            raise NotUnderstood(text)
        reads_s = len(unread.split()) / READS_WORDS_PER_S
        types_s = DECIDES_S + (len(habit.typed) + 1) / KEYS_PER_S
        deeds, done_s = _with_hands(habit, now_s + LOOKS_S)
        works_s = habit.takes_s + types_s + sum(HANDS_S.get(_verb(words), 0.0) for words in habit.hands)
        return Answer([*deeds, Deed(done_s, typed=habit.typed)], reads_s, max(0.0, works_s - (done_s - now_s)))

    def reacts(self, text: str, now_s: float) -> list[Deed]:
        """What the hands do when this text comes up; nothing where it wants nothing of them."""
        habit = self._first(text, typing=False)
        return [] if habit is None else _with_hands(habit, now_s + REACTS_S + habit.takes_s)[0]

    def _first(self, text: str, *, typing: bool) -> Habit | None:
        read = text.casefold()
        return next(
            (each for each in self.habits if (each.typed is not None) is typing and each.words.casefold() in read), None
        )


def _with_hands(habit: Habit, at_s: float) -> tuple[list[Deed], float]:
    """The deeds of a habit from that moment on, and when they are done."""
    deeds = [Deed(at_s + LOOKS_S * place, hands=words) for place, words in enumerate(habit.hands)]
    return deeds, at_s + LOOKS_S * len(deeds)


def _verb(words: str) -> str:
    return words.split(maxsplit=1)[0]
