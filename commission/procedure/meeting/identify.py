"""Phase: which printer is this?"""

from commission.asking.message import Punch
from commission.asking.phase import Phase, steps_of
from commission.asking.steps import Steps, ask, establish
from commission.dialect.commands import IDENTITY
from commission.dialect.identity import Identity, identity_of
from commission.evidence.findings.meeting import PrinterIdentity, announced_values
from commission.vocabulary import PunchClass

IDENTIFY = Phase("identify", "Which printer is this?", "who it is")


@steps_of(IDENTIFY)
def identify() -> Steps[Identity | None]:
    """Ask the printer who it is and record the answer; returns it, or None when it says nothing of itself."""
    exchange = yield from ask(IDENTITY)
    identity = identity_of(exchange.lines)
    if identity is None:
        said = "The printer answered, but says nothing of its firmware."
        yield from establish(PrinterIdentity(sentences=(said,), announced=False))
        yield Punch(
            PunchClass.INCOMPLETE,
            "The firmware is not known: the printer does not announce it.",
            "Write the firmware's name, version and build date into the record by hand.",
        )
    else:
        known = announced_values(identity)
        yield from establish(PrinterIdentity(sentences=sentences(identity), announced=True, **known))
    return identity


def sentences(identity: Identity) -> tuple[str, ...]:
    """The identity in words."""
    said = [f"Firmware as announced: {identity.firmware_name or 'not named'}"]
    if identity.firmware_version:
        said.append(f"Version as announced: {identity.firmware_version}")
    if identity.machine:
        said.append(f"Machine as announced: {identity.machine}")
    if identity.common_uuid:
        said.append("Its UUID is a default that many printers share: it does not tell this one from another.")
    return tuple(said)
