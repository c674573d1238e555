"""The wiring to the borrowed socket: the usual sheet, answered for that socket, and what of it the prediction takes."""

from commission import command_lines
from commission.asking.message import Punch, Tell, Weight
from commission.asking.steps import Steps, establish
from commission.evidence.findings.borrow import SocketWired
from commission.judge.borrowed import DeclaredContact
from commission.procedure.wiring.declaration import Declared, sentences, wiring
from commission.vocabulary import Contact, Level, PunchClass
from commission.wiring.installation import DryContact, Installation, OpenCollector, PullBy, Terminal

FOR_THE_SOCKET = (
    "Answer the questions on the wiring for the sensor and the borrowed socket: its pull, supply and logic voltage.",
    "An endstop's socket may have its terminals in another order than a filament sensor's. A supply terminal where the "
    "ground is expected is shorted by the switch: find each terminal by function, in the board's drawing.",
    "What its supply gives is measured once the endstop is out: take the drawing's word for it now.",
    "The level at no filament belongs to the build that comes; say here that you do not know it.",
)
BOTH_WAYS = (
    "This sensor drives its signal both ways, so the pull of a socket shows nothing of it. "
    f"`{command_lines.WIRING}` predicts it without a printer."
)
BUILD_IT = f"Build it by what `{command_lines.WIRING}` predicts; `{command_lines.INSTALL}` tests it."
OWN_PULL = "The pull was declared to sit on the sensor's own board: the socket shows nothing of the build's pull then."
NO_WIRING = "The wiring to the borrowed socket is not known: the endstop stays where it is."


def wired_to_socket() -> Steps[tuple[Installation, DeclaredContact] | None]:
    """The wiring and the contact in it; None where the sensor must not, or need not, be tried on a socket."""
    yield Tell(FOR_THE_SOCKET, heading="The wiring to the borrowed socket", weight=Weight.CAUTION)
    declared = yield from wiring(tested=True, kept=_kept)
    if declared is None or declared.installation is None:
        yield Tell((NO_WIRING,), weight=Weight.CAUTION)  # the sheet has left an open item
        return None
    if declared.forbidden:  # the sheet has said so, and keeps the sensor unplugged
        return None
    contact = declared_contact(declared.installation)
    if contact is None:
        why = OWN_PULL if declared.installation.pull_by is PullBy.MODULE else BOTH_WAYS
        yield Tell((why,), weight=Weight.CAUTION)
        yield Punch(PunchClass.INCOMPLETE, why, BUILD_IT)
        return None
    return declared.installation, contact


def declared_contact(installation: Installation) -> DeclaredContact | None:
    """The contact as the prediction takes it; None for a sensor that is none, or whose pull is not the socket's."""
    if installation.pull_by is PullBy.MODULE:
        return None
    match installation.sensor:
        case DryContact(contact=contact, to=to, pressed_when=pressed_when):
            level = Level.LOW if to is Terminal.GROUND else Level.HIGH
            return DeclaredContact(contact, pressed_when, level, installation.pull)
        case OpenCollector(conducts_when=conducts_when):
            return DeclaredContact(Contact.NORMALLY_OPEN, conducts_when, Level.LOW, installation.pull)
    return None


def _kept(declared: Declared) -> Steps[None]:
    """In the record as the wiring to this socket, so that no later run takes it for that of the sensor's own input."""
    yield from establish(SocketWired(sentences=sentences(declared), answers=dict(declared.answers)))
