"""A run in five points: verdict, why, what to do now, what is missing for a pass, the next check.

The last screen of a run and the first page of its report both say them, from here. Nothing is judged: verdict, findings
and open items of the record are put into words.
"""

import shlex
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from commission import command_lines
from commission.evidence.findings.borrow import BorrowPredicted
from commission.evidence.findings.cause import Diagnosis
from commission.evidence.findings.function import FunctionTest
from commission.evidence.findings.loop import Criterion
from commission.evidence.findings.meeting import NextCheck, UnsafeOpen
from commission.evidence.findings.several import PathsSeen, SensorBegun
from commission.evidence.findings.soak import Soaked
from commission.evidence.talk import Punched
from commission.judge.wording import counted
from commission.records.purposes import BRIEF_CHECK, CONDITION_CHECK, FULL_CHECK, FUNCTION_TEST, INSTALL, MOTION
from commission.report.first_sentence import first_sentence
from commission.report.record import RunFacts
from commission.report.several import PATHS
from commission.report.unfinished import UNFINISHED
from commission.vocabulary import Outcome, PunchClass, Verdict

MOST_DEEDS = 3
"""Cures told as what to do now; the worklist has them all."""
COMMANDS = {BRIEF_CHECK: "check", FULL_CHECK: "check", CONDITION_CHECK: "check"}
"""The command of a purpose whose own name is not that of its command."""
OPTIONS = {FULL_CHECK: " --full", CONDITION_CHECK: " --unattended"}
GOES_ON = (INSTALL, BRIEF_CHECK, FULL_CHECK, "soak")
"""Runs of these kinds are taken up where they were broken off."""
WITH_FUNCTION_TEST = (INSTALL, FUNCTION_TEST)
"""Runs whose pass takes a function test; a full check has it among its rules."""
COVERS = {
    "borrow": (
        "Nothing is commissioned by this run: it only tells what the first build must say, and that the borrowed "
        "endstop works again. The sensor was not tested on its own input, and no pause was seen."
    ),
    "motion": (
        "The sensor of movement changes as often over a measured length as its data sheet says. Whether the printer "
        "pauses was not tested in this run."
    ),
    "backup": "The settings are in the record. The sensor was not tested in this run.",
    "restore": "The recorded settings are back, proven from storage. The sensor was not tested in this run.",
    "soak": (
        "The reading did not change by itself for as long as was planned, with filament in. Whether it follows the "
        "filament was not tested in this run."
    ),
    FUNCTION_TEST: (
        "The printer paused at each runout that was provoked. What a broken wire does, and how often the switch "
        "misreads, was not tested in this run."
    ),
}
"""What a pass covers in a run that is neither an installation nor a check."""
MISSING = {
    "soak": "the whole time that was planned, with filament in and without a change",
    "borrow": "readings from which a build follows, and the endstop proven to work again",
    "motion": "three passes over a measured length, with the data sheet's length for one change",
    "backup": "a whole settings report, read twice alike",
    "restore": "every line put back, read back and proven from storage",
}
"""What a pass takes where the run has neither a rule nor an open item that says it."""
DONE = {"borrow": f"Make the build by the conditions in what was found, reflash, then run `{command_lines.INSTALL}`."}
"""What is to be done after a run that left nothing open, where that is more than nothing."""
NAMES = ("Verdict", "Why", "Do now", "Missing for a pass", "Next check")


@dataclass(frozen=True)
class InShort:
    """The five points; `now` has one sentence a deed, the most urgent first."""

    verdict: str
    why: str
    now: tuple[str, ...]
    missing: str
    next_check: str

    @property
    def rows(self) -> tuple[tuple[str, str], ...]:
        """Each point with its name."""
        said = (f"{self.verdict}.", self.why, " ".join(self.now), self.missing, self.next_check)
        return tuple(zip(NAMES, said, strict=True))


def in_short(run: RunFacts) -> InShort:
    """The five points of a run, from its record alone."""
    return InShort(run.verdict.value, _why(run), tuple(_now(run)), _missing(run), _next_check(run))


