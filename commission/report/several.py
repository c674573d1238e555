"""A run of several sensors in its report: one table of them all, then each with its own sections."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from string import ascii_lowercase

from commission.evidence.findings.function import FunctionTest
from commission.evidence.findings.loop import FailSafeFound, Polarity
from commission.evidence.findings.several import PathsSeen, SensorBegun, SensorsJudged
from commission.report.document import Block, Bullets, Section, Table
from commission.report.record import RunFacts
from commission.vocabulary import Verdict

Draw = Callable[[RunFacts], Section]
HEAD = ("Sensor", "Path", "Polarity", "With a wire off", "Function test", "Verdict")
NOT_KNOWN = "not known"
PATHS = "which sensor belongs to which path"


def sensors_section(run: RunFacts) -> Section:
    """Every sensor in a row, and what moving the filaments showed; empty where the run tested one."""
    if not run.parts:
        return Section("sensors", "Sensors")
    rows = tuple(_row(run, part) for part in run.parts)
    blocks: list[Block] = [Table("Each sensor with its own verdict", HEAD, rows, verdicts=len(HEAD) - 1)]
    paths = run.finding(PathsSeen)
    blocks += [] if paths is None else [Bullets(paths.sentences)]
    return Section("sensors", "Sensors", tuple(blocks), page=1)


def sections_of_parts(run: RunFacts, drawn: Sequence[Draw]) -> Iterator[Section]:
    """These sections of each sensor, one sensor after the other."""
    for letter, part in zip(ascii_lowercase, run.parts, strict=False):
        for draw in drawn:
            section = draw(part)
            heading = f"{part.sensor}: {section.heading[:1].lower()}{section.heading[1:]}"
            yield replace(section, anchor=f"sensor-{letter}-{section.anchor}", heading=heading, page=0)


def verdict_on(run: RunFacts, part: RunFacts) -> Verdict:
    """The verdict on one sensor; not judged where the run did not come to it."""
    judged = run.finding(SensorsJudged)
    found = () if judged is None else judged.sensors
    return next((each.verdict for each in found if each.sensor == part.sensor), Verdict.NOT_JUDGED)


def path_of(part: RunFacts) -> str:
    """The filament path that a sensor belongs to; empty where nobody named one."""
    begun = part.finding(SensorBegun)
    return "" if begun is None else begun.path


def _row(run: RunFacts, part: RunFacts) -> tuple[str, ...]:
    polarity, safe, test = part.finding(Polarity), part.finding(FailSafeFound), part.finding(FunctionTest)
    return (
        part.sensor,
        path_of(part) or NOT_KNOWN,
        NOT_KNOWN if polarity is None else polarity.behaviour.value,
        NOT_KNOWN if safe is None else safe.fail_safe.value,
        "not done" if test is None else test.verdict.value,
        verdict_on(run, part).value,
    )
