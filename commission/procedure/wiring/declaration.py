"""Phase: how the sensor is wired, asked for by function, and what that wiring will read."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from commission.asking.message import Punch, Tell, Weight
from commission.asking.on_a_form import on_a_form
from commission.asking.phase import Phase, Voiding, steps_of
from commission.asking.power import End, around, by_itself, hold_point, unplug
from commission.asking.request import Choose, Confirm, Enter, Hold, Option
from commission.asking.steps import Steps, choose, confirm, enter, establish, recall
from commission.drawing.wiring import WiringPicture, wiring_text
from commission.evidence.findings.wiring import Wiring, WiringAssessed, WiringNotKnown
from commission.procedure.wiring.asked import asked_as, wiring_sheet
from commission.procedure.wiring.pictures import picture_of, table_lines
from commission.procedure.wiring.sensor_plug import have_unplugged
from commission.vocabulary import Polarity, PunchClass
from commission.wiring.assessment import Assessment, assess, in_class, not_a_presence_input
from commission.wiring.declaration import (
    UNKNOWN,
    Question,
    assumptions,
    declared_installation,
    next_question,
    sensor_kind,
)
from commission.wiring.installation import Installation, WiringError
from commission.wiring.parts import parts

WIRING = Phase("wiring", "Wiring: what it will read", "the wiring", frozenset({Voiding.WIRING}))
TRIES = 3
OFF_FIRST = "If it is plugged in now: choose below to keep or to change it, and it is unplugged with the power off."


@dataclass(frozen=True)
class Declared:
    """How the sensor is wired.

    Attributes:
        answers: what was declared, by the questions' names.
        installation: what it comes to; None for a sensor that is no presence input.
        assessment: what it will read.
        source: where one that is on record was declared without a run, in words; else empty.
    """

    answers: Mapping[str, str]
    installation: Installation | None
    assessment: Assessment
    source: str = ""

    @property
    def forbidden(self) -> bool:
        """Whether it must not be plugged in."""
        return bool(self.assessment.hazards)

    @property
    def right(self) -> bool:
        """Whether it reads right and fails safe as far as can be told."""
        return self.assessment.polarity is Polarity.DIRECT and self.assessment.fail_safe is True


def _for_the_record(declared: "Declared") -> Steps[None]:
    yield from establish(wiring_found(declared))


@steps_of(WIRING)
def wiring(
    *, tested: bool = False, kept: Callable[["Declared"], Steps[None]] = _for_the_record
) -> Steps[Declared | None]:
    """Ask how the sensor is wired, assess it, and record both; None when it is not known well enough.

    Args:
        tested: it was tested already as it is wired, so it is not changed now.
        kept: puts it into the record; another way where it is wired so for a while only.
    """
    answered: Mapping[str, str] = {}
    while True:
        declared = yield from _same_as_before()
        if declared is None:
            declared = yield from _declare(answered)
        if declared is None:
            break
        answered = declared.answers
        yield from _show(declared)
        if (yield from _stands(declared, tested=tested)):
            yield from kept(declared)
            yield from _items(declared)
            if declared.forbidden:
                yield from have_unplugged()
            break
    return declared


def declared_before(*, earlier: bool = False) -> Steps[Declared | None]:
    """The wiring as this run's record holds it, or an earlier one of this printer; None when none was declared."""
    found = yield from recall(Wiring, earlier=earlier)
    if found is None or not found.answers:
        return None
    try:
        return replace(assessed(found.answers), source=found.source)
    except WiringError:  # recorded by a release that knew other words
        return None


def assessed(answers: Mapping[str, str]) -> Declared:
    """What these answers come to.

    Raises:
        WiringError: they are not enough, or impossible together.
    """
    kind = sensor_kind(answers)
    if not parts().sensors[kind].presence_input:
        return Declared(dict(answers), None, not_a_presence_input(kind))
    installation = declared_installation(answers)
    return Declared(dict(answers), installation, assess(installation))


def _same_as_before() -> Steps[Declared | None]:
    before = yield from declared_before(earlier=True)
    if before is None or (yield from recall(Wiring)) is not None:
        return None
    when = before.source or "declared for this printer the last time"
    lines = (f"As it was {when}:", *words_of(before.answers))
    same = yield from confirm(Confirm("wiring.same", "Is the sensor still wired like that?", lines))
    return before if same else None


def words_of(answers: Mapping[str, str]) -> tuple[str, ...]:
    """The answers as a list for a person."""
    return tuple(f"  {name}: {answer}" for name, answer in answers.items())


def _declare(before: Mapping[str, str]) -> Steps[Declared | None]:
    for left in reversed(range(TRIES)):
        try:
            answers = yield from _answers(before)
            return None if answers is None else assessed(answers)
        except WiringError as error:
            again = "The questions begin again." if left else "The wiring is not assessed."
            yield Tell((str(error), again), weight=Weight.NOTE)
    yield Punch(
        PunchClass.INCOMPLETE,
        "The wiring is not in the record: the answers do not fit together.",
        "Draw it, terminal by terminal, and run this again.",
    )
    return None


