"""What the readings of a borrowed socket predict, against a circuit of one contact and one pull that is solved here."""

from itertools import product

import pytest

from commission.judge.borrowed import (
    BorrowedReadings,
    ContactSeen,
    DeclaredContact,
    contact_seen,
    predict,
)
from commission.vocabulary import Contact, Level, Presence, Pull, Reading

ACT, INA, UNK = Reading.ACTIVE, Reading.INACTIVE, Reading.UNKNOWN
IN, OUT = Presence.IN, Presence.OUT
NO, NC = Contact.NORMALLY_OPEN, Contact.NORMALLY_CLOSED
LOGIC_V, PULL_S, CONTACT_S, SMALL_S = 3.3, 1 / 30_000, 1.0, 1 / 1_000
"""Volts and siemens: a pull of 30 kilohm, a contact of 1 ohm, a resistor of 1 kilohm."""


def level_high(*joined: tuple[float, float]) -> bool:
    """Whether the node is high that these conductances join to these voltages (Millman's theorem)."""
    return sum(volts * siemens for volts, siemens in joined) / sum(siemens for _, siemens in joined) > LOGIC_V / 2


class TinyCircuit:
    """One contact to a rail, one pull, and a firmware that reads the level in one sense or the other."""

    def __init__(self, declared: DeclaredContact, *, hit_is_high: bool) -> None:
        self.declared = declared
        self.hit_is_high = hit_is_high
        self.pull = (LOGIC_V if declared.pull is Pull.UP else 0.0, PULL_S)
        self.rail = (LOGIC_V if declared.closed_level is Level.HIGH else 0.0, CONTACT_S)

    def read(self, *joined: tuple[float, float]) -> Reading:
        """What the firmware says with these on the input beside the pull."""
        return ACT if level_high(self.pull, *joined) is self.hit_is_high else INA

    def closed(self, presence: Presence) -> bool:
        """Whether the contact is closed: a pressed NO, or an NC that is not pressed."""
        pressed = presence is self.declared.pressed_when
        return pressed if self.declared.contact is NO else not pressed

    def with_sensor(self, presence: Presence) -> Reading:
        """What is read with the sensor plugged in."""
        return self.read(*([self.rail] if self.closed(presence) else []))

    def readings(self, *, small: bool) -> BorrowedReadings:
        """All that is read."""
        laid = self.read((0.0, SMALL_S)) if small else None
        return BorrowedReadings(self.read(), self.with_sensor(IN), self.with_sensor(OUT), laid)

    def high_with(self, presence: Presence) -> bool:
        """Whether a build's input with the same pull is high."""
        return level_high(self.pull, *([self.rail] if self.closed(presence) else []))


WIRINGS = [
    DeclaredContact(*each) for each in product((NO, NC), (IN, OUT), (Level.LOW, Level.HIGH), (Pull.UP, Pull.DOWN))
]


@pytest.mark.parametrize("declared", WIRINGS)
@pytest.mark.parametrize(("hit_is_high", "small"), list(product((True, False), repeat=2)))
def test_prediction_holds_on_the_circuit(declared: DeclaredContact, *, hit_is_high: bool, small: bool) -> None:
    """Whatever the firmware's sense: a build follows where one that fails safe exists, and reads what it predicts."""
    circuit = TinyCircuit(declared, hit_is_high=hit_is_high)
    found = predict(circuit.readings(small=small), declared)
    broken_wire_high = level_high(circuit.pull)
    follows = circuit.high_with(IN) is not circuit.high_with(OUT)
    safe = broken_wire_high is circuit.high_with(OUT)

    assert (follows and safe) is found.unambiguous
    assert (safe if follows else None) is found.fail_safe
    if found.unambiguous:
        assert circuit.high_with(OUT) is (found.absent is Level.HIGH)
        assert declared.pull is found.pull
        assert (small and declared.pull is Pull.UP) is found.pull_shown
        assert found.as_declared


