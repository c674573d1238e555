"""The filament reserve that an earlier run worked out: whether it still holds, and shows the leftover gate."""

from dataclasses import dataclass, replace

from commission.asking.steps import Steps, establish, recall
from commission.command_lines import INSTALL
from commission.dialect.identity import Identity
from commission.evidence.findings.function import ReserveRecalled
from commission.evidence.findings.series import ChangeMade
from commission.judge.reserve import Reserve
from commission.units import millimetres as mm

NONE_KEPT = "No filament reserve is on record"
AGAIN = f"Whether the leftover fits is not known by this check: `{INSTALL}` works the reserve out anew."


@dataclass(frozen=True)
class ReserveOnRecord:
    """A reserve as an earlier run worked it out.

    Attributes:
        reserve: what it came to.
        day: the day of that run, ISO 8601.
        firmware: what the printer announced in that run; empty when it announced none.
        changed: what was changed since, in words; empty for nothing on record.
    """

    reserve: Reserve
    day: str
    firmware: str = ""
    changed: str = ""

    def why_not(self, firmware: str) -> str:
        """Why it does not hold for a printer that announces this firmware; empty where it does."""
        if self.changed:
            return f"since then {self.changed}"
        if firmware != self.firmware:
            return f"another firmware answers now: {firmware or 'none is announced'}"
        return ""


def recalled_reserve(kept: ReserveOnRecord | None, identity: Identity | None) -> Steps[Reserve | None]:
    """The reserve on record where it holds, with that said; None where there is none, or it is out of date."""
    changed = yield from recall(ChangeMade)
    if kept is None:
        yield from establish(ReserveRecalled(sentences=(f"{NONE_KEPT}. {AGAIN}",), used=False, why_not=NONE_KEPT))
        return None
    if changed is not None:  # said at the beginning of this very run
        kept = replace(kept, changed=kept.changed or f"something was changed: {changed.what}")
    why_not = kept.why_not("" if identity is None else identity.firmware_name or "")
    most_mm = kept.reserve.leftover_max_mm
    allowed = f"at most {mm(most_mm)}" if most_mm >= 0 else "none at all"
    said = f"The filament reserve of {kept.day} allows a leftover distance of {allowed}; it is held against that."
    if why_not:
        said = f"The filament reserve of {kept.day} is not used: {why_not}. {AGAIN}"
    yield from establish(
        ReserveRecalled(sentences=(said,), used=not why_not, leftover_max_mm=most_mm, day=kept.day, why_not=why_not)
    )
    return None if why_not else kept.reserve
