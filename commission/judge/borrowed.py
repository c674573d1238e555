"""What a sensor on a borrowed socket tells of itself, before any build for it exists.

The firmware reads the socket's level in a sense of its own that nobody knows. So nothing is concluded from the word of
a reading, only from which readings are alike: with the socket empty its pull alone gives the level, and whatever reads
otherwise is the contact that joins the signal to the other rail.

    filament in   filament out   the contact              a broken or unplugged wire
    other         as empty       closed with filament in  reads as filament out: fails safe
    as empty      other          closed with filament out reads as filament in: fails to danger
    as empty      as empty       never seen closed        nothing can be said
    other         other          never seen open          nothing can be said

Source: Kirchhoff's laws for one contact and one pull. Which level it is takes the direction of the pull: it is as
declared until 1 kilohm from signal to ground shows that the empty socket rests high, by another reading.
"""

from dataclasses import dataclass
from enum import Enum

from commission.vocabulary import Contact, Level, Presence, Pull, Reading

CANNOT_SHOW = (
    "The borrowed socket has a pull of its own. Whether the input of the build has one, and which way it goes, it "
    "cannot show: the installation proves that by 1 kΩ and 220 kΩ.",
    "How the build reads its input is not shown, nor whether the printer pauses.",
)


class ContactSeen(Enum):
    """What the contact was seen to do."""

    CLOSED_IN = "closed with filament in, open with filament out"
    CLOSED_OUT = "closed with filament out, open with filament in"
    NEVER_CLOSED = "never seen closed"
    NEVER_OPEN = "never seen open"
    NOT_READ = "not read steadily"


@dataclass(frozen=True)
class BorrowedReadings:
    """What the socket read throughout; unknown where it was unsteady or not read.

    Attributes:
        empty: with nothing plugged in.
        filament_in, filament_out: with the sensor plugged in.
        with_small: empty, with 1 kilohm from signal to ground; None where that was not tried.
    """

    empty: Reading
    filament_in: Reading
    filament_out: Reading
    with_small: Reading | None = None


@dataclass(frozen=True)
class DeclaredContact:
    """The contact and its socket as the operator declared them.

    Attributes:
        contact: its state at rest.
        pressed_when: the presence with which the filament presses it.
        closed_level: the level it gives while it is closed: low for one to ground, high for one to supply.
        pull: of the socket.
    """

    contact: Contact
    pressed_when: Presence
    closed_level: Level
    pull: Pull

    @property
    def rests_at(self) -> Level:
        """The level of the socket while nothing but its pull is on it."""
        return {Pull.UP: Level.HIGH, Pull.DOWN: Level.LOW, Pull.NONE: Level.FLOATING}[self.pull]


@dataclass(frozen=True)
class Condition:
    """One thing that the build must have, and why."""

    what: str
    reason: str

    @property
    def sentence(self) -> str:
        """Both."""
        return f"{self.what}, because {self.reason}."


@dataclass(frozen=True)
class BorrowedPrediction:
    """What is predicted of the sensor on the input of the build.

    Attributes:
        seen: what the contact was seen to do.
        fail_safe: whether a broken wire reads as filament out; None where that cannot be said.
        absent: the level at *no filament*; None where no build follows.
        pull: the pull that the build's input needs; None where no build follows.
        pull_shown: whether 1 kilohm showed the direction of the socket's pull; else it is as declared.
        as_declared: whether the contact is the declared one; None where that cannot be said.
        why_not: why no build follows; empty where one does.
        conditions: what the build must have.
    """

    seen: ContactSeen
    fail_safe: bool | None = None
    absent: Level | None = None
    pull: Pull | None = None
    pull_shown: bool = False
    as_declared: bool | None = None
    why_not: str = ""
    conditions: tuple[Condition, ...] = ()

    @property
    def unambiguous(self) -> bool:
        """Whether a build follows from it."""
        return not self.why_not


def contact_seen(readings: BorrowedReadings) -> ContactSeen:
    """The table at the head of this module."""
    empty, filament_in, filament_out = readings.empty, readings.filament_in, readings.filament_out
    if Reading.UNKNOWN in {empty, filament_in, filament_out}:
        return ContactSeen.NOT_READ
    if filament_in is filament_out:
        return ContactSeen.NEVER_CLOSED if filament_in is empty else ContactSeen.NEVER_OPEN
    return ContactSeen.CLOSED_IN if filament_out is empty else ContactSeen.CLOSED_OUT


