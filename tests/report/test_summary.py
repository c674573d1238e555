"""The first page and the tables of findings: what matters first, nothing that says nothing."""

from pathlib import Path

import pytest

from commission.evidence.findings import KINDS, loop
from commission.evidence.findings.cause import CheckJudged
from commission.evidence.findings.loop import Criterion, Polarity
from commission.evidence.findings.meeting import PrinterMarks
from commission.evidence.findings.settings import DoubtedLine, SettingsPlausibility
from commission.evidence.findings.wiring import (
    MechanicalCheck,
    PredictedAndMeasured,
    PredictedPair,
    PredictionHeld,
    SheetLine,
    Wiring,
    WiringAssessed,
)
from commission.evidence.observations import Observed
from commission.report.as_json import as_json
from commission.report.build import build
from commission.report.document import Block, Document, Pairs, Section, Table
from commission.report.record import read_run
from commission.vocabulary import Verdict
from tests.report.scripted_run import NUMBER, ScriptedRun
from tests.support.made import made

ROW = PredictionHeld(state="filament in", predicted="active", measured="active", tests=3, agrees=True)
OTHERWISE = PredictionHeld(state="unplugged", predicted="inactive", measured="active", tests=2, agrees=False)


def report(run: ScriptedRun) -> Document:
    """The report of the run as it stands."""
    run.end()
    return build(read_run(run.book, NUMBER), full=True)


def section(document: Document, anchor: str) -> Section:
    """One section of it."""
    return next(each for each in document.sections if each.anchor == anchor)


def rows(document: Document) -> dict[str, str]:
    """The rows of the summary."""
    pairs = next(block for block in section(document, "summary").blocks if isinstance(block, Pairs))
    return dict(pairs.rows)


def tables(document: Document, anchor: str) -> list[Table]:
    """The tables in a section and in its parts."""
    whole = section(document, anchor)
    blocks: list[Block] = [*whole.blocks, *(block for part in whole.parts for block in part.blocks)]
    return [block for block in blocks if isinstance(block, Table)]


def test_the_summary_leaves_out_what_is_as_it_ought_to_be(tmp_path: Path) -> None:
    """A printer known again and plausible settings take no room in the short form; doubts about either do."""
    run = ScriptedRun(tmp_path)
    run.start()
    run.finding(PrinterMarks, "bench-3: the same printer.", match="the same printer", firmware_changed=False)
    run.finding(SettingsPlausibility, "No value looks wrong.", findings=())
    run.finding(Polarity, "Direct.")
    assert {"Polarity": "Direct."} == rows(report(run))

    other = ScriptedRun(tmp_path / "other")
    other.start()
    other.finding(PrinterMarks, "It may be another.", match="another printer", firmware_changed=False)
    other.finding(SettingsPlausibility, "Looks wrong: steps.", findings=(made(DoubtedLine, line="M92 X1"),))
    assert {"Printer marks", "Settings plausibility"} == set(rows(report(other)))


@pytest.mark.parametrize("name", ["steady", "switches_now", "polarity"])
def test_what_was_looked_at_again_is_told_once(name: str, tmp_path: Path) -> None:
    """Of a run that was taken up again the short form tells how it was the last time, which is what was judged."""
    run = ScriptedRun(tmp_path)
    run.start()
    run.finding(name, "As it was before.")
    run.finding(name, "As it is now.")

    assert ["As it is now."] == list(rows(report(run)).values())


def test_a_prediction_that_was_not_met_is_named(tmp_path: Path) -> None:
    """The states as predicted are counted, each that is not is named with both readings."""
    run = ScriptedRun(tmp_path)
    run.start()
    run.finding(PredictedAndMeasured, "A long sentence. " * 20, rows=(ROW, OTHERWISE))

    assert (
        "1 of 2 states read as predicted; NOT as predicted: unplugged (predicted inactive, measured active)."
        == rows(report(run))["Predicted and measured"]
    )


def test_with_many_findings_each_gets_less_room(tmp_path: Path) -> None:
    """A second sentence is printed where there is room for it, and left to the findings where there are many."""
    upto = list(KINDS)[: list(KINDS).index("check") + 1]
    few, many = ScriptedRun(tmp_path / "few"), ScriptedRun(tmp_path / "many")
    for run, kinds in ((few, upto[-3:]), (many, upto[-20:])):
        run.start()
        for kind in kinds:
            run.finding(kind, f"First. {'Second, rather long ' * 30}end.")

    assert "Second" in rows(report(few))["Diagnosis"]
    assert "First." == rows(report(many))["Diagnosis"]


