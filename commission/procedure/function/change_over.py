"""From the pause to the resumed job: new filament, and the printer's questions answered over the line.

While the printer waits it answers no question: silence is normal. The one choice that is never made is the one that
switches the sensor off; a printer that offers it still sees no filament although some was loaded, and that is said.
"""

from dataclasses import dataclass

from commission.asking.message import Tell, Weight
from commission.asking.moving import Heard, Listen
from commission.asking.request import Confirm
from commission.asking.steps import Steps, ask, confirm, listen, say
from commission.dialect.commands import CONTINUE, RUNOUT_CONTROL, answer_prompt
from commission.dialect.pausing import Question, Sign
from commission.dialect.runout import runout_of
from commission.evidence.findings.function import FilamentChanged
from commission.procedure.function.fault import NOT_ANSWERED, NOT_SEEN, RUNS_TWICE, SWITCHED_OFF, Fault
from commission.procedure.function.plan import RELEASE

ANSWERS_WITHIN_S = 120.0
NESTED_WITHIN_S = 4.0
REFRESH_S = 0.5
MOST_ANSWERS = 8
MOST_PURGES = 3
NEXT = frozenset({Sign.RESUMED, Sign.ACKNOWLEDGED, Sign.QUESTION, Sign.INSTRUCTION, Sign.COOLED})
AGAIN = frozenset({Sign.RUNOUT, Sign.PRINTER_PAUSED, Sign.WAITING, Sign.INSTRUCTION})
WAITING = (
    "The nozzle may be hot and the head is parked: keep hands away from both.",
    "The printer answers no questions now: its silence is normal.",
)

STILL_OUT = (
    "The printer offers to switch the sensor off. That is not chosen: it means that the firmware still sees no "
    "filament although some was loaded."
)
SEEN_OUT = (
    "The printer saw that the filament is out again, as it should, and offers to switch the sensor off. That is not "
    "chosen: push new filament in."
)
NEW = ("Push new filament in at the sensor by hand now, up to the drive gear. Take your time; stay with the printer.",)


@dataclass(frozen=True)
class Changed:
    """What came of a change.

    Attributes:
        resumed: it went on afterwards.
        nested: a second change began by itself.
        cooled: the nozzle was left to cool meanwhile, and was heated again.
        blind: it offered to switch the sensor off: it still saw no filament after loading.
        tripped: with the filament pulled during the change it said that it saw none; None when that was not tried.
        still_watching: watching was still enabled afterwards; None when that was not stated.
    """

    resumed: bool
    nested: bool = False
    cooled: bool = False
    blind: bool = False
    tripped: bool | None = None
    still_watching: bool | None = None

    @property
    def good(self) -> bool:
        """Whether the change ended as it should."""
        return self.resumed and not self.nested and not self.blind and self.still_watching is not False

    @property
    def sentences(self) -> tuple[str, ...]:
        """It in words."""
        went_on = ("After the change it went on.",) if self.resumed else ()
        cooled = ("The nozzle was left to cool while it waited, and was heated again.",) if self.cooled else ()
        return (*went_on, *cooled, *(fault.text for fault in self.faults))

    @property
    def faults(self) -> tuple[Fault, ...]:
        """What was not as it should be."""
        told = [] if self.resumed else [Fault("It did not go on after the change.", NOT_ANSWERED)]
        if self.nested:
            told.append(Fault("A second change began by itself: the change runs twice.", RUNS_TWICE))
        if self.blind:
            said = "With new filament in it offered to switch the sensor off: it still saw no filament."
            told.append(Fault(said, NOT_SEEN))
        if self.still_watching is False:
            told.append(Fault("Afterwards runout detection was off.", SWITCHED_OFF))
        return tuple(told)

    def finding(self) -> FilamentChanged:
        """It, for the record."""
        return FilamentChanged(
            sentences=self.sentences,
            resumed=self.resumed,
            nested=self.nested,
            cooled=self.cooled,
            blind=self.blind,
            tripped=self.tripped,
            still_watching=self.still_watching,
        )


@dataclass
class _Change:
    """How far it has come."""

    question: Question | None = None
    resumed: bool = False
    again: bool = False
    cooled: bool = False
    blind: bool = False
    answers: int = 0
    tripped: bool | None = None
    purged: int = 0

    def take(self, heard: Heard) -> None:
        self.question = heard.question
        self.cooled = self.cooled or heard.has(Sign.COOLED)
        for each in heard.signs:
            self.again = self.resumed and (self.again or each.sign in AGAIN)
            self.resumed = self.resumed or each.sign in (Sign.RESUMED, Sign.ACKNOWLEDGED)