def predict(readings: BorrowedReadings, declared: DeclaredContact) -> BorrowedPrediction:
    """What the readings say of the contact, its wiring and the build, and why nothing follows where nothing does."""
    seen = contact_seen(readings)
    if seen not in (ContactSeen.CLOSED_IN, ContactSeen.CLOSED_OUT):
        return BorrowedPrediction(seen, why_not=_NOTHING_FOLLOWS[seen])
    fail_safe, as_declared = seen is ContactSeen.CLOSED_IN, _closed_in(declared) is (seen is ContactSeen.CLOSED_IN)
    if against := _contradicted(readings, declared):
        return BorrowedPrediction(seen, why_not=against)  # what rests empty is not known, so neither is what differs
    if not fail_safe:
        return BorrowedPrediction(seen, fail_safe, as_declared=as_declared, why_not=_FAILS_TO_DANGER)
    return BorrowedPrediction(
        seen,
        fail_safe,
        absent=declared.rests_at,
        pull=declared.pull,
        pull_shown=_shows_high(readings) is True,
        as_declared=as_declared,
        conditions=_conditions(declared),
    )


_FAILS_TO_DANGER = (
    "The contact is open with filament in, so a broken or unplugged wire reads as filament in, whatever the build. "
    "Move the signal wire to the other contact of the switch, then borrow the socket again"
)
_NOTHING_FOLLOWS = {
    ContactSeen.NEVER_CLOSED: (
        "With the sensor plugged in the socket read as it does empty, with filament in and out: the contact goes to "
        "the rail the pull goes to, or it never closes, or the plug is in another socket"
    ),
    ContactSeen.NEVER_OPEN: (
        "With the sensor plugged in the socket read the same with filament in and out, and not as it does empty: the "
        "contact never opens, or the signal is shorted"
    ),
    ContactSeen.NOT_READ: "The empty socket, filament in or filament out did not read steadily the same",
}


def _closed_in(declared: DeclaredContact) -> bool:
    """Whether the declared contact is closed with filament in."""
    return (declared.contact is Contact.NORMALLY_OPEN) is (declared.pressed_when is Presence.IN)


def _shows_high(readings: BorrowedReadings) -> bool | None:
    """Whether 1 kilohm to ground shows that the empty socket rests high; None where it was not tried or not read."""
    if readings.with_small in (None, Reading.UNKNOWN):
        return None
    return readings.with_small is not readings.empty


def _contradicted(readings: BorrowedReadings, declared: DeclaredContact) -> str:
    """What was declared of the socket and cannot be so; empty where it can."""
    if declared.pull is Pull.NONE:
        return "The socket was declared to have no pull: what it reads empty is chance"
    if declared.closed_level is declared.rests_at:
        return (
            f"The contact was declared to give {declared.closed_level.value} while closed, which the socket's pull "
            "gives by itself; the reading changed all the same, so contact or pull is not as declared"
        )
    shown = _shows_high(readings)
    if shown is True and declared.pull is Pull.DOWN:
        return "1 kΩ to ground changed the reading, so the empty socket rests high: its pull is not down as declared"
    if shown is False and declared.pull is Pull.UP:
        return (
            "1 kΩ to ground did not change the reading: the leads did not touch, or the socket's pull is not up as "
            "declared"
        )
    return ""


def _conditions(declared: DeclaredContact) -> tuple[Condition, ...]:
    level, rail = declared.rests_at.value, "ground" if declared.closed_level is Level.LOW else "supply"
    return (
        Condition(
            f"Level at no filament: {level}",
            f"with filament out the contact is open, and a pull {declared.pull.value} gives {level}",
        ),
        Condition(
            f"Pull of the input: {declared.pull.value}, in the build or as a resistor beside the header",
            f"the contact joins the signal to {rail}; without that pull an open contact and a broken wire read by "
            "chance",
        ),
        Condition(
            "Sensor kind: a switch that tells presence, watched on the input that the plug goes to",
            "a reading that nothing watches pauses nothing",
        ),
    )
