"""A broken-off run taken up again: done phases stand unless something has made them void."""

from collections.abc import Mapping
from typing import Any

import pytest

from commission.dialect.runout import RunoutControl
from commission.dialect.switches import SwitchState
from commission.evidence.findings import loop
from commission.evidence.findings.base import Finding
from commission.evidence.findings.function import FunctionTest
from commission.evidence.findings.meeting import ChangesSince, TakenOver
from commission.evidence.findings.reported import RunoutControlAsFound, SwitchesAsFound, runout_values
from commission.evidence.findings.settings import MemoryFails, NoStorage, SettingsAsFound
from commission.judge.acceptance import Criterion
from commission.judge.advice import Advice
from commission.link.identity import PortIdentity
from commission.procedure import as_found, backup, function_test, loop_check
from commission.procedure.as_found import as_found_again
from commission.procedure.backup import kept_again
from commission.procedure.function_test import function_tested_again
from commission.procedure.identity import Match, PrinterMarks
from commission.procedure.loop_check import loop_checked_again
from commission.procedure.resume import Change, Continuation, Progress, take_up
from commission.procedure.settings_record import SettingsRecord
from commission.procedure.steps import Steps, establish
from commission.vocabulary import FailSafe, Reading, SwitchBehaviour, Verdict
from tests.support.scripted_phase import ScriptedPhase

NOW = PrinterMarks(PortIdentity("", "", "", "socket://127.0.0.1:7000"), firmware="ExampleFW 2.1")
CONTINUATION = Continuation(
    "bench-3/2031-03-14/1", "2031-03-14T09:30:00+00:00", "the link was lost", {"a": {"x": 1}}, NOW
)


CARRIED_OUT, READ_BACK = NoStorage(sentences=("Carried out.",)), MemoryFails(sentences=("Read back.",))
"""Stand for what a phase finds when it is carried out, and when it is read back."""


def phase() -> Steps[str]:
    """A phase that says that it was carried out."""
    yield from establish(CARRIED_OUT)
    return "fresh"


def revive(kept: Mapping[str, Any]) -> Steps[str | None]:
    """Its result from the book."""
    yield from establish(READ_BACK)
    return None if kept.get("lost") else f"from the book {kept['x']}"


def result(progress: Progress, voided_by: frozenset[Change] = frozenset()) -> tuple[str, list[Finding]]:
    """What the phase comes to, and which findings it leaves."""
    played = ScriptedPhase().play(progress.unless_done("a", voided_by, phase(), revive))
    return played.result, list(played.findings)


def test_a_done_phase_is_not_done_again() -> None:
    """Its result is read back from the book, and the record says that it stands."""
    stands = TakenOver(sentences=("Already done in this run and still valid: a.",), phase="a")

    assert ("from the book 1", [READ_BACK, stands]) == result(Progress({"a": {"x": 1}}))


def test_a_run_from_the_start_does_every_phase() -> None:
    """Without a run before there is nothing to read back."""
    assert ("fresh", [CARRIED_OUT]) == result(Progress())


@pytest.mark.parametrize("change", Change)
def test_what_voids_a_phase_has_it_done_again(change: Change) -> None:
    """A change that the phase names voids it, one it does not name leaves it; another printer voids every phase."""
    named = result(Progress({"a": {"x": 1}}, frozenset({change})), frozenset({change}))
    not_named = result(Progress({"a": {"x": 1}}, frozenset({change})))

    assert "fresh" == named[0]
    assert ("fresh" if change is Change.PRINTER else "from the book 1") == not_named[0]


def test_a_result_the_book_does_not_hold_is_no_result() -> None:
    """A phase whose findings are gone is done again, with that said."""
    outcome, findings = result(Progress({"a": {"lost": True}}))

    assert "fresh" == outcome
    said = "Done before and void now, so it is done again: a (the book does not hold all it found)."
    assert [READ_BACK, TakenOver(sentences=(said,), phase="a", void=True), CARRIED_OUT] == findings