def _answers(before: Mapping[str, str]) -> Steps[dict[str, str] | None]:
    return (yield from on_a_form(wiring_sheet(before), _one_by_one))


def _one_by_one() -> Steps[dict[str, str] | None]:
    answers: dict[str, str] = {}
    while (question := next_question(answers)) is not None:
        answer = yield from _ask(question)
        if answer == UNKNOWN and UNKNOWN not in question.choices:
            yield from _not_known(question)
            return None
        answers[question.name] = answer
    return answers


def _ask(question: Question) -> Steps[str]:
    request = asked_as(question)
    if isinstance(request, Enter):
        return (yield from enter(request)) or question.default
    return (yield from choose(request))


def _not_known(question: Question) -> Steps[None]:
    said = f"The wiring is not assessed: not known is the answer to: {question.text}"
    yield from establish(WiringNotKnown(sentences=(said,), missing=question.name))
    yield Punch(
        PunchClass.INCOMPLETE,
        f"The wiring is not in the record; not known: {question.text}",
        "Find it out with mains and USB both out, a meter and the firmware's configuration; then run this again.",
    )


def _show(declared: Declared) -> Steps[None]:
    assessment = declared.assessment
    if declared.installation is not None:
        picture = picture_of(declared.installation, assessment)
        drawn = tuple(wiring_text(picture).rstrip("\n").split("\n"))
        yield Tell(drawn, heading="As you declared it", spoken=(described(picture), *picture.warnings))
        yield Tell(tuple(table_lines(assessment)), heading="What it will read, sound and with one thing wrong")
    if assessment.hazards:
        yield Tell((*assessment.hazards, OFF_FIRST), heading="This must not be on the board", weight=Weight.DANGER)
    levels = tuple(margin.sentence for margin in assessment.margins)
    told = (*assessment.findings, *levels, *assumptions(declared.answers))
    if told:
        yield Tell(told, heading="Worth knowing")
    weight = Weight.NOTE if declared.right else Weight.CAUTION
    yield Tell((assessment.recommendation,), heading="What to do", weight=weight)


def _stands(declared: Declared, *, tested: bool) -> Steps[bool]:
    """Whether the declaration is kept; the wiring may be changed first, or the questions answered again."""
    go_on = Option("keep", "keep it", "it is wired like that, and stays so")
    if declared.forbidden:
        go_on = Option(
            "keep", "keep it", "it is wired like that: the sensor stays unplugged, and the run ends after this"
        )
    options = [go_on, Option("again", "answer again", "a slip in the answers")]
    if not tested:
        options.append(Option("change", "change the wiring now", "with the power off; then the questions come again"))
    usual = "keep" if declared.right and not declared.forbidden else ""
    answer = yield from choose(Choose("wiring.stands", "Does this stand?", tuple(options), usual=usual))
    if answer == "change":
        yield from by_itself(_change(declared.assessment.recommendation))
    return answer == "keep"


def _change(recommendation: str) -> Hold:
    steps = around(
        unplug(End.BOARD, maybe=True),
        f"Change the wiring. {recommendation}",
        "Leave the sensor unplugged: it is plugged in once it has been checked with a meter.",
    )
    return hold_point("wiring.change", "change the wiring", steps, "Is it changed, and is the printer on?")


def _items(declared: Declared) -> Steps[None]:
    if declared.installation is None:
        yield Punch(PunchClass.INCOMPLETE, "This sensor is no presence input.", declared.assessment.recommendation)
    for hazard in declared.assessment.hazards:
        yield Punch(PunchClass.UNSAFE, hazard, declared.assessment.recommendation)


def wiring_found(declared: Declared, *, on: str = "", by: str = "") -> Wiring:
    """The declaration, for the record; a picture of it is drawn from the answers.

    Args:
        declared: what is wired how.
        on: the day, ISO 8601, of one without a run; empty for one that a run declares.
        by: who declares it then.
    """
    return Wiring(
        sentences=sentences(declared),
        answers=dict(declared.answers),
        assessment=WiringAssessed.of(declared.assessment),
        margins=tuple(margin.sentence for margin in declared.assessment.margins),
        assumptions=tuple(assumptions(declared.answers)),
        declared_on=on,
        declared_by=by,
    )


def sentences(declared: Declared) -> tuple[str, ...]:
    """What is predicted of it, in words."""
    assessment = declared.assessment
    if declared.installation is None:
        return (*assessment.findings, assessment.recommendation)
    predicted = in_class(assessment.polarity, fail_safe=assessment.fail_safe)
    drawn = described(picture_of(declared.installation, assessment))
    return (f"Predicted from the declared wiring: {predicted}.", drawn, *assessment.hazards)


def described(picture: WiringPicture) -> str:
    """What the picture shows, as a sentence of its own."""
    return picture.description[:1].upper() + picture.description[1:]
