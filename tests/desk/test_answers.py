"""What counts as an answer."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.asking.request import Choose, Enter, EntryKind, Option
from commission.desk.answers import TEXT_LIMIT, NotAnAnswer, chosen, chosen_by_key, entered, yes_or_no
from commission.desk.wording import options
from tests.desk.requests import LENGTH, REMARK, ROUTE


@pytest.mark.parametrize("typed", ["y", "Y", "yes", " YES "])
def test_yes(typed: str) -> None:
    """A yes may be short, long, and in any case."""
    assert yes_or_no(typed)


@pytest.mark.parametrize("typed", ["n", "No", " no"])
def test_no(typed: str) -> None:
    """So may a no."""
    assert not yes_or_no(typed)


@pytest.mark.parametrize("typed", ["", " ", "yess", "ye", "1", "true", "y n"])
def test_neither(typed: str) -> None:
    """Anything else is neither, an empty line included."""
    with pytest.raises(NotAnAnswer, match="Type y for yes or n for no"):
        yes_or_no(typed)


@pytest.mark.parametrize(("typed", "key"), [("1", "NO"), ("2", "NC"), ("nc", "NC"), (" NO ", "NO")])
def test_choice(typed: str, key: str) -> None:
    """An option is chosen by its number or its key."""
    assert key == chosen(ROUTE, typed)


@pytest.mark.parametrize("typed", ["", "0", "3", "normally open", "N"])
def test_no_such_choice(typed: str) -> None:
    """What names no option is refused with what does."""
    with pytest.raises(NotAnAnswer, match="Type one of 1, 2, then Enter"):
        chosen(ROUTE, typed)


def test_a_menu_is_numbered_from_one() -> None:
    """A person types the number on the screen, whatever the keys are; a script's word is the key first."""
    speeds = Choose("port.speed", "Which speed?", (Option("3", "3 wires"), Option("2", "2 wires"), Option("1", "one")))

    assert ["1.", "2.", "3."] == [number for number, _ in options(speeds)]
    assert "3" == chosen(speeds, "1")
    assert "1" == chosen_by_key(speeds, "1")
    with pytest.raises(NotAnAnswer, match="Type one of 1, 2, 3"):
        chosen(speeds, "4")


def test_enter_takes_only_a_usual_answer() -> None:
    """Enter alone chooses the option that is marked as usual, and is no answer where none is."""
    with pytest.raises(NotAnAnswer):
        chosen(ROUTE, "")
    usual = replace(ROUTE, usual=ROUTE.options[1].key)

    assert ROUTE.options[1].key == chosen(usual, "")
    assert [" (Enter)" in text for _, text in options(usual)] == [False, True, *[False] * (len(ROUTE.options) - 2)]


ON_IT = Choose(
    "claims.also",
    "What else may be on it?",
    (Option("none", "nothing"), Option("buzzer", "a buzzer"), Option("lamp", "a lamp"), Option("unknown", "not known")),
    several=True,
    alone=frozenset({"none"}),
)


@pytest.mark.parametrize(
    ("typed", "keys"),
    [
        ("2", "buzzer"),
        ("2,3", "buzzer,lamp"),
        ("3 2", "lamp,buzzer"),
        ("Lamp; 4", "lamp,unknown"),
        ("2,2,", "buzzer"),
        ("none", "none"),
    ],
)
def test_all_that_fit_are_named_in_one_answer(typed: str, keys: str) -> None:
    """Numbers and words, with commas or blanks between; one named twice counts once. A script's answer reads alike."""
    assert keys == chosen(ON_IT, typed)
    assert keys == chosen_by_key(ON_IT, keys)
    assert ON_IT.takes(keys)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("1,2", "1 goes with no other answer"),
        ("2,9", "Type all that fit of 1, 2, 3, 4, with commas"),
        ("", "Type all that fit of 1, 2, 3, 4, with commas"),
        (",", "Type all that fit of 1, 2, 3, 4, with commas"),
    ],
)
def test_a_list_that_cannot_be_is_asked_again(typed: str, said: str) -> None:
    """Nothing and something at once, a number that is none, or nothing at all is no answer."""
    with pytest.raises(NotAnAnswer, match=said):
        chosen(ON_IT, typed)


@pytest.mark.parametrize("answer", ["none,lamp", "lamp,lamp", "lamp,", "", "trumpet", True, None])
def test_a_record_with_another_list_is_no_answer(answer: object) -> None:
    """What the book holds is taken only where it could have been given."""
    assert not ON_IT.takes(answer)
    assert not ROUTE.takes(answer)


@pytest.mark.parametrize("typed", ["nan", "NaN", "inf", "-inf", "infinity", "1e5", "1" + 400 * "0", "0x10", "1 2"])
def test_what_is_no_measurement_is_refused(typed: str) -> None:
    """Not a number, without end, in another notation or beyond computing: asked again, wherever a number is typed."""
    unbounded = Enter("any.number", "How much?", EntryKind.NUMBER, "mm")

    for request in (LENGTH, unbounded):
        with pytest.raises(NotAnAnswer):
            entered(request, typed)


@pytest.mark.parametrize(
    ("typed", "text"),
    [("0", "0"), ("2000", "2000"), ("12.5", "12.5"), ("12,5", "12.5"), (" 7 ", "7"), (".5", ".5"), ("+3.", "+3.")],
)
def test_numbers(typed: str, text: str) -> None:
    """A number within its bounds is returned with a decimal point, digits as typed."""
    assert text == entered(LENGTH, typed)


@pytest.mark.parametrize(
    ("typed", "complaint"),
    [
        ("", "Something must be entered here."),
        ("-0.1", "It must be at least 0 mm; -0.1 is too small."),
        ("2000.1", "It must be at most 2000 mm; 2000.1 is too large."),
        ("twelve", "A number is needed, such as 12.5 (in mm)."),
        ("1e3", "A number is needed"),
        ("1_000", "A number is needed"),
        ("1.000,5", "A number is needed"),
        ("inf", "A number is needed"),
        ("nan", "A number is needed"),
        ("١٢", "A number is needed"),
        ("9" * 199 + ".", "It must be at most 2000 mm"),
        ("9" * 201, "That is 201 characters; at most 200 fit."),
    ],
)
def test_no_number(typed: str, complaint: str) -> None:
    """What is no number or out of bounds is refused with what would do."""
    with pytest.raises(NotAnAnswer) as caught:
        entered(LENGTH, typed)

    assert str(caught.value).startswith(complaint)


def test_bound_on_one_side() -> None:
    """A number may be bounded on one side only."""
    share = Enter("plan.share", "Share", EntryKind.NUMBER, least=0.5)

    assert "1000000" == entered(share, "1000000")
    with pytest.raises(NotAnAnswer, match=r"It must be at least 0\.5; 0\.4 is too small"):
        entered(share, "0.4")


def test_optional() -> None:
    """An empty answer is one where it is allowed."""
    assert "" == entered(Enter("sign_off.remark", "Remark", optional=True), "  ")


def test_text_becomes_one_printable_line() -> None:
    """Line ends become spaces, and what cannot be printed is spelled out."""
    assert r"it slipped \x1b[2J twice" == entered(REMARK, " it\nslipped \x1b[2J\r\ttwice ")


@settings(deadline=None, max_examples=100)
@given(st.text())
def test_any_text(typed: str) -> None:
    """Whatever is typed is one printable line within the limit, or refused."""
    try:
        text = entered(REMARK, typed)
    except NotAnAnswer:
        return

    assert text.isprintable()
    assert 0 < len(text) <= TEXT_LIMIT
