"""What the installations came to: means with their bounds, and the figures that must hold.

Bounds: a share by Clopper and Pearson, exact; a mean by the percentile bootstrap over installations, seeded (Efron and
Tibshirani, An Introduction to the Bootstrap, 1993, chapter 13).
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from statistics import fmean

from scripts.commissioning.bounds import lower, upper
from scripts.commissioning.chance import chance_of
from scripts.installs.ways import BORROWED, USUAL, WAYS, Way

RESAMPLES = 1000
TAIL = 0.025
SURE = 0.999
MOST_AGAIN = 0.01
"""Share of first builds after a borrowed socket that may need a second one, where the pull follows the build."""


@dataclass(frozen=True)
class Installed:
    """One installation on every way, by the way's name."""

    ways: Mapping[str, Way]


@dataclass
class Figure:
    """One thing that must hold; `state` is `held`, `OFF`, or `too few` where nothing was counted."""

    name: str
    said: str
    state: str

    @property
    def broken(self) -> bool:
        """Whether it keeps the campaign from ending well."""
        return self.state != "held"

    @property
    def line(self) -> str:
        """For print."""
        return f"{self.state:8} {self.name}: {self.said}"


@dataclass
class Mean:
    """A mean with its bounds at 95 %."""

    found: float
    low: float
    high: float
    tried: int
    spread: Counter[int] = field(default_factory=Counter)

    def __str__(self) -> str:
        """As it is printed."""
        return f"{self.found:.3f} ({self.low:.3f} to {self.high:.3f}, {self.tried})"


def mean(values: Sequence[float], seed: int) -> Mean:
    """The mean of these, bounded by resampling them; they must not be empty."""
    chance = chance_of(seed, "bootstrap", len(values))
    counts = Counter(values)
    kinds, weights = tuple(counts), tuple(counts.values())
    drawn = sorted(fmean(chance.choices(kinds, weights, k=len(values))) for _ in range(RESAMPLES))
    cut = round(TAIL * RESAMPLES)
    return Mean(fmean(values), drawn[cut], drawn[-cut - 1], len(values), Counter(map(round, values)))


def figures(done: Sequence[Installed], seed: int) -> list[Figure]:
    """Everything that must hold."""
    return [_all_right(done), _first_build(done), _saved(done, seed)]


def _all_right(done: Sequence[Installed]) -> Figure:
    wrong = sum(not way.right for each in done for way in each.ways.values())
    tried = sum(len(each.ways) for each in done)
    state = "too few" if not tried else "OFF" if wrong else "held"
    return Figure("an installation never comes right on some way", f"{wrong} of {tried}, none allowed", state)


def _first_build(done: Sequence[Installed]) -> Figure:
    chosen = [each.ways[BORROWED] for each in done if each.ways[BORROWED].pull_follows]
    again, tried = sum(way.builds > 1 for way in chosen), len(chosen)
    name = "borrowed socket, pull as the build asks: a second build is needed"
    if not tried:
        return Figure(name, "nothing was counted", "too few")
    bounds = f"{lower(again, tried, 1 - TAIL):.2%} to {upper(again, tried, 1 - TAIL):.2%}"
    state = "OFF" if lower(again, tried, SURE) > MOST_AGAIN or again > 2 * MOST_AGAIN * tried + 1 else "held"
    return Figure(name, f"{again} of {tried} ({bounds}), at most {MOST_AGAIN:.0%}", state)


def _saved(done: Sequence[Installed], seed: int) -> Figure:
    name = "builds saved by borrowing a socket, against building it as it comes"
    if not done:
        return Figure(name, "nothing was counted", "too few")
    saved = mean([each.ways[USUAL].builds - each.ways[BORROWED].builds for each in done], seed)
    return Figure(name, f"{saved} each, more than none", "held" if saved.low > 0 else "OFF")


def table(done: Sequence[Installed], seed: int) -> Iterator[str]:
    """Means of every way, for inputs whose pull follows the build and for the others."""
    yield f"{'builds until it is right (95 % bounds, installations)':52}{'pull as the build asks':30}pull that differs"
    for name in WAYS:
        cells = [_cell(done, name, seed, follows=follows) for follows in (True, False)]
        yield f"  {name:50}{cells[0]:30}{cells[1]}"
    yield ""
    yield f"{'of all installations':52}{'right at the first check':30}right but for unplugged, under a build"
    for name in WAYS:
        ways = [each.ways[name] for each in done]
        yield f"  {name:50}{_share([way.at_once for way in ways]):30}{_share([way.looked_right for way in ways])}"
    yield ""
    trials = fmean(each.ways[BORROWED].trials for each in done)
    yield f"the socket was borrowed {trials:.2f} times each; how the first build came about:"
    for why, count in Counter(each.ways[BORROWED].why for each in done).most_common():
        yield f"  {count:5} {why}"


def _cell(done: Sequence[Installed], name: str, seed: int, *, follows: bool) -> str:
    builds = [each.ways[name].builds for each in done if each.ways[name].pull_follows is follows]
    return str(mean(builds, seed)) if builds else "none"


def _share(those: Sequence[bool]) -> str:
    found, tried = sum(those), len(those)
    return f"{found / tried:.1%} ({lower(found, tried, 1 - TAIL):.1%} to {upper(found, tried, 1 - TAIL):.1%})"