@pytest.mark.parametrize(
    ("empty", "filament_in", "filament_out", "seen"),
    [
        (ACT, INA, ACT, ContactSeen.CLOSED_IN),
        (INA, ACT, INA, ContactSeen.CLOSED_IN),
        (ACT, ACT, INA, ContactSeen.CLOSED_OUT),
        (INA, INA, ACT, ContactSeen.CLOSED_OUT),
        (ACT, ACT, ACT, ContactSeen.NEVER_CLOSED),
        (INA, INA, INA, ContactSeen.NEVER_CLOSED),
        (ACT, INA, INA, ContactSeen.NEVER_OPEN),
        (INA, ACT, ACT, ContactSeen.NEVER_OPEN),
    ],
)
def test_contact_is_seen_by_what_is_alike(
    empty: Reading, filament_in: Reading, filament_out: Reading, seen: ContactSeen
) -> None:
    """All eight rows of the truth table (worked out by hand from one contact and one pull)."""
    assert seen is contact_seen(BorrowedReadings(empty, filament_in, filament_out))


@pytest.mark.parametrize("readings", [each for each in product((ACT, INA, UNK), repeat=3) if UNK in each])
def test_what_was_not_read_predicts_nothing(readings: tuple[Reading, Reading, Reading]) -> None:
    """One unknown reading of the three is enough."""
    found = predict(BorrowedReadings(*readings), WIRINGS[0])

    assert (ContactSeen.NOT_READ, False, None) == (found.seen, found.unambiguous, found.fail_safe)
    assert not found.pull_shown


@pytest.mark.parametrize(
    ("pull", "closed", "with_small", "said"),
    [
        (Pull.UP, Level.LOW, INA, "did not change the reading"),
        (Pull.DOWN, Level.HIGH, ACT, "not down as declared"),
        (Pull.UP, Level.HIGH, None, "not as declared"),
        (Pull.DOWN, Level.LOW, None, "not as declared"),
        (Pull.NONE, Level.LOW, None, "chance"),
    ],
)
def test_a_socket_that_is_not_as_declared_predicts_no_build(
    pull: Pull, closed: Level, with_small: Reading | None, said: str
) -> None:
    """1 kilohm that does not fit the declared pull, or a contact to the pull's own rail, leaves nothing to build."""
    found = predict(BorrowedReadings(INA, ACT, INA, with_small), DeclaredContact(NO, IN, closed, pull))

    assert said in found.why_not
    assert ((), None) == (found.conditions, found.absent)


def test_what_contradicts_itself_says_nothing_of_the_contact() -> None:
    """The level of the empty socket is in doubt then, so it is not said that a wire should go to the other contact."""
    found = predict(BorrowedReadings(INA, INA, ACT, INA), DeclaredContact(NO, IN, Level.LOW, Pull.UP))

    assert (None, None, False) == (found.fail_safe, found.as_declared, found.unambiguous)


def test_1_kilohm_that_could_not_be_read_shows_nothing() -> None:
    """The prediction stands on the declared pull then, and says so."""
    found = predict(BorrowedReadings(INA, ACT, INA, UNK), DeclaredContact(NO, IN, Level.LOW, Pull.UP))

    assert (True, False) == (found.unambiguous, found.pull_shown)


def test_each_condition_has_its_reason() -> None:
    """Level, pull and kind, in general words."""
    found = predict(BorrowedReadings(INA, ACT, INA), DeclaredContact(NO, IN, Level.LOW, Pull.UP))

    assert [
        "Level at no filament: high, because with filament out the contact is open, and a pull up gives high.",
        "Pull of the input: up, in the build or as a resistor beside the header, because the contact joins "
        "the signal to ground; without that pull an open contact and a broken wire read by chance.",
        "Sensor kind: a switch that tells presence, watched on the input that the plug goes to, because a reading that "
        "nothing watches pauses nothing.",
    ] == [each.sentence for each in found.conditions]


def test_a_contact_that_was_declared_otherwise_is_said_to_be() -> None:
    """The readings decide what it is; the declaration is held against them."""
    found = predict(BorrowedReadings(INA, ACT, INA), DeclaredContact(NC, IN, Level.LOW, Pull.UP))

    assert (True, False) == (found.fail_safe, found.as_declared)
