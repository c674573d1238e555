"""What a procedure came to, in this campaign's words."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

COMPLETE = "complete"


@dataclass
class Came:
    """What a procedure came to.

    Attributes:
        ended: `complete`, or what broke it off.
        findings: the newest facts of each finding, by name.
        result: what the procedure itself returned; None where it was broken off.
    """

    ended: str = COMPLETE
    findings: dict[str, Mapping[str, Any]] = field(default_factory=dict)
    result: Any = None

    @property
    def verdict(self) -> str:
        """On the loop check; what broke it off where there is none."""
        return str(self.findings.get("acceptance", {}).get("verdict", self.ended))

    @property
    def polarity(self) -> str:
        """As the tool found it; empty where it named neither direct nor inverted."""
        found = str(self.findings.get("polarity", {}).get("behaviour", ""))
        return found if found in ("direct", "inverted") else ""

    @property
    def failed(self) -> tuple[str, ...]:
        """The criteria that failed."""
        criteria = self.findings.get("acceptance", {}).get("criteria", ())
        return tuple(str(each["name"]) for each in criteria if each["verdict"] == "fail")
