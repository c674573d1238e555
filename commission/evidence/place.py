"""Where an entry stands among all that a book holds, as one number that can be compared.

A book of one chain has its entries' own numbers for it: 1, 2, 3. A book of several chains has an order over all of
them, and each place is made of three parts, the weightiest first: the turn (microseconds, by the clocks of the
benches), the entry's number in its chain, and the rank of the chain. What is printed is the number alone.
"""

NUMBER_BITS, RANK_BITS = 48, 16
BEHIND_EVERYTHING = 1 << 200
"""A place that no entry comes to."""
_ORDERED = 1 << 63
"""No chain is as long, and every place with a turn is beyond it."""


def ordered(turn: int, number: int, rank: int) -> int:
    """The place of an entry in a book of several chains; `turn` is 1 at least."""
    return (turn << NUMBER_BITS | number) << RANK_BITS | rank


def parts(place: int) -> tuple[int, int]:
    """Number and rank of an entry, from its place; the rank is 0 in a book of one chain."""
    if place < _ORDERED:
        return place, 0
    return (place >> RANK_BITS) & ((1 << NUMBER_BITS) - 1), place & ((1 << RANK_BITS) - 1)


def number_in_chain(place: int) -> int:
    """The number that an entry has in its own chain, as it is printed."""
    return parts(place)[0]


def rank_of(place: int) -> int:
    """The rank of the chain that the entry of that place stands in; entries of one chain have the same."""
    return parts(place)[1]
