"""Where an entry stands among all that a book of one or several chains holds."""

from hypothesis import given
from hypothesis import strategies as st

from commission.evidence.place import BEHIND_EVERYTHING, number_in_chain, ordered, parts, rank_of

TURNS = st.integers(1, 2**60)
"""Microseconds; 2 ** 60 of them are thirty-six thousand years."""
NUMBERS = st.integers(1, 2**48 - 1)
RANKS = st.integers(0, 2**16 - 1)
PLACES = st.tuples(TURNS, NUMBERS, RANKS)


@given(PLACES, PLACES)
def test_places_are_in_the_order_of_turn_number_rank(one: tuple[int, int, int], other: tuple[int, int, int]) -> None:
    """As Python orders the three of them, and all before what is behind everything."""
    assert (one < other) == (ordered(*one) < ordered(*other))
    assert ordered(*one) < BEHIND_EVERYTHING


@given(PLACES)
def test_a_place_gives_back_number_and_rank(place: tuple[int, int, int]) -> None:
    """What is printed is the number alone."""
    turn, number, rank = place
    found = ordered(turn, number, rank)

    assert (number, rank) == parts(found) == (number_in_chain(found), rank_of(found))


@given(NUMBERS)
def test_a_book_of_one_chain_has_the_numbers_themselves(number: int) -> None:
    """Its places are 1, 2, 3, of rank 0."""
    assert (number, 0) == parts(number)