def change_over(
    question: Question | None, *, line_answers: bool, wait_s: float = 0.0, pulls: bool = False, key: str = "change"
) -> Steps[Changed]:
    """Guide the change and see the job go on.

    Args:
        question: open at the printer already.
        line_answers: whether the printer takes answers over the line; else its display is used.
        pulls: whether the filament is pulled once during the change, to see that no second change begins.
        wait_s: how long it is left waiting first, so that its heater time-out is seen.
        key: names the questions for a scripted operator.
    """
    change = _Change(question)
    yield Tell(WAITING, heading="The printer waits", weight=Weight.CAUTION)
    if wait_s > 0:
        note = f"left waiting for {wait_s:.0f} s at most, to see its heater time out; stay with it"
        change.take((yield from listen(Listen(wait_s, frozenset({Sign.COOLED}), note))))
    while not (
        yield from confirm(
            Confirm(f"{key}.inserted", "Is new filament in, past the sensor and up to the drive gear?", NEW)
        )
    ):
        pass
    while not change.resumed and change.answers < MOST_ANSWERS:
        change.answers += 1
        change.take((yield from listen(Listen(REFRESH_S, frozenset()))))
        if pulls and line_answers and change.tripped is None and (yield from _pulled(change, key)):
            continue  # what it asks now stands already: nothing more comes before it is answered
        if change.resumed or not (yield from _answer(change, line_answers=line_answers, key=key)):
            break
        change.take((yield from listen(Listen(ANSWERS_WITHIN_S, NEXT, "the printer loads, heats or purges"))))
    nested = change.resumed and (change.again or (yield from _nested()))
    watching = None
    if change.resumed and not nested:
        watching = runout_of((yield from ask(RUNOUT_CONTROL)).lines).enabled
    return Changed(change.resumed, nested, change.cooled, change.blind, change.tripped, watching)


def _answer(change: _Change, *, line_answers: bool, key: str) -> Steps[bool]:
    """Answer what is open; false when it cannot be answered without switching the sensor off."""
    question = change.question
    change.blind = question is not None and question.gives_up_watching
    if question is not None and change.blind:
        return (yield from _once_more(question, change, line_answers=line_answers, key=key))
    if not line_answers:
        return (yield from _at_the_display(change, key))
    if question is not None and question.goes_on is not None:
        yield from say(answer_prompt(question.goes_on), RELEASE)
    else:
        yield from say(CONTINUE, RELEASE)
    return True


def _pulled(change: _Change, key: str) -> Steps[bool]:
    """Have the filament pulled out while the printer asks whether to go on, and have it look again."""
    question = change.question
    if question is None or question.goes_on is None or question.repeats is None:
        return False
    lines = ("The filament runs out once more, in the middle of the change: pull it out of the sensor now.",)
    while not (yield from confirm(Confirm(f"{key}.pulled", "Is the filament out of the sensor?", lines))):
        pass
    yield from say(answer_prompt(question.repeats), RELEASE)
    heard = yield from listen(Listen(ANSWERS_WITHIN_S, NEXT, "the printer purges and looks again"))
    change.take(heard)
    change.take((yield from listen(Listen(REFRESH_S, frozenset()))))
    change.tripped = change.question is not None and change.question.gives_up_watching
    return True


def _once_more(question: Question, change: _Change, *, line_answers: bool, key: str) -> Steps[bool]:
    """The only choice that goes on would switch the sensor off: have it look again instead, a few times."""
    pulled = change.tripped is True and change.purged == 0
    yield Tell((SEEN_OUT if pulled else STILL_OUT,), heading="Not answered", weight=Weight.CAUTION)
    if question.repeats is None or not line_answers or change.purged >= MOST_PURGES:
        return False
    change.purged += 1
    lines = ("Push the filament well past the sensor; with a yes it feeds some more and looks again.",)
    if not (yield from confirm(Confirm(f"{key}.seated", "Is the filament well in the sensor now?", lines))):
        return False
    yield from say(answer_prompt(question.repeats), RELEASE)
    return True


def _at_the_display(change: _Change, key: str) -> Steps[bool]:
    lines = (
        "This build takes no answer over the line. Choose 'continue' on the printer's own display.",
        "If it offers to switch the sensor off instead, choose nothing and answer no.",
    )
    went_on = yield from confirm(Confirm(f"{key}.display", "Did it offer to continue, and have you chosen it?", lines))
    change.blind = not went_on
    return went_on


def _nested() -> Steps[bool]:
    """Whether a second change begins by itself, without a new trip."""
    heard = yield from listen(Listen(NESTED_WITHIN_S, AGAIN, "listening for a second change"))
    return heard.has(*AGAIN)
