"""What else may be on the chosen input: a questionnaire kept as data, and the note of the input for the record."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from commission.vocabulary import Level, Pull, PunchClass
from commission.wiring.installation import WiringError
from commission.wiring.parts import PartsError

LONGEST_SHORT = 72


@dataclass(frozen=True)
class Claim:
    """Something else that may use an input.

    Attributes:
        name: the word under which it is noted.
        short: its line in a list, so short that the whole list stays on a screen of 80 columns and 24 rows.
        question: the same in full, as a question; yes means that the claim stands.
        conflict: what comes of it.
        cure: what to do.
        weight: the class of punch item it makes.
    """

    name: str
    short: str
    question: str
    conflict: str
    cure: str
    weight: PunchClass

    def __post_init__(self) -> None:
        if not 0 < len(self.short) <= LONGEST_SHORT:
            raise PartsError(f"claims.toml, claims.{self.name}: short is a line of 1 to {LONGEST_SHORT} characters.")
        if not all((self.question, self.conflict, self.cure)) or not self.question.endswith("?"):
            raise PartsError(
                f"claims.toml, claims.{self.name}: question (with its mark), conflict and cure are needed."
            )

    @property
    def sentence(self) -> str:
        """The conflict and its cure."""
        return f"{self.conflict} {self.cure}"


@dataclass(frozen=True)
class InputNote:
    """The input as the operator knows it, for the record: without it nobody finds the pin again.

    Attributes:
        name_on_board: what is printed beside the header.
        pin: the name the firmware has for it, or empty when it was not found out.
        pull: the pull as it is set or fitted.
        absent: the level the firmware takes for missing filament, or nothing when it was not found out.
        claims: what else is on it.
        second_name: another function the printer's own pin report gives this pin, as it was read; or empty.
    """

    name_on_board: str
    pin: str
    pull: Pull
    absent: Level | None
    claims: tuple[Claim, ...] = ()
    second_name: str = ""

    def __post_init__(self) -> None:
        if not self.name_on_board.strip():
            raise WiringError(
                "Note what is printed beside the header, or how to find it: otherwise nobody will find it again."
            )

    @property
    def forbidden(self) -> bool:
        """Whether something else on it makes it unsafe to go on."""
        return any(claim.weight is PunchClass.UNSAFE for claim in self.claims)

    @property
    def conflicts(self) -> tuple[str, ...]:
        """Each conflict with its cure, the unsafe ones first."""
        found = [claim.sentence for claim in sorted(self.claims, key=lambda claim: claim.weight.value)]
        if self.second_name:
            found.append(
                f"The printer's pin report gives this pin a second use, {self.second_name}: see whether it is driven."
            )
        return tuple(found)


@cache
def claims() -> tuple[Claim, ...]:
    """Every claim that is asked about, in the order of asking: the unsafe first."""
    return read_claims(files(__package__).joinpath("claims.toml").read_text(encoding="utf-8"))


def read_claims(text: str) -> tuple[Claim, ...]:
    """Read and check a file of claims.

    Raises:
        PartsError: it is no TOML, has another format, or an entry has missing, unknown or impossible keys.
    """
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise PartsError(f"claims.toml is not TOML: {error}") from error
    if data.get("format") != 1:
        raise PartsError("claims.toml must begin with format = 1; this release reads no other.")
    try:
        return tuple(
            Claim(name=name, **{**entry, "weight": PunchClass(entry["weight"])})
            for name, entry in data["claims"].items()
        )
    except (KeyError, TypeError, ValueError) as error:
        if isinstance(error, PartsError):
            raise
        raise PartsError(f"claims.toml has a missing, unknown or impossible entry: {error}") from error