def command_of(run: RunFacts) -> str:
    """The command that does this run again, with its printer and port."""
    purpose = run.started.purpose
    port = f" --port {shlex.quote(run.started.port)}" if run.started.port else ""
    begun = run.finding(SensorBegun)  # of several sensors one alone: it is named again
    source = f" --source {shlex.quote(begun.sensor)}" if begun is not None and begun.sensors == 1 else ""
    options = f"{OPTIONS.get(purpose, '')}{port}{source}"
    return f"commission {COMMANDS.get(purpose, purpose)} {shlex.quote(run.tag)}{options}"


def _why(run: RunFacts) -> str:
    if run.outcome is not Outcome.COMPLETE:
        return run.why.strip() or UNFINISHED[run.outcome]
    if run.verdict is Verdict.PASS:
        return first_sentence(COVERS.get(run.started.purpose, "")) or "Every rule that was to be judged is kept."
    return _why_no_pass(run)


def _why_no_pass(run: RunFacts) -> str:
    """The rule that decided; where no rule did, the finding or the open item that says it."""
    unsafe_open = run.finding(UnsafeOpen)
    if unsafe_open is not None and unsafe_open.verdict is run.verdict:
        return " ".join(unsafe_open.sentences[:2])
    paths = run.finding(PathsSeen)
    if paths is not None and paths.verdict is run.verdict is Verdict.FAIL:
        return " ".join(each for each in paths.sentences if "NOT" in each) or paths.sentences[0]
    broken = [each for each in run.criteria if each.verdict is run.verdict]
    if broken:
        return _of_rules(broken, of_sensors=bool(run.parts))
    short = _short_of(run)
    if run.verdict is Verdict.CONDITIONAL and short:
        return f"Nothing failed, but less was shown than a pass takes: {', '.join(short)}."
    unsafe = [item.text for item in _items(run, PunchClass.UNSAFE)]
    said = [*_said(run), *unsafe, _left(run) if run.verdict is Verdict.CONDITIONAL else _WORDS[run.verdict]]
    return first_sentence(said[0])


def _said(run: RunFacts) -> Iterator[str]:
    """What a function test, a soak or a borrowed socket says of itself."""
    test, soak, borrowed = run.finding(FunctionTest), run.finding(Soaked), run.finding(BorrowPredicted)
    if borrowed is not None and borrowed.why_not:
        yield borrowed.sentences[0]
    if test is not None and test.verdict is run.verdict and (test.reasons or test.reason):
        yield f"Function test: {(*test.reasons, test.reason)[0]}"
    if soak is not None and soak.sentences:
        yield soak.sentences[-1 if soak.misread else 0]


_WORDS = {
    Verdict.FAIL: "At least one rule of the plan is broken",
    Verdict.NOT_JUDGED: "Too little was shown for a judgement, which is no pass",
}


_TOO = {
    Verdict.FAIL: "Failed too",
    Verdict.NOT_JUDGED: "Not judged either",
    Verdict.CONDITIONAL: "Less shown too",
}


def _of_rules(broken: list[Criterion], *, of_sensors: bool) -> str:
    """What was observed against the first rule, and the names of the others; a sensor's name stands as it is."""
    first, *others = broken
    name = first.name if of_sensors else first.name.capitalize()
    also = f" {_TOO[first.verdict]}: {', '.join(each.name for each in others)}." if others else ""
    return f"{name}: {first_sentence(first.observed) or first.rule}{also}"


def _now(run: RunFacts) -> Iterator[str]:
    items = [*_items(run, PunchClass.UNSAFE), *_items(run, PunchClass.INCOMPLETE)]
    cures = list(dict.fromkeys(_sentence(item.cure or item.text) for item in sorted(items, key=_cause_first(run))))
    deeds = cures[:MOST_DEEDS]
    if run.outcome is not Outcome.COMPLETE:
        goes_on = " It offers to go on where this run ended." if run.started.purpose in GOES_ON else ""
        deeds = [*deeds, f"Run it again: {command_of(run)}.{goes_on}"]
    elif run.verdict in (Verdict.FAIL, Verdict.NOT_JUDGED):
        deeds = [*deeds, f"Then run it again: {command_of(run)}" if deeds else f"Run it again: {command_of(run)}"]
    if run.verdict is Verdict.FAIL:
        yield "Do not rely on the sensor as it is."
    yield from deeds or [DONE.get(run.started.purpose, "Nothing: sign this report and keep it with the printer.")]
    if len(cures) > MOST_DEEDS:
        yield f"The worklist has {len(cures) - MOST_DEEDS} more."


