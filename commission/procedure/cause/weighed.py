"""Where a diagnosis stands: what was seen and can be tried, the classes with their shares, and what is told of them."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from commission.asking.message import Punch, Tell, Weight
from commission.asking.power import HANDS
from commission.asking.steps import Steps, establish
from commission.drawing.shares import Share, shares_text
from commission.evidence.findings.base import MOST_ODDS
from commission.evidence.findings.cause import CauseClass, Diagnosis
from commission.judge.diagnosis import BenchTest, Group, Observation, separating
from commission.judge.next_test import Choice
from commission.judge.next_test import choose as next_test
from commission.judge.wording import counted
from commission.procedure.cause.bench_tests import PLUGGED, Place
from commission.procedure.cause.suspected_short import safe_choice
from commission.procedure.wiring.candidates import SOUND, Case, bench_tests, case_of, for_record
from commission.procedure.wiring.declaration import Declared
from commission.vocabulary import PunchClass
from commission.wiring.installation import Installation, WiringError
from commission.wiring.prediction import Probe

LEAST_SHOWN = 0.005
"""Classes below this share are put together in the table: nobody acts on them."""
ONE_FAULT = "One fault is assumed: two at once can look like a third."
MOST_ON_SCREEN = 4
"""So many classes at most stand on the screen, with the next question below them on 24 rows."""


@dataclass(frozen=True)
class Weighed:
    """Where the diagnosis stands, with what it was made from.

    Attributes:
        declared: the wiring as it should be.
        seen: what was seen, oldest first.
        tests: those at hand.
        place: how the sensor's cable stands.
    """

    declared: Declared
    seen: tuple[Observation, ...]
    tests: tuple[BenchTest, ...]
    place: Place = PLUGGED

    def __post_init__(self) -> None:
        if self.declared.installation is None:
            raise WiringError("This sensor is no presence input: there is no wiring to diagnose.")
        if not self.seen and not self.tests:
            raise ValueError("Nothing was tried and nothing can be: the diagnosis is not judged.")

    @property
    def installation(self) -> Installation:
        """What was declared."""
        if self.declared.installation is None:  # refused on creation
            raise WiringError("There is no wiring.")
        return self.declared.installation

    @property
    def case(self) -> Case:
        """Candidates and predictions."""
        return case_of(self.installation)

    @property
    def choice(self) -> Choice:
        """The classes with their weights, and the next test; after a restart that of the meter."""
        return safe_choice(next_test(self.case.explanations, self.tests, self.seen), self.tests, self.seen)

    @property
    def denied(self) -> bool:
        """Whether a second look found the wiring not as declared."""
        return any(Probe(one.test).looked and one.positives for one in self.seen)


def show(weighed: Weighed) -> Steps[None]:
    """The classes with their shares, on the screen."""
    done = f"From {counted(len(weighed.seen), 'test')}." if weighed.seen else "Nothing was tried yet."
    yield Tell((done, *shares_text(_shares(weighed))), heading="What it may be")


def _shares(weighed: Weighed) -> list[Share]:
    groups = weighed.choice.diagnosis.groups
    shown = [group for group in groups[:MOST_ON_SCREEN] if group.weight >= LEAST_SHOWN]
    rest = sum(group.weight for group in groups[len(shown) :])
    return shares([(label_of(_titles(weighed, group)), group.weight) for group in shown], rest)


def shares(classes: Sequence[tuple[str, float]], rest: float) -> list[Share]:
    """The classes with their weights, and everything else together, as they are drawn."""
    parts = [Share(min(1.0, weight), label) for label, weight in classes]
    return [*parts, *([Share(rest, "everything else together")] if rest > 0 else [])]


def label_of(titles: Iterable[str]) -> str:
    """A class of causes in words."""
    return "; or ".join(titles)


def _titles(weighed: Weighed, group: Group) -> tuple[str, ...]:
    return tuple(weighed.case.conditions[name].title for name in group.members)


def _label(weighed: Weighed, group: Group) -> str:
    return label_of(_titles(weighed, group))


def record(weighed: Weighed) -> Steps[None]:
    """Establish where it stands; a fault that was found is an open item."""
    yield from establish(_found(weighed))
    cure = cure_found(weighed)
    if cure:
        yield Punch(PunchClass.UNSAFE, f"Diagnosis: {_label(weighed, weighed.choice.diagnosis.groups[0])}.", cure)


def cure_found(weighed: Weighed) -> str:
    """What mends the fault that was found; empty where none was."""
    diagnosis = weighed.choice.diagnosis
    first = diagnosis.groups[0]
    if not diagnosis.decided or weighed.case.explanations.may_be_sound(first.members):
        return ""
    return " ".join((*_cures(weighed, first), HANDS))


def _sentences(weighed: Weighed) -> list[str]:
    choice = weighed.choice
    first = choice.diagnosis.groups[0]
    lead = "Found" if choice.diagnosis.decided else "Not decided; likeliest"
    said = [f"{lead}, {Share(min(1.0, first.weight), '').words}: {_label(weighed, first)}.", ONE_FAULT]
    if len(first.members) > 1:
        said.append(_why_one(weighed, first))
    what = "To do" if choice.diagnosis.decided else "If so, to do"
    said += [f"{what}: {cure}" for cure in _cures(weighed, first)]
    if weighed.denied:
        said.append("A second look found it not as declared: declare it anew before anything is changed.")
    said.append(HANDS)
    return [*said, choice.reason if choice.test is None else f"Next test: {choice.test.name}. {choice.reason}"]


def _why_one(weighed: Weighed, group: Group) -> str:
    """Why the members of a class are not told apart, and what would do it."""
    every = [test.name for test in bench_tests()]
    could = separating(weighed.case.explanations, group.members, every)
    if not could:
        return "No test at hand tells these apart: they look the same, so try the cures in order."
    unsafe = [name for name in could if name in weighed.choice.unsafe]
    why = "it might restart the board" if unsafe else "it was not to be done here"
    return f"Not told apart: {'; '.join(could)} would do it, but {why}."


def _cures(weighed: Weighed, group: Group) -> list[str]:
    """What to do, in the order of trying, the likeliest member first."""
    conditions = [weighed.case.conditions[name] for name in group.members]
    cures: list[str] = []
    for condition in sorted(conditions, key=lambda one: -one.prior):
        sound = condition.name == SOUND
        cures += [weighed.declared.assessment.recommendation] if sound else condition.cures
    return list(dict.fromkeys(cures))


def _found(weighed: Weighed) -> Diagnosis:
    choice = weighed.choice
    groups = choice.diagnosis.groups
    unlikely = [group for group in groups if group.weight < LEAST_SHOWN]
    return Diagnosis(
        sentences=tuple(_sentences(weighed)),
        decided=choice.diagnosis.decided,
        odds=min(choice.diagnosis.odds, MOST_ODDS),
        needed_odds=choice.diagnosis.needed_odds,
        reason=choice.reason,
        classes=tuple(_class(weighed, group) for group in groups if group.weight >= LEAST_SHOWN),
        unlikely=tuple(name for group in unlikely for name in group.members),
        unlikely_together=sum(group.weight for group in unlikely),
        next_test=None if choice.test is None else choice.test.name,
        gain_bits=choice.gain_bits,
        unsafe=choice.unsafe,
        observations=for_record(weighed.seen),
    )


def _class(weighed: Weighed, group: Group) -> CauseClass:
    titles = _titles(weighed, group)
    cures = tuple(_cures(weighed, group))
    return CauseClass(members=group.members, titles=titles, weight=group.weight, cures=cures)


def warn(weighed: Weighed) -> Steps[None]:
    """What not to try, where nobody is asked for anything."""
    if weighed.choice.unsafe:
        said = f"Do not try, for it might restart the board: {'; '.join(weighed.choice.unsafe)}."
        yield Tell((said,), weight=Weight.CAUTION)
