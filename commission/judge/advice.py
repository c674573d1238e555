"""What a finding asks the technician to do; above all, what an inverted one does not ask for.

The firmware takes *active* for filament in; that is the assumption of the reply form, which only a pause confirms.
With it every reading stands for a conclusion, and the two questions (right polarity, right rest) are independent:

    in        out       unplugged   polarity   on a broken wire   what to do
    active    inactive  inactive    direct     concludes out      nothing: right and safe
    active    inactive  active      direct     concludes in       two errors that cancel: contact and logic both
    inactive  active    inactive    inverted   concludes out      change the contact; inverting the logic would make
                                                                  the row above
    inactive  active    active      inverted   concludes in       invert the logic; then unplugged concludes out

The unplugged reading is the input at rest (its pull and the firmware's logic), so changing the contact cannot move it
and inverting the logic does.
"""

from enum import Enum

from commission.judge.failsafe import FailSafeFinding
from commission.vocabulary import FailSafe, SwitchBehaviour


class Advice(Enum):
    """What a finding asks the technician to do next."""

    NONE = "nothing to change"
    TEST_UNPLUGGED = "read the unplugged input first"
    CHANGE_CONTACT = "change the contact"
    INVERT_LOGIC = "invert the logic"
    CHANGE_BOTH = "change the contact and invert the logic"
    FIND_FAULT = "find the fault"
    CHECK_INPUT = "check the input"
    CHECK_BUILD = "check that the build reports the switch"
    TEST_AGAIN = "test again"


_REVERSED_WORDS = (
    " Which word of the reply means filament in is an assumption: a firmware with reversed words looks the same "
    "until a "
    "pause is tried, so let the function test confirm it."
)

_SENTENCES = {
    Advice.NONE: "It reads the right way round and fails safe.",
    Advice.TEST_UNPLUGGED: "Unplug the sensor with mains and USB both out, and read the input on USB alone, before "
    "anything is changed: the "
    "unplugged reading tells a wrong contact from wrong logic, and a fault at the sensor from one at the input.",
    Advice.CHANGE_CONTACT: "Filament is read the wrong way round and the unplugged input rests at out, which is right: "
    "change the contact (the other one of normally open and normally closed). Do not invert the logic: that would read "
    "right and pass a broken wire for filament in." + _REVERSED_WORDS,
    Advice.INVERT_LOGIC: "Filament is read the wrong way round and so is the unplugged input: invert the logic of the "
    "runout input in the firmware's build configuration, rebuild and reflash, or where the printer has a configuration "
    "file of its own, in that; then run this again. Leave the contact as it is." + _REVERSED_WORDS,
    Advice.CHANGE_BOTH: "Two errors cancel: filament is read right, but a broken wire passes for filament in. Change "
    "the "
    "contact and invert the logic of the runout input, both, then run this again; one of them alone reads the "
    "wrong "
    "way round." + _REVERSED_WORDS,
    Advice.FIND_FAULT: "Find the fault before anything is changed on purpose.",
    Advice.CHECK_INPUT: "Unplugging the sensor changes nothing: check that it is on the input the firmware reads, "
    "that no "
    "other part holds that input, and that the cable reaches it.",
    Advice.CHECK_BUILD: "The printer reports no such switch: check that runout support is built in and named on this "
    "input.",
    Advice.TEST_AGAIN: "The trials do not decide: test again.",
}

_DEEDS = {
    Advice.TEST_UNPLUGGED: "Read the input with the sensor unplugged, before anything is changed: unplug it with mains "
    "and USB both out, then read on USB alone.",
    Advice.CHANGE_CONTACT: "Change the contact: the other one of normally open and normally closed. Do not invert the "
    "logic: a broken wire would then pass for filament in.",
    Advice.INVERT_LOGIC: "Invert the logic of the runout input in the firmware. Leave the contact as it is.",
    Advice.CHANGE_BOTH: "Change the contact and invert the logic of the runout input: both. One of them alone reads "
    "the wrong way round.",
    Advice.CHECK_INPUT: "Check that the sensor is on the input the firmware reads, that no other part holds that "
    "input, and that the cable reaches it.",
}
"""What is to be done, first the deed; why is said by the finding."""

_ADVICE_STEADY = {
    (SwitchBehaviour.DIRECT, FailSafe.SAFE): Advice.NONE,
    (SwitchBehaviour.DIRECT, FailSafe.DANGER): Advice.CHANGE_BOTH,
    (SwitchBehaviour.INVERTED, FailSafe.SAFE): Advice.CHANGE_CONTACT,
    (SwitchBehaviour.INVERTED, FailSafe.DANGER): Advice.INVERT_LOGIC,
    (SwitchBehaviour.STUCK_ACTIVE, FailSafe.DANGER): Advice.CHECK_INPUT,
    (SwitchBehaviour.STUCK_INACTIVE, FailSafe.SAFE): Advice.CHECK_INPUT,
}

_ADVICE_ANYWAY = {
    SwitchBehaviour.NOT_REPORTED: Advice.CHECK_BUILD,
    SwitchBehaviour.UNDECIDED: Advice.TEST_AGAIN,
}

_FAULTS = {
    "unheld": " Unplugged, nothing holds the input: switch on its pull resistor in the firmware or fit one.",
    "stuck": " The sensor or its cable holds the input: look for a lever that does not move, a welded contact, a short "
    "in the cable, and filament that does not reach the lever.",
    "unrelated": " The reading does not follow the filament: look for a loose connection, a lever that is not reached, "
    "or an input that something else drives.",
}


def advice(behaviour: SwitchBehaviour, finding: FailSafeFinding) -> tuple[Advice, str]:
    """What to do next, and why, from polarity and unplugged reading together: the table at the head."""
    kind = _kind(behaviour, finding)
    sentence = _SENTENCES[kind]
    if kind is Advice.FIND_FAULT:
        sentence += _FAULTS[_fault(behaviour, finding)]
    return kind, sentence


def deed(kind: Advice, why: str) -> str:
    """What to do by this advice in few words; without such the whole of it."""
    return _DEEDS.get(kind, why)


def _unheld(finding: FailSafeFinding) -> bool:
    return finding.fail_safe is FailSafe.UNSTEADY or not finding.agree


def _kind(behaviour: SwitchBehaviour, finding: FailSafeFinding) -> Advice:
    if behaviour in _ADVICE_ANYWAY:
        return _ADVICE_ANYWAY[behaviour]
    if _unheld(finding):
        return Advice.FIND_FAULT
    if finding.fail_safe is FailSafe.NOT_TESTED:
        return Advice.TEST_UNPLUGGED
    return _ADVICE_STEADY.get((behaviour, finding.fail_safe), Advice.FIND_FAULT)


def _fault(behaviour: SwitchBehaviour, finding: FailSafeFinding) -> str:
    if _unheld(finding):
        return "unheld"
    return "unrelated" if behaviour is SwitchBehaviour.NO_RELATION else "stuck"