def _cause_first(run: RunFacts) -> Callable[[Punched], bool]:
    """The order of deeds: what mends the cause that a diagnosis found, then what is open as it was found."""
    found = run.finding(Diagnosis)
    cures = found.classes[0].cures if found is not None and found.decided and found.classes else ()
    return lambda item: not cures or item.grade is not PunchClass.UNSAFE or not item.cure.startswith(cures[0])


def _missing(run: RunFacts) -> str:
    if run.verdict is Verdict.PASS:
        not_here = ", ".join(each.name for each in run.criteria if each.verdict is not Verdict.PASS)
        return f"Nothing for a {run.started.purpose}. Not judged here: {not_here}." if not_here else "Nothing."
    if run.outcome is not Outcome.COMPLETE and not run.criteria:
        return "Everything that was not done before the run ended."
    return _sentence("; ".join(_short_of(run, whole=True)) or _left(run))


def _short_of(run: RunFacts, *, whole: bool = False) -> list[str]:
    """What keeps the run from a pass, by name; as a whole with the verdict on it and what was left out."""
    short = [each for each in run.criteria if each.verdict is not Verdict.PASS]
    named = [f"{each.name} ({each.verdict.value})" if whole else each.name for each in short]
    paths = run.finding(PathsSeen)
    if paths is not None and paths.verdict is not Verdict.PASS:
        named.append(f"{PATHS} ({paths.verdict.value})" if whole else PATHS)
    for part in run.parts or (run,):
        named += _of_function(part, whole=whole)
    return named


def _of_function(run: RunFacts, *, whole: bool) -> list[str]:
    """The function test where it keeps the run from a pass; one of several sensors is named."""
    test = run.finding(FunctionTest)
    if run.started.purpose in WITH_FUNCTION_TEST and (test is None or test.verdict is not Verdict.PASS):
        verdict = "not done" if test is None or test.verdict is Verdict.NOT_JUDGED else test.verdict.value
        left = f", without {', '.join(test.left_out)}" if test is not None and test.left_out else ""
        what = f"{run.sensor}: the function test" if run.sensor else "the function test"
        return [f"{what} ({verdict}{left})" if whole else what]
    return []


def _left(run: RunFacts) -> str:
    """The open items by name, where no rule and no function test says what is missing."""
    items = [*_items(run, PunchClass.UNSAFE), *_items(run, PunchClass.INCOMPLETE)]
    said = [item.text.rstrip(".") for item in items[:MOST_DEEDS]]
    more = [f"{counted(len(items) - MOST_DEEDS, 'open item')} more"] if len(items) > MOST_DEEDS else []
    return "; ".join([*said, *more]) or MISSING.get(run.started.purpose, "what the findings leave open")


def _next_check(run: RunFacts) -> str:
    found = run.known(NextCheck)
    agreed = "" if found is None or not found[0].full_due else _days(found[0])
    if run.started.purpose == MOTION:
        return "This check again when sensor, filament path or firmware is changed; no date is kept for it."
    if run.verdict is Verdict.FAIL or _items(run, PunchClass.UNSAFE):
        return "At once, when the cause is mended: a full check."
    if run.verdict is Verdict.NOT_JUDGED or run.outcome is not Outcome.COMPLETE:
        return f"At once: this run proves nothing yet.{f' Agreed before: {agreed}' if agreed else ''}"
    return agreed or "No date is agreed yet: a check with hands on agrees one at its end."


def _days(agreed: NextCheck) -> str:
    if agreed.brief_due and agreed.brief_due < agreed.full_due:
        return f"Brief by {agreed.brief_due}, full by {agreed.full_due}."
    return f"Full by {agreed.full_due}."


def _items(run: RunFacts, grade: PunchClass) -> list[Punched]:
    return [item for item in run.worklist if item.grade is grade]


def _sentence(text: str) -> str:
    said = text.strip()
    return said if said.endswith((".", "!", "?")) else f"{said}."
