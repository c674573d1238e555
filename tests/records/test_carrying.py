"""Chains carried between two holders: both end with the longer part of each, and nothing altered travels.

The holders are dictionaries in memory, so that thousands of cases take a moment; that books and a real database hold
chains as they should is shown with them elsewhere.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.records.carrying import Carried, End, carry
from commission.records.chain import Row, link_row
from commission.records.joining import ForkError

AT = "2031-03-14T09:00:00+00:00"
STRETCH = 3


def grown(rows: Sequence[Row], count: int, word: str = "") -> list[Row]:
    """The chain with so many entries more, which carry this word."""
    chain = list(rows)
    for _ in range(count):
        last = chain[-1] if chain else None
        chain.append(link_row(last, run="bench-3", kind="told", at=AT, elapsed_us=0, payload=f'{{"word":"{word}"}}'))
    return chain


class FakeHolder:
    """Holds chains in memory, each by its origin, and hands them out three entries at a time.

    It is told to refuse by `full`: from that entry on it has the chain otherwise.
    """

    def __init__(self, *chains: Sequence[Row], full: int = 0) -> None:
        self.chains = {chain[0].digest: list(chain) for chain in chains if chain}
        self.full = full

    def ends(self) -> Mapping[str, End]:
        """The newest entry of each."""
        return {origin: End(len(chain), chain[-1].digest) for origin, chain in self.chains.items()}

    def digest_of(self, origin: str, number: int) -> str | None:
        """The digest of one entry."""
        chain = self.chains.get(origin, [])
        return chain[number - 1].digest if 0 < number <= len(chain) else None

    def behind(self, origin: str, number: int) -> Iterator[Sequence[Row]]:
        """What is behind it."""
        chain = self.chains.get(origin, [])
        for start in range(number, len(chain), STRETCH):
            yield chain[start : start + STRETCH]

    def take(self, origin: str, rows: Sequence[Row]) -> int:
        """Take all of it."""
        if self.full and rows[-1].sequence >= self.full:
            raise ForkError("It has that chain otherwise.")
        self.chains.setdefault(origin, []).extend(rows)
        return len(rows)


LENGTHS = st.lists(st.tuples(st.integers(0, 9), st.integers(0, 9)), max_size=4)


@given(LENGTHS, st.booleans())
def test_both_end_with_the_longer_copy(lengths: list[tuple[int, int]], gives: bool) -> None:
    """Every chain, whichever has more of it, or only from there to here; once more carries nothing."""
    chains = [grown([], max(pair), f"bench {place}") for place, pair in enumerate(lengths)]
    here = FakeHolder(*(chain[:mine] for chain, (mine, _) in zip(chains, lengths, strict=True)))
    there = FakeHolder(*(chain[:theirs] for chain, (_, theirs) in zip(chains, lengths, strict=True)))
    done = {each.origin: each for each in carry(here, there, gives=gives)}

    for chain, (mine, theirs) in zip(chains, lengths, strict=True):
        if not chain:
            continue
        origin, own = chain[0].digest, FakeHolder(chain).ends()
        has = {"here": here.ends().get(origin), "there": there.ends().get(origin)}
        assert own[origin] == has["here"]
        assert gives is False or own[origin] == has["there"]
        if theirs or gives:
            told = (max(0, mine - theirs) if gives else 0, max(0, theirs - mine))
            assert (max(mine, theirs), *told, "") == (
                done[origin].entries,
                done[origin].given,
                done[origin].got,
                done[origin].refused,
            )
    assert all(not each.given and not each.got and not each.refused for each in carry(here, there, gives=gives))


@pytest.mark.parametrize("common", [1, 2, 3, 7, 8])
@pytest.mark.parametrize(("mine", "theirs"), [(1, 1), (1, 6), (6, 1), (5, 6)])
def test_a_fork_is_named_by_its_first_entry(common: int, mine: int, theirs: int) -> None:
    """Two copies that went on by themselves stay as they are; another chain is carried all the same."""
    root, other = grown([], common), grown([], 4, "other")
    here, there = FakeHolder(grown(root, mine, "here")), FakeHolder(grown(root, theirs, "there"), other)
    before = there.ends()[root[0].digest], here.ends()[root[0].digest]
    done = {each.origin: each for each in carry(here, there)}
    forked = done[root[0].digest]

    assert f"goes on in two ways from entry {common + 1} on:" in forked.refused
    assert (0, 0) == (forked.given, forked.got)
    assert before == (there.ends()[root[0].digest], here.ends()[root[0].digest])
    assert 4 == done[other[0].digest].got


@pytest.mark.parametrize("at", range(1, 9))
def test_an_altered_entry_does_not_travel(at: int) -> None:
    """What stands before its stretch is carried, and the place is told."""
    chain = grown([], 8)
    chain[at - 1] = replace(chain[at - 1], payload='{"word":"better"}')
    here, there = FakeHolder(chain), FakeHolder()
    (done,) = carry(here, there)
    carried = (at - 1) // STRETCH * STRETCH

    assert carried == done.given == sum(map(len, there.chains.values()))
    assert done.refused.startswith("it is not as it was written (")
    assert done.refused.endswith(f" It was carried up to entry {carried}.")


def test_a_damaged_entry_is_named() -> None:
    """Its digest may be right: what is packed of it cannot be read."""
    chain = grown([], 5)
    chain[4] = replace(chain[4], damage="its bytes are cut")
    (done,) = carry(FakeHolder(), FakeHolder(chain))

    assert (3, 0) == (done.got, done.given)
    assert "it is not as it was written (entry 5: its bytes are cut). It was carried up to entry 3." == done.refused


def test_a_broken_chain_is_named_before_damage() -> None:
    """What stands first in the chain is told, whether or not an entry of the stretch can be unpacked."""
    chain = grown([], 3)
    chain[0] = replace(chain[0], at="")
    chain[2] = replace(chain[2], damage="its bytes are cut")
    (done,) = carry(FakeHolder(), FakeHolder(chain))

    assert done.refused.startswith("it is not as it was written (entry 1 (told) was altered after it was written)")


def test_a_holder_that_refuses_keeps_what_it_took() -> None:
    """Somebody else wrote there meanwhile: the stretch is refused, and what came before it stays."""
    chain = grown([], 8)
    there = FakeHolder(full=6)
    (done,) = carry(FakeHolder(chain), there)

    assert (3, "It has that chain otherwise.") == (done.given, done.refused)


def test_each_chain_is_told_in_a_sentence() -> None:
    """By the first eight digits of its origin."""
    origin = "0123456789" + 54 * "0"

    assert "Chain 01234567: 12 entries, 0 of them new there, 0 here." == Carried(origin, 12).sentence
    assert "Chain 01234567: 12 entries, 3 of them new there, 0 here." == Carried(origin, 12, given=3).sentence
    assert "Chain 01234567 was not carried over: it forks." == Carried(origin, 12, refused="it forks.").sentence
