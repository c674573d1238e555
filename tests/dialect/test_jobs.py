"""The card job; the wordings of a job under way are from memory."""

import pytest

from commission.dialect.answers import Answer
from commission.dialect.jobs import CARD, CardJob, CardState, card_of
from tests.dialect.feeding import read_texts


@pytest.mark.parametrize(
    ("line", "card"),
    [
        (b"Not SD printing", CardJob(CardState.IDLE)),
        (b"SD printing byte 2134/235422", CardJob(CardState.AT_WORK, 2134, 235422)),
        (b"echo:No SD card", CardJob(CardState.NO_CARD)),
        (b"No media", CardJob(CardState.NO_CARD)),
    ],
)
def test_the_card_is_read(line: bytes, card: CardJob) -> None:
    """A job from the card, none, or no card at all; the byte counts come with a job (from memory)."""
    assert card == read_texts(card_of, line + b"\nok\n")


def test_what_is_not_said_is_not_known() -> None:
    """A refused question says nothing of the card."""
    assert read_texts(card_of, b'echo:Unknown command: "M27"\nok\n') is None


@pytest.mark.parametrize(
    ("answer", "lines"),
    [
        (CARD.answer, ["Not SD printing", "ok"]),
        (CARD.answer, ["SD printing byte 1/20", "ok"]),
        (CARD.answer, ['echo:Unknown command: "M27"', "ok"]),
    ],
)
def test_the_answers_are_complete_with_their_line(answer: Answer, lines: list[str]) -> None:
    """An acknowledgement alone is no answer; with the line before it, or a refusal, it is."""
    assert answer.complete(lines)
    assert not answer.complete(["ok"])
