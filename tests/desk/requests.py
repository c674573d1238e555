"""Example requests of an invented workshop, shared by the tests of every desk."""

from commission.desk.base import Status
from commission.evidence.findings.loop import Advised
from commission.judge.advice import Advice
from commission.procedure.message import Establish, Punch, Tell, Weight
from commission.procedure.request import Choose, Confirm, Enter, EntryKind, Hold, Option, TakeTrial, Watch
from commission.procedure.response import TimedReading, TrialTaken, WatchTaken
from commission.vocabulary import Instruction, Presence, PunchClass, Reading

READY = Confirm("loop_check.ready", "Is the filament out of the sensor?", ("Look at bench-3.",), watch="filament")
ROUTE = Choose(
    "wiring.contact",
    "Which contact is wired?",
    (Option("NO", "normally open"), Option("NC", "normally closed", "opens when the filament goes in")),
)
LENGTH = Enter("reserve.length", "Length from sensor to drive gear", EntryKind.NUMBER, "mm", 0, 2000)
REMARK = Enter("trial.reason", "Why was it spoilt?")
UNPLUG = Hold(
    "unplug.off",
    "Unplug the sensor",
    ("Switch off and pull the mains plug.", "Pull the USB cable.", "Unplug the sensor at the board."),
    "Is the sensor unplugged?",
    power=True,
    cautions=("The supply bay is for qualified persons.", "DANGER: the nozzle stays hot."),
)
INSERT = TakeTrial(1, 27, 1, Instruction.INSERT, Presence.IN, "filament", 5.0, 3, 2.0)
WITHDRAW = TakeTrial(2, 27, 1, Instruction.WITHDRAW, Presence.OUT, "filament", 5.0, 3, 2.0)
LEAVE = TakeTrial(3, 27, 2, Instruction.LEAVE, Presence.OUT, "filament", 5.0, 3, 2.0)
WIGGLE = Watch(
    "wiggle", "Wiggle the cable", ("Move it at both plugs.",), "filament", Presence.IN, seconds=60.0, readings=600
)
CAUTION = Tell(("It stays hot for minutes.",), "Hot nozzle", Weight.CAUTION)
FINDING = Establish(Advised(sentences=("The polarity is direct, 2703 to 1.",), advice=Advice.NONE))
ITEM = Punch(PunchClass.UNSAFE, "Unplugged reads in.", "Change the contact.")


def reading(at_s: float, active: bool, word: str = "") -> TimedReading:
    """One reading with a wire word that goes with it."""
    found = Reading.ACTIVE if active else Reading.INACTIVE
    return TimedReading(at_s, found, word or ("TRIGGERED" if active else "open"))


TAKEN = TrialTaken(before=(reading(1, False),), dwell=tuple(reading(5 + place, True) for place in range(3)))
WATCHED = WatchTaken((reading(0, True), reading(1, False), reading(2, True)), 2.0, 1.0, unread=1)
COUNTING = Status(Reading.INACTIVE, "open", seconds_left=4.0)
INSERTED = Status(Reading.ACTIVE, "TRIGGERED", seconds_left=1.0)
DWELLING = Status(Reading.ACTIVE, "TRIGGERED", progress="reading 1 of 3")
