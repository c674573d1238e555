"""The five points of a run: from its verdict, findings and open items alone, for the last screen and the first page."""

from pathlib import Path

import pytest

from commission.evidence.findings import loop, meeting
from commission.evidence.findings.cause import CauseClass, Diagnosis
from commission.evidence.findings.function import FunctionTest
from commission.evidence.findings.several import SensorBegun, SensorsJudged
from commission.evidence.talk import Punched
from commission.report.build import build
from commission.report.in_short import InShort, in_short
from commission.report.record import read_run
from commission.vocabulary import PunchClass, Verdict
from tests.report.scripted_run import NUMBER, RUNS, ScriptedRun

DATES = {"brief_due": "2031-04-14", "full_due": "2031-09-14", "agreed": True}
PORT = "--port /dev/ttyACM0"


def judged(**rules: str) -> tuple[loop.Criterion, ...]:
    """Rules by name with their verdicts, each observed in a sentence of its own."""
    return tuple(
        loop.Criterion(name=name, rule="a rule", observed=f"Seen for {name}. And more.", verdict=Verdict(verdict))
        for name, verdict in rules.items()
    )


def told(run: ScriptedRun) -> InShort:
    """The five points of the run as it stands."""
    return in_short(read_run(run.book, NUMBER))


def begun_run(folder: Path, purpose: str = "install") -> ScriptedRun:
    """A run with its beginning."""
    run = ScriptedRun(folder)
    run.start(purpose=purpose)
    return run


LEFT, RIGHT = "sensor Spool_Left", "sensor Spool_Right"


def test_a_sensor_keeps_its_small_and_large_letters(tmp_path: Path) -> None:
    """Of several sensors the rule that decided names its own, as the console calls it."""
    run = begun_run(tmp_path)
    for number, sensor in enumerate((LEFT, RIGHT), start=1):
        run.finding(SensorBegun, "Turn.", sensor=sensor, number=number, sensors=2)
        verdict = "fail" if sensor == RIGHT else "pass"
        run.finding(loop.Acceptance, "So.", verdict=Verdict(verdict), criteria=judged(polarity=verdict))
    run.finding(SensorsJudged, "Judged.", verdict=Verdict.FAIL, sensors=())
    run.end(verdict="fail")

    assert f"{RIGHT}: polarity: Seen for polarity." == told(run).why


def test_one_of_several_sensors_is_named_in_the_command(tmp_path: Path) -> None:
    """Run again without its name, another sensor might be tested."""
    run = begun_run(tmp_path, "function")
    run.finding(SensorBegun, "Alone.", sensor=RIGHT, number=1, sensors=1)
    run.end(verdict="not judged")

    assert f"commission function bench-3 {PORT} --source '{RIGHT}'" in told(run).now[-1]


def test_a_whole_pass_asks_for_nothing(tmp_path: Path) -> None:
    """Nothing is missing, the only thing to do is to sign, and the dates are those that were agreed."""
    run = begun_run(tmp_path)
    run.finding(loop.Acceptance, "Pass.", verdict=Verdict.PASS, criteria=judged(polarity="pass"))
    run.finding(FunctionTest, "Pass.", verdict=Verdict.PASS)
    run.finding(meeting.NextCheck, "Agreed.", **DATES)
    run.end(verdict="pass")

    assert told(run) == InShort(
        "pass",
        "Every rule that was to be judged is kept.",
        ("Nothing: sign this report and keep it with the printer.",),
        "Nothing.",
        "Brief by 2031-04-14, full by 2031-09-14.",
    )


def test_a_fail_names_its_rule_and_every_deed(tmp_path: Path) -> None:
    """Why is the first broken rule as observed; the cures come in the order of their class; then the same command."""
    run = begun_run(tmp_path, "full check")
    run.finding(loop.Acceptance, "Fail.", verdict=Verdict.FAIL, criteria=judged(unplugged="fail", wiggle="fail"))
    run.write(Punched(grade=PunchClass.INCOMPLETE, text="No label.", cure="Put one on."))
    run.write(Punched(grade=PunchClass.UNSAFE, text="Fail-danger.", cure="Change the contact."))
    run.end(verdict="fail")

    assert told(run) == InShort(
        "fail",
        "Unplugged: Seen for unplugged. Failed too: wiggle.",
        (
            "Do not rely on the sensor as it is.",
            "Change the contact.",
            "Put one on.",
            f"Then run it again: commission check bench-3 --full {PORT}",
        ),
        "unplugged (fail); wiggle (fail).",
        "At once, when the cause is mended: a full check.",
    )


