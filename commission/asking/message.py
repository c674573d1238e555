"""What a phase says without asking: messages, findings and open items."""

from dataclasses import dataclass
from enum import Enum

from commission.evidence.findings.base import Finding
from commission.vocabulary import PunchClass


class Weight(Enum):
    """How a message to the operator is to be taken."""

    NOTE = "note"
    STEP = "step"
    FINDING = "finding"
    CAUTION = "caution"
    DANGER = "danger"


@dataclass(frozen=True)
class Tell:
    """Say something; nothing is expected back.

    Attributes:
        lines: what is said; a picture in plain characters among it.
        where: how far the run is, for a person; no part of what is said.
        spoken: what a desk that says sentences says in place of the lines; empty for the lines themselves.
    """

    lines: tuple[str, ...]
    heading: str = ""
    weight: Weight = Weight.NOTE
    spoken: tuple[str, ...] = ()
    where: str = ""


@dataclass(frozen=True)
class Establish:
    """Put a finding into the record, with its evidence.

    Attributes:
        briefly: what a person is told of it meanwhile; empty for all of its sentences.
    """

    finding: Finding
    briefly: tuple[str, ...] = ()


@dataclass(frozen=True)
class Punch:
    """Put an open item into the record.

    Attributes:
        grade: how much it weighs.
        text: what is open.
        cure: what to do.
        settled_by: key of the hold point whose release, later in the same run, settles it; empty for what a person
            settles.
    """

    grade: PunchClass
    text: str
    cure: str = ""
    settled_by: str = ""