@pytest.mark.parametrize(
    ("now", "match", "answers", "changes"),
    [
        (NOW, Match.SAME, {}, set()),
        (PrinterMarks(NOW.port, firmware="ExampleFW 3"), Match.SAME, {}, {Change.FIRMWARE}),
        (NOW, Match.SAME, {"resume.wiring_untouched": False}, {Change.WIRING}),
        (NOW, Match.SAME, {"resume.settings_untouched": False}, {Change.SETTINGS}),
        (NOW, Match.DIFFERENT, {}, {Change.PRINTER}),
    ],
)
def test_what_has_changed_since_is_found_out(
    now: PrinterMarks, match: Match, answers: dict[str, bool], changes: set[Change]
) -> None:
    """Firmware and printer are compared, the wiring is asked about, and the record lists what changed."""
    played = ScriptedPhase(answers).play(take_up(CONTINUATION, now, match))

    assert changes == played.result.changes
    assert tuple(sorted(change.name.lower() for change in changes)) == played.findings[ChangesSince].changes
    assert CONTINUATION.done == played.result.done


def test_a_run_from_the_start_is_asked_nothing() -> None:
    """Nothing is asked and nothing recorded where no run is taken up."""
    played = ScriptedPhase().play(take_up(None, NOW, Match.SAME))

    assert ([], []) == (played.asked, list(played.findings))


def test_each_phase_declares_what_voids_it() -> None:
    """What was found before any change cannot be found again; a loop check is void with other firmware or wiring."""
    assert frozenset() == as_found.VOIDED_BY
    assert frozenset() == backup.VOIDED_BY
    assert frozenset({Change.FIRMWARE, Change.WIRING}) == loop_check.VOIDED_BY
    assert frozenset({Change.FIRMWARE, Change.WIRING, Change.SETTINGS}) == function_test.VOIDED_BY


def test_the_states_as_found_come_back() -> None:
    """Switches and runout control are those that were written."""
    control = RunoutControl(supported=True, enabled=False, distance_mm=20.0)
    recalled = [
        SwitchesAsFound.of([SwitchState("filament", "shut", Reading.ACTIVE)], ()),
        RunoutControlAsFound(**runout_values(control)),
    ]
    found = ScriptedPhase(recalled_here=recalled).play(as_found_again({"switch": "filament"})).result

    assert found is not None
    assert "filament" == found.switch
    assert [(Reading.ACTIVE, "shut")] == [(state.reading, state.wire_word) for state in found.switches]
    assert control == found.runout
    assert ScriptedPhase().play(as_found_again({"switch": "filament"})).result is None


def test_a_loop_check_comes_back() -> None:
    """Verdict, polarity, fail-safe finding and advice are those that were written."""
    criterion = Criterion("polarity", "Direct", "Direct.", Verdict.PASS)
    recalled = [
        loop.Acceptance(verdict=Verdict.CONDITIONAL, criteria=loop.criteria_of([criterion])),
        loop.FailSafeFound(fail_safe=FailSafe.SAFE, power_ups=2),
        loop.Advised(advice=Advice.NONE),
        loop.Polarity(
            behaviour=SwitchBehaviour.DIRECT,
            decided=True,
            odds=2703.0,
            runner_up=SwitchBehaviour.NO_RELATION,
            contradictions=0,
            trials=12,
            cycles=6,
            voided=0,
            lost=0,
            weights={"direct": 1.0},
        ),
    ]
    found = ScriptedPhase(recalled_here=recalled).play(loop_checked_again({})).result

    assert found is not None
    assert (Verdict.CONDITIONAL, (criterion,)) == (found.acceptance.verdict, found.acceptance.criteria)
    assert SwitchBehaviour.DIRECT is found.behaviour
    assert (FailSafe.SAFE, Advice.NONE) == (found.fail_safe, found.advice)
    assert ScriptedPhase().play(loop_checked_again({})).result is None


def test_a_function_test_comes_back() -> None:
    """Its verdict, its reasons and the gate that was shut are those that were written."""
    recalled = [FunctionTest(verdict=Verdict.FAIL, first_shut="enabled", reasons=("It did not pause.",))]
    found = ScriptedPhase(recalled_here=recalled).play(function_tested_again({})).result

    assert found is not None
    assert (Verdict.FAIL, "enabled", ("It did not pause.",)) == (found.verdict, found.shut, found.reasons)
    assert ScriptedPhase().play(function_tested_again({})).result is None


def test_settings_kept_come_back() -> None:
    """The record is the one that was proven; a phase that kept none has nothing to give back."""
    record = SettingsRecord(("echo:  M92 X80.00 Y80.00 Z400.00 E93.00",), "printer", "2031-03-14")
    phase_of = ScriptedPhase(recalled_here=[SettingsAsFound(**record.values())])

    assert record == phase_of.play(kept_again({"kept": True})).result
    assert phase_of.play(kept_again({"kept": False})).result is None
