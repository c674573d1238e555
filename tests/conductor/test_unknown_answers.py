"""`I do not know`, answered wherever it is offered: through a whole installation, and when that is taken up again."""

from collections.abc import Iterator, Mapping
from datetime import date
from itertools import takewhile
from pathlib import Path

import pytest

from commission.cli.background import background_of
from commission.conductor.conductor import Ended
from commission.evidence.findings.loop import Acceptance
from commission.evidence.findings.wiring import InputClaims, Wiring
from commission.evidence.runs import Interrupted, PhaseStarted, RunResumed, RunStarted
from commission.evidence.talk import Answered, Asked
from commission.jobs.install import JobResult, install_run
from commission.judge.plan import Plan
from commission.procedure.settings.record import Sheet
from commission.records.continuation import broken_off
from commission.report.record import read_run
from commission.report.write import draw
from commission.vocabulary import Outcome
from commission.wiring.declaration import QUESTIONS, UNKNOWN, next_question
from tests.support.fake_bench import RUN, FakeBench
from tests.support.fake_unknowing_desk import FakeUnknowingDesk
from tests.support.made import ended
from tests.support.sweeps import a_part, a_part_of_pairs

TODAY = date(2031, 3, 14)
PLAN = Plan(seed=20, cycles=6, countdown_s=1.0, readings_per_dwell=5, dwell_s=0.5, wiggle_s=1, wiggle_readings=10)
USUAL = {"contact": "NO", "conducts-when": "in", "output-when-in": "low", "pull": "up", "pressed-when": "in"}
SENSORS: tuple[Mapping[str, str], ...] = (
    {"sensor": "switch", "wires": "2"},
    {"sensor": "switch", "wires": "3", "common": "signal", "no-side": "ground", "nc-side": "supply"},
    {"sensor": "ball-and-lever", "inside": "switch", "wires": "2"},
    {"sensor": "ball-and-lever", "inside": "beam"},
    {"sensor": "open-collector"},
    {"sensor": "push-pull"},
    {"sensor": "hall"},
)
WITH_CONTACT = ("switch", "ball-and-lever")
OFFERED_BESIDES = ("claims.also", "meter.*")
"""What else may be answered so."""


def questions_of(sensor: Mapping[str, str]) -> Iterator[str]:
    """Every question about this sensor that has a list of answers, as a person is asked it."""
    answers: dict[str, str] = {}
    while (question := next_question(answers)) is not None:
        if question.choices:
            yield question.name
        usual = question.default or next(iter(question.choices), "")
        answers[question.name] = sensor.get(question.name, USUAL.get(question.name, usual))


FIRST_ASKED = {name: sensor for sensor in reversed(SENSORS) for name in questions_of(sensor)}
CASES = [(sensor, f"wiring.{name}") for name, sensor in FIRST_ASKED.items() if name != "absent"]
CASES += [(sensor, "wiring.absent") for sensor in SENSORS]
CASES += [(sensor, pattern) for sensor in SENSORS[:2] for pattern in OFFERED_BESIDES]
"""Each question once, and of each sensor what may be left unknown and still have the wiring assessed."""


class UnknowingBench(FakeBench):
    """A bench whose operator goes through every sheet, knows this sensor, and does not know what the patterns name."""

    def __init__(self, folder: Path, sensor: Mapping[str, str], *patterns: str) -> None:
        super().__init__(folder)
        known = {**USUAL, **sensor}
        given = {f"wiring.{name}": answer for name, answer in known.items()}
        offered = {f"{name}.now": True for name in ("wiring", "claims", "mechanical", "meter", "reserve", "diagnose")}
        joined = "joined" if sensor["sensor"] in WITH_CONTACT and sensor.get("inside") != "beam" else "open"
        told: dict[str, bool | str] = {**given, **offered, "function.now": False, "meter.signal_ground_in": joined}
        self.answers = told.get
        self.knowing = FakeUnknowingDesk(self._operator, *patterns)
        self.desk = self.knowing

    async def install(self, *, stop_at: str = "") -> Ended[JobResult]:
        """One call of the command: a run from the start, or the broken-off one taken up again."""
        broken = broken_off(self.book, "bench-3", "install")
        kind = RunStarted if broken is None else RunResumed
        self.book.append(RUN, kind(number=RUN, tag="bench-3", purpose="install", plan=PLAN))
        background = background_of(self.book, "bench-3", "fake", TODAY, broken=broken)
        self.desk.stop_at, self.desk.asked = stop_at, []
        sheet = Sheet("bench-3", TODAY.isoformat())
        came_to = await self.run(install_run(PLAN, "R. Okafor", background, sheet))
        self.ends("stopped" if came_to.outcome is Outcome.STOPPED else "", came_to.outcome)
        return came_to

    def ends(self, why: str, outcome: Outcome) -> None:
        """What the command writes at the end of a run."""
        self.book.append(RUN, ended("not judged", outcome.value, why=why))