def test_columns_that_hold_nothing_are_left_out(tmp_path: Path) -> None:
    """A column without a value in any row takes no paper; one with a single value stays."""
    run = ScriptedRun(tmp_path)
    run.start()
    lines = tuple(SheetLine(name=name, question="", mark="", reason=why) for name, why in (("a", ""), ("b", "worn")))
    run.finding(MechanicalCheck, "Looked at.", lines=lines)

    (table,) = tables(report(run), "full-findings")
    assert ("Name", "Reason") == table.head
    assert (("a", "none"), ("b", "worn")) == table.rows


def test_states_that_do_not_apply_have_no_row(tmp_path: Path) -> None:
    """Objects by name are one table, also where one of them is null."""
    run = ScriptedRun(tmp_path)
    run.start()
    level = made(PredictedPair)
    states = {"sound": level, "unplugged": level, "supply_broken": None}
    run.finding(Wiring, "Direct.", assessment=made(WiringAssessed, states=states))

    (table,) = tables(report(run), "full-findings")
    assert ["sound", "unplugged"] == [row[0] for row in table.rows]


def test_readings_kept_for_computing_stand_in_the_appendix(tmp_path: Path) -> None:
    """The finding says how many there are; the table is with the values."""
    run = ScriptedRun(tmp_path)
    run.start()
    kept = (Observed(test="filament in", positives=1, readings=1),)
    run.finding(loop.TestsDone, "Readings kept for a diagnosis: 1 test.", observations=kept)
    document = report(run)

    assert [] == tables(document, "full-findings")
    assert [(("filament in", "1", "0", "1", "no", "not known"),)] == [
        table.rows for table in tables(document, "values")
    ]


def criterion(name: str, verdict: str) -> Criterion:
    """One criterion of a check."""
    return Criterion(name=name, rule="", observed="", verdict=Verdict(verdict))


def test_the_words_under_the_verdict_name_what_was_judged_and_what_not(tmp_path: Path) -> None:
    """Of a check every criterion is named by its verdict: nobody takes its pass for more than it is."""
    run = ScriptedRun(tmp_path)
    run.start(purpose="condition check")
    criteria = [criterion("watching", "pass"), criterion("misreads", "not judged"), criterion("pause", "not judged")]
    run.finding(CheckJudged, "Condition check: pass.", criteria=criteria)
    run.end(verdict="pass")

    assert (
        "Judged and passed: watching. Not judged, which is no pass: misreads, pause."
        == build(read_run(run.book, NUMBER)).meaning
    )


@pytest.mark.parametrize(
    ("purpose", "said"),
    [
        ("install", "Everything the plan asks for was shown."),
        ("backup", "The sensor was not tested in this run."),
        ("function", "What a broken wire does, and how often the switch misreads, was not tested in this run."),
    ],
)
def test_a_pass_covers_what_the_run_was_for(purpose: str, said: str, tmp_path: Path) -> None:
    """Only an installation passes everything; a backup nothing of the sensor, a function test nothing of a wire."""
    run = ScriptedRun(tmp_path)
    run.start(purpose=purpose)
    run.end(verdict="pass")

    assert said in build(read_run(run.book, NUMBER)).meaning


def test_a_look_before_a_wiggle_counts_no_change(tmp_path: Path) -> None:
    """What changes while filament is still being put in is shown as it was read, and not held against the switch."""
    run = ScriptedRun(tmp_path)
    run.start()
    run.watch("First a look", "in", ["inactive", "active", "active"], key="wiggle.before")
    run.watch("Wiggle", "in", ["active", "inactive", "active"])

    (table,) = tables(report(run), "full-trials")
    assert [("inactive x1, active x2", "not counted"), ("active x1, inactive x1, active x1", "2")] == [
        (row[3], row[7]) for row in table.rows
    ]


def test_the_rules_of_a_periodic_check_stand_where_those_of_a_loop_check_do(tmp_path: Path) -> None:
    """Page and JSON hold them under acceptance, what was found their count; the findings do not repeat them."""
    run = ScriptedRun(tmp_path)
    run.start(purpose="brief check")
    criteria = [criterion("watching", "pass"), criterion("pause", "not judged")]
    run.finding(CheckJudged, "Brief check: pass.", criteria=criteria)
    document = report(run)

    assert [("watching", "pass"), ("pause", "not judged")] == [
        (row[0], row[3]) for row in tables(document, "acceptance")[0].rows
    ]
    assert "1 of 2 rules passed; not judged: pause." == rows(document)["Check"]
    assert "full-findings" not in [each.anchor for each in document.sections]
    told = as_json(read_run(run.book, NUMBER))["acceptance"]
    assert [("watching", "pass"), ("pause", "not judged")] == [(each["name"], each["verdict"]) for each in told]
