"""Where entries lie in the file, at which place they are read, and what their runs are called."""

import pytest

from commission.evidence.place import ordered
from commission.records.bench_clock import BenchClock, Offset
from commission.records.numbering import CHAIN_BITS, Numbering, extent, lies_at, split

ORIGINS = {0: "b" * 64, 3: "a" * 64}
"""The chain that was begun in this file comes behind the other one, where both say the same time."""
TEN, ELEVEN = 1_930_903_200_000_000, 1_930_906_800_000_000
"""Ten and eleven o'clock of that day, in microseconds (GNU `date -u -d '2031-03-10 10:00' +%s`)."""
RUN = "bench-3/2031-03-14/1"


def at(hour: int) -> str:
    """That hour of 10 March 2031."""
    return f"2031-03-10T{hour}:00:00+00:00"


@pytest.mark.parametrize(
    ("lies", "chain", "number"),
    [(-3, 0, -3), (0, 0, 0), (1, 0, 1), (77, 0, 77), ((1 << 40) - 1, 0, (1 << 40) - 1), ((2 << 40) + 5, 2, 5)],
)
def test_a_place_in_the_file_is_chain_and_number(lies: int, chain: int, number: int) -> None:
    """What lies below 1 was written by nobody, and belongs to no chain but the first."""
    assert (chain, number) == split(lies)
    if lies > 0:
        assert lies == lies_at(chain, number)
        assert extent(chain)[0] <= lies <= extent(chain)[1] < extent(chain + 1)[0]


def test_one_chain_is_its_own_order() -> None:
    """Places are the numbers of the entries; a file whose only chain lies behind an empty one is none such."""
    for numbering in (Numbering(), Numbering({0: "a" * 64})):
        assert numbering.single
        assert [0] == numbering.chains
        assert (5, 5) == (numbering.place(5), numbering.lies(5))
    for origins in ({1: "a" * 64}, ORIGINS):
        assert not Numbering(origins).single
    assert [0, 3] == Numbering({3: "a" * 64, 0: "b" * 64}).chains


def test_chains_are_ordered_by_turn_number_and_origin() -> None:
    """First by the time of the turn, then by the number in the chain, then by the chain's first digest."""
    numbering = Numbering(ORIGINS)
    assert (0, 0) == (numbering.last_turn(0), numbering.last_turn(3))
    numbering.take(0, [(2, at(10)), (4, at(11))])
    numbering.take(3, [(1, at(11))])

    told = [(0, 1, 1, 1), (0, 2, TEN, 1), (0, 3, TEN, 1), (0, 4, ELEVEN, 1), (3, 1, ELEVEN, 0), (3, 9, ELEVEN, 0)]
    for chain, number, turn, rank in told:
        place = numbering.place(lies_at(chain, number))
        assert ordered(turn, number, rank) == place
        assert lies_at(chain, number) == numbering.lies(place)
    assert (4, 1) == (numbering.last_turn(0), numbering.last_turn(3))


def test_an_entry_of_an_unknown_chain_has_a_place() -> None:
    """Another process joined it since: it comes first, before any turn, until the chains are read anew."""
    numbering = Numbering(ORIGINS)

    assert ordered(1, 8, 0) == numbering.place(lies_at(5, 8))


def test_only_a_number_of_two_chains_gets_a_name() -> None:
    """Such a run is called by the first digits of its chain too, and found again by that name."""
    numbering = Numbering(ORIGINS, twice=[RUN])
    names = [numbering.name(lies_at(chain, 1), RUN) for chain in (0, 3, 4)]

    assert [f"{RUN}@bbbbbbbb", f"{RUN}@aaaaaaaa", RUN] == names
    assert [RUN] * 3 == [numbering.plain(name) for name in names]
    assert ("another", "another") == (numbering.name(lies_at(0, 1), "another"), numbering.plain("another"))
    assert RUN == Numbering(ORIGINS).name(1, RUN)


def numbered(clocks: dict[str, BenchClock] | None) -> Numbering:
    """Two chains with a turn each: the first says ten o'clock, the other one eleven."""
    numbering = Numbering(ORIGINS, clocks=clocks)
    numbering.take(0, [(1, at(10))])
    numbering.take(3, [(1, at(11))])
    return numbering


def test_what_may_be_later_goes_by_the_clocks() -> None:
    """Without corrected times it is the order of places; with them, a clock that is not known leaves it in doubt."""
    right, ahead = BenchClock([Offset(TEN, 0, 0)]), BenchClock([Offset(TEN, 2 * (ELEVEN - TEN), 0)])
    told = {
        "not corrected": (None, False, True),
        "both right": ({ORIGINS[0]: right, ORIGINS[3]: right}, False, True),
        "the later one was ahead": ({ORIGINS[0]: right, ORIGINS[3]: ahead}, True, False),
        "one is not known": ({ORIGINS[0]: right}, True, True),
        "none is known": ({}, True, True),
    }
    for case, (clocks, first_later, second_later) in told.items():
        numbering = numbered(clocks)
        first, second = (numbering.place(lies_at(chain, 1)) for chain in ORIGINS)
        said = numbering.may_be_later(first, second), numbering.may_be_later(second, first)
        assert (case, first_later, second_later) == (case, *said)
        later = numbering.place(lies_at(0, 2))
        alike = [numbering.may_be_later(*pair) for pair in ((first, first), (first, later), (later, first))]
        assert (case, [False, False, True]) == (case, alike)


def test_a_corrected_clock_orders_the_chains() -> None:
    """A bench whose clock ran two hours ahead wrote before the other one, whatever it said."""
    ahead = BenchClock([Offset(TEN, 2 * (ELEVEN - TEN), 0)])
    numbering = numbered({ORIGINS[3]: ahead})

    assert ordered(2 * TEN - ELEVEN, 1, 0) == numbering.place(lies_at(3, 1)) < numbering.place(lies_at(0, 1))
    assert 1 << CHAIN_BITS == lies_at(1, 0)