def test_every_question_with_a_list_is_among_the_cases() -> None:
    """No question of the wiring that a person is asked is left out here; the class of input is never asked.

    A pull-up of the module's own is asked for only where it would harm the pin; such a wiring is not plugged in.
    """
    asked = {pattern.removeprefix("wiring.") for _, pattern in CASES}

    assert {name for name, question in QUESTIONS.items() if question.choices} - {"input", "own-pull"} <= asked


@pytest.mark.swept
@pytest.mark.parametrize(
    ("sensor", "pattern"), a_part(CASES, one_in=3), ids=lambda each: each if isinstance(each, str) else each["sensor"]
)
async def test_one_unknown_answer_ends_no_installation(tmp_path: Path, sensor: Mapping[str, str], pattern: str) -> None:
    """Whatever is not known, every sheet behind it is gone through, and the run comes to its end with a report."""
    bench = UnknowingBench(tmp_path, sensor, pattern)

    came_to = await bench.install()

    assert Outcome.COMPLETE is came_to.outcome, came_to
    assert bench.knowing.unknown
    assert {"claims.name", "mechanical.drag", "loop_check.ready", "sign_off.statement"} <= set(bench.desk.asked)
    assert draw(read_run(bench.book, RUN), "markdown")


async def test_nothing_known_at_all_ends_no_installation(tmp_path: Path) -> None:
    """Not known at every question there is, from the kind of sensor on: the loop check is done all the same."""
    bench = UnknowingBench(tmp_path, SENSORS[0], "*")

    came_to = await bench.install()

    assert Outcome.COMPLETE is came_to.outcome
    assert {"wiring.sensor", "claims.also"} == set(bench.knowing.unknown)
    assert Acceptance in bench.desk.findings


LEFT_UNKNOWN = ("wiring.absent", "wiring.contact", "claims.also", "*")
STOPPED_AT = ("claims.also", "loop_check.ready", "unplug.1")


@pytest.mark.swept
@pytest.mark.parametrize(("pattern", "stop_at"), a_part_of_pairs(LEFT_UNKNOWN, STOPPED_AT, one_in=3))
async def test_a_run_with_an_unknown_answer_is_taken_up(tmp_path: Path, stop_at: str, pattern: str) -> None:
    """Broken off at any sheet behind it, the run goes on from there with what the book holds."""
    bench = UnknowingBench(tmp_path, SENSORS[0], pattern)
    assert Outcome.STOPPED is (await bench.install(stop_at=stop_at)).outcome

    came_to = await bench.install()

    assert Outcome.COMPLETE is came_to.outcome
    assert "identify" in {phase.name for phase in bench.entries(PhaseStarted)}
    assert [] == bench.book.verify()


async def test_a_book_that_an_earlier_release_broke_off_at_an_unknown_level_is_taken_up(tmp_path: Path) -> None:
    """The level was not known, and the input checklist ended in an error of the tool: the run goes on behind it."""
    (tmp_path / "earlier").mkdir()
    earlier = UnknowingBench(tmp_path / "earlier", SENSORS[0], "wiring.absent")
    await earlier.install(stop_at="claims.name")
    bench = UnknowingBench(tmp_path, SENSORS[0], "wiring.absent")
    for record in takewhile(lambda record: not isinstance(record.entry, Interrupted), earlier.book.records()):
        bench.book.append(record.run, record.entry, record.about, record.raw)
    bench.book.append(RUN, Answered(key="claims.name", answer="X-MAX"))
    for key, answer in (("claims.pin", ""), ("claims.also", "none")):
        bench.book.append(RUN, Asked(key=key, question=""))
        bench.book.append(RUN, Answered(key=key, answer=answer))
    bench.ends("Not finished: 'unknown' is not a valid Level", Outcome.BROKEN_OFF)
    assert UNKNOWN == bench.found(Wiring)[-1].answers["absent"]

    came_to = await bench.install()

    assert Outcome.COMPLETE is came_to.outcome
    assert "wiring.sensor" not in bench.desk.asked
    assert bench.desk.findings[InputClaims].absent is None
    assert "level treated as no filament: not known" in bench.desk.findings[InputClaims].sentences[0]


async def test_a_wiring_that_was_not_known_is_asked_about_again(tmp_path: Path) -> None:
    """What nobody knew is not done and valid: a run that is taken up offers the wiring once more."""
    bench = UnknowingBench(tmp_path, SENSORS[0], "wiring.contact")
    await bench.install(stop_at="loop_check.ready")
    bench.knowing.patterns = ()

    came_to = await bench.install()

    assert Outcome.COMPLETE is came_to.outcome
    assert "wiring.contact" in bench.desk.asked
    assert "NO" == bench.desk.findings[Wiring].answers["contact"]