def test_what_mends_the_cause_found_comes_first(tmp_path: Path) -> None:
    """The deed of a decided diagnosis leads, and is told once though two items ask for it."""
    run = begun_run(tmp_path)
    mend = "Move the wire to the other side of the switch. Hands off while it is on."
    swapped = CauseClass(members=("swapped",), titles=("Swapped",), weight=0.99, cures=(mend.partition(" Hands")[0],))
    run.finding(
        Diagnosis,
        "Found.",
        decided=True,
        odds=99.0,
        needed_odds=20.0,
        reason="",
        classes=(swapped,),
        unlikely=(),
        unlikely_together=0.0,
        next_test=None,
        gain_bits=0.0,
        unsafe=(),
        observations=(),
    )
    run.write(Punched(grade=PunchClass.UNSAFE, text="Inverted.", cure="Change the contact."))
    run.write(Punched(grade=PunchClass.UNSAFE, text="Diagnosis: swapped.", cure=mend))
    run.write(Punched(grade=PunchClass.INCOMPLETE, text="Not as declared.", cure=mend))
    run.end(verdict="fail")

    assert told(run).now == (
        "Do not rely on the sensor as it is.",
        mend,
        "Change the contact.",
        f"Then run it again: commission install bench-3 {PORT}",
    )


def test_a_conditional_pass_says_what_is_missing(tmp_path: Path) -> None:
    """The rule that got less and the function test that was left out are named, each with what became of it."""
    run = begun_run(tmp_path)
    rules = judged(polarity="pass", misreads="conditional pass")
    run.finding(loop.Acceptance, "Less.", verdict=Verdict.CONDITIONAL, criteria=rules)
    run.finding(FunctionTest, "Left out.", verdict=Verdict.NOT_JUDGED)
    run.end(verdict="conditional pass")

    said = told(run)
    assert ("misreads (conditional pass); the function test (not done).", "Misreads: Seen for misreads.") == (
        said.missing,
        said.why,
    )


@pytest.mark.parametrize(
    ("purpose", "goes_on"), [("install", " It offers to go on where this run ended."), ("function", "")]
)
def test_a_run_that_was_not_finished_names_its_command(purpose: str, goes_on: str, tmp_path: Path) -> None:
    """The same command goes on where a run of its kind can be taken up; else it begins anew."""
    run = begun_run(tmp_path, purpose)
    run.end("stopped by the operator", "not judged", "Not finished: stopped by a key.")

    said = told(run)
    assert "Not finished: stopped by a key." == said.why
    assert (f"Run it again: commission {purpose} bench-3 {PORT}.{goes_on}",) == said.now
    assert "At once: this run proves nothing yet." == said.next_check


def test_a_run_without_an_end_is_no_pass(tmp_path: Path) -> None:
    """Nothing says that a run that was killed passed anything."""
    said = told(RUNS["broken-off"](tmp_path))

    assert ("not judged", "Everything that was not done before the run ended.") == (said.verdict, said.missing)


def test_more_deeds_than_the_screen_holds_are_counted(tmp_path: Path) -> None:
    """Three cures are told; how many more there are is said; what is minor is left to the worklist."""
    run = begun_run(tmp_path)
    for number in range(5):
        run.write(Punched(grade=PunchClass.INCOMPLETE, text=f"Open {number}.", cure=f"Do {number}."))
    run.write(Punched(grade=PunchClass.MINOR, text="Minor.", cure="Do it some day."))
    run.end(verdict="conditional pass")

    assert ("Do 0.", "Do 1.", "Do 2.", "The worklist has 2 more.") == told(run).now


def test_a_pass_of_a_check_names_what_it_did_not_judge(tmp_path: Path) -> None:
    """A check passes over parts that it has no hands for; nobody takes them for shown."""
    run = begun_run(tmp_path, "condition check")
    run.finding(loop.Acceptance, "Pass.", verdict=Verdict.PASS, criteria=judged(steady="pass", pause="not judged"))
    run.end(verdict="pass")

    assert "Nothing for a condition check. Not judged here: pause." == told(run).missing


def test_the_first_page_says_the_same(tmp_path: Path) -> None:
    """Verdict and the four other points of the page are those of the screen, word for word."""
    run = RUNS["complete"](tmp_path)
    facts = read_run(run.book, NUMBER)
    page = build(facts)

    assert in_short(facts).rows == (("Verdict", f"{page.verdict}."), *page.points)
