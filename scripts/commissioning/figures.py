"""What must come of it: one table of limits, and the check of what was counted against it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import Enum

from scripts.commissioning.bounds import lower, upper

CONFIDENCE = 0.95
SURE = 0.999
"""A share is above its limit by more than chance when its exact lower bound at this confidence is."""


class Claim(Enum):
    """What is claimed of a kind of commissioning."""

    SOUND = "sound units without noise or slips are failed"
    UNSAFE = "fail-danger units and unheld inputs pass"
    WRONG = "units that read wrong pass"
    STICKS = "a lever that sticks in 10 % of its movements passes"
    SLIPS_1 = "sound units are failed, slips of 1 % at every prompt"
    SLIPS_2 = "sound units are failed, slips of 2 % at every prompt"
    SLIPS_3 = "sound units are failed, slips of 3 % at every prompt"
    IN_OUT_1 = "sound units are failed, slips of 1 % at in and out prompts"
    IN_OUT_2 = "sound units are failed, slips of 2 % at in and out prompts"
    IN_OUT_3 = "sound units are failed, slips of 3 % at in and out prompts"
    TRICK = "a trick passes more often than honest work"
    REPAIR = "a false repair is signed for"
    SHOWN = "shown only"


@dataclass(frozen=True)
class Limit:
    """A limit on a share.

    Attributes:
        verdict: what is counted, `pass` or `fail`.
        at_most: the share; 0 allows none at all.
        least: commissionings of each kind that a whole campaign needs for the claim.
    """

    verdict: str
    at_most: float
    least: int = 0


LIMITS: Mapping[Claim, Limit] = {
    Claim.SOUND: Limit("fail", 0.0),
    Claim.UNSAFE: Limit("pass", 0.0, least=3000),
    Claim.WRONG: Limit("pass", 0.0),
    Claim.STICKS: Limit("pass", 0.143, least=3000),
    Claim.SLIPS_1: Limit("fail", 0.17),
    Claim.SLIPS_2: Limit("fail", 0.44),
    Claim.SLIPS_3: Limit("fail", 0.67),
    Claim.IN_OUT_1: Limit("fail", 0.10),
    Claim.IN_OUT_2: Limit("fail", 0.30),
    Claim.IN_OUT_3: Limit("fail", 0.50),
}
CRASHED = Limit("crashed", 0.0)
POLARITY = Limit("wrong polarity", 0.001, least=20_000)
HOLDS_WITH_SLIPS = (Claim.UNSAFE, Claim.WRONG)
"""Claims that hold whatever share of slips every person is given."""


@dataclass
class Row:
    """What came of one kind.

    Attributes:
        truth: in which ways its units are not sound, in words.
        verdicts: how often each came out.
        wrong_polarity: how often direct or inverted was named and is not true.
        slips: whether its persons slip.
        reasons: how often each criterion failed.
        examples: numbers of the first commissionings that came out as they must not.
        honest: name of the kind that a trick is compared with.
        crashes: what the first crashes said.
    """

    kind: str
    claim: Claim
    truth: str = ""
    slips: bool = False
    honest: str = ""
    runs: int = 0
    verdicts: dict[str, int] = field(default_factory=dict)
    wrong_polarity: int = 0
    reasons: dict[str, int] = field(default_factory=dict)
    examples: list[int] = field(default_factory=list)
    crashes: list[str] = field(default_factory=list)

    def count(self, verdict: str) -> int:
        """How often that verdict came out."""
        return self.verdicts.get(verdict, 0)


@dataclass(frozen=True)
class Figure:
    """One figure held against its limit.

    Attributes:
        state: `held`; `OFF`, when it is above its limit by more than chance; `too few` commissionings were done; or
            `unclear`, when it is above its limit and chance may have done it.
    """

    name: str
    found: int
    tried: int
    limit: str
    state: str

    @property
    def broken(self) -> bool:
        """Whether it keeps the campaign from ending well."""
        return self.state in ("OFF", "too few")

    @property
    def line(self) -> str:
        """The figure with its exact bounds, for print."""
        low, high = lower(self.found, self.tried, CONFIDENCE), upper(self.found, self.tried, CONFIDENCE)
        share = self.found / self.tried if self.tried else 0.0
        counted = f"{self.found} of {self.tried} ({share:.2%}; {low:.2%} to {high:.2%})"
        return f"{self.state:8} {self.name:68} {counted:42} {self.limit}"


def figures(rows: Sequence[Row], *, whole: bool, own_slips: bool) -> list[Figure]:
    """Every figure of these rows.

    Args:
        rows: one a kind.
        whole: the campaign was not cut short, so each claim needs its least number.
        own_slips: every kind had the slips that belong to it; otherwise only what holds with any slips is checked.
    """
    found = [_crashed(rows)]
    if own_slips:
        found.append(_polarity(rows, whole=whole))
    for row in rows:
        if row.claim in LIMITS and (own_slips or row.claim in HOLDS_WITH_SLIPS):
            limit = LIMITS[row.claim]
            found.append(_held(_named(row), row.count(limit.verdict), row.runs, limit, whole=whole))
        elif row.claim is Claim.TRICK and own_slips:
            found += _trick(row, rows)
    return found


def _named(row: Row) -> str:
    verb = "passes" if LIMITS[row.claim].verdict == "pass" else "fails"
    return f"{row.kind}: {verb}"


def _held(name: str, count: int, tried: int, limit: Limit, *, whole: bool) -> Figure:
    said = f"at most {limit.at_most:.1%}" if limit.at_most else "none"
    if lower(count, tried, SURE) > limit.at_most or (count and not limit.at_most):
        return Figure(name, count, tried, said, "OFF")
    if not tried or (whole and tried < limit.least):
        return Figure(name, count, tried, said, "too few")
    return Figure(name, count, tried, said, "held" if count <= limit.at_most * tried else "unclear")


def _crashed(rows: Sequence[Row]) -> Figure:
    crashed, tried = sum(row.count(CRASHED.verdict) for row in rows), sum(row.runs for row in rows)
    return _held("all kinds: the procedure itself breaks down", crashed, tried, CRASHED, whole=False)


def _polarity(rows: Sequence[Row], *, whole: bool) -> Figure:
    honest = [row for row in rows if not row.slips]
    wrong, tried = sum(row.wrong_polarity for row in honest), sum(row.runs for row in honest)
    return _held("all kinds without slips: a wrong polarity is named", wrong, tried, POLARITY, whole=whole)


def _trick(row: Row, rows: Sequence[Row]) -> list[Figure]:
    """A trick must not pass more often than the same unit in honest hands, as far as the counts can tell them apart."""
    for honest in rows:
        if honest.kind == row.honest and honest.runs and row.runs:
            share, most = honest.count("pass") / honest.runs, upper(honest.count("pass"), honest.runs, SURE)
            above = lower(row.count("pass"), row.runs, SURE) > most
            state = "OFF" if above else "held" if row.count("pass") <= share * row.runs else "unclear"
            return [Figure(f"{row.kind}: passes", row.count("pass"), row.runs, f"honest: {share:.1%}", state)]
    return []
