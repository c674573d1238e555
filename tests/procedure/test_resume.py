"""A broken-off run taken up again: done phases stand unless something has made them void."""

import pytest

from commission.asking.phase import Phase, Progress, Voiding, steps_of
from commission.asking.request import Confirm, Enter
from commission.asking.steps import Steps, enter, establish
from commission.evidence.findings.base import Finding
from commission.evidence.findings.meeting import ChangesSince, LeftOut, TakenOver
from commission.evidence.findings.settings import NoStorage
from commission.jobs.settings_share import AFTER_REFLASH
from commission.jobs.taking_up import take_up
from commission.link.identity import PortIdentity
from commission.procedure.cause.diagnose import DIAGNOSIS
from commission.procedure.check.hands import POWER_OFF_TEST, PROOF_TEST
from commission.procedure.function.function_test import FUNCTION_TEST
from commission.procedure.function.reserve import RESERVE
from commission.procedure.loop.loop_check import LOOP_CHECK
from commission.procedure.meeting.as_found import AS_FOUND
from commission.procedure.meeting.background import Continuation
from commission.procedure.meeting.identity import Match, PrinterMarks
from commission.procedure.settings.backup import BACKUP
from commission.procedure.settings.reflash import REFLASH
from commission.procedure.settings.restore import RESTORE
from commission.procedure.settings.watching import WATCHING
from commission.procedure.wiring.claims import CLAIMS
from commission.procedure.wiring.declaration import WIRING
from commission.procedure.wiring.mechanical import MECHANICAL
from commission.procedure.wiring.meter import METER
from tests.support.scripted_phase import ScriptedPhase

NOW = PrinterMarks(PortIdentity("", "", "", "socket://127.0.0.1:7000"), firmware="ExampleFW 102.1")
CONTINUATION = Continuation("bench-3/2031-03-14/1", "2031-03-14T09:30:00+00:00", "the link was lost", ("a",), NOW)


CARRIED_OUT = NoStorage(sentences=("Carried out.",))
"""Stands for what a phase finds when it is carried out."""
PHASE = Phase("a", "Phase A", "the phase", frozenset({Voiding.WIRING}))


@steps_of(PHASE)
def steps() -> Steps[str]:
    """A phase that asks, and says that it was carried out."""
    answer = yield from enter(Enter("a.word", "Which word?"))
    yield from establish(CARRIED_OUT)
    return answer


def done(word: str = "first") -> ScriptedPhase:
    """A run in which the phase was done and answered by this word; asked again, it gets another."""
    run = ScriptedPhase({"a.word": [word, "second"]})
    run.play(steps())
    return run


def result(run: ScriptedPhase, progress: Progress) -> tuple[str, list[Finding]]:
    """What the phase comes to, and which findings it leaves."""
    played = run.play(progress.do(PHASE, steps))
    return played.result, list(played.findings)


def test_a_done_phase_is_not_done_again() -> None:
    """Its result is worked out from its answers in the book, and the record says that it stands."""
    stands = TakenOver(sentences=("Already done in this run and still valid: the phase.",), phase="a")

    assert ("first", [stands]) == result(done(), Progress(["a"]))


def test_a_run_from_the_start_does_every_phase() -> None:
    """Without a run before there is nothing to read back."""
    assert ("second", [CARRIED_OUT]) == result(done(), Progress())


@pytest.mark.parametrize("voiding", Voiding)
def test_what_voids_a_phase_has_it_done_again(voiding: Voiding) -> None:
    """What the phase names voids it, what it does not name leaves it; another printer voids every phase."""
    outcome, _ = result(done(), Progress(["a"], frozenset({voiding})))

    assert ("second" if voiding in (Voiding.WIRING, Voiding.PRINTER) else "first") == outcome


def test_a_result_the_book_does_not_hold_is_no_result() -> None:
    """A phase whose answers are gone is done again, with that said."""
    outcome, findings = result(ScriptedPhase({"a.word": "second"}), Progress(["a"]))

    assert "second" == outcome
    said = "Done before and void now, so it comes again: the phase (the book holds no result of it)."
    assert [TakenOver(sentences=(said,), phase="a", void=True), CARRIED_OUT] == findings


def test_a_phase_that_is_left_out_leaves_its_reason() -> None:
    """The question, then the reason, then the finding that says so; nothing of the phase is asked."""
    run = ScriptedPhase({"a.now": False, "a.skip_reason": "no time."})
    played = run.play(Progress().offered(PHASE, Confirm("a.now", "Now?"), steps))

    assert (None, ["a.now", "a.skip_reason"]) == (played.result, played.asked)
    left_out = LeftOut(sentences=("Left out by the operator: the phase (no time).",), phase="a", reason="no time.")
    assert [left_out] == list(played.findings)


def test_a_phase_that_stands_is_not_offered_again() -> None:
    """Nothing is asked for what this run has done."""
    played = done().play(Progress(["a"]).offered(PHASE, Confirm("a.now", "Now?"), steps))

    assert ("first", []) == (played.result, played.asked)


@pytest.mark.parametrize(
    ("now", "match", "answers", "changes"),
    [
        (NOW, Match.SAME, {}, set()),
        (PrinterMarks(NOW.port, firmware="ExampleFW 3"), Match.SAME, {}, {Voiding.FIRMWARE}),
        (NOW, Match.SAME, {"resume.wiring_untouched": False}, {Voiding.WIRING}),
        (NOW, Match.SAME, {"resume.settings_untouched": False}, {Voiding.SETTINGS}),
        (NOW, Match.DIFFERENT, {}, {Voiding.PRINTER}),
    ],
)
def test_what_has_changed_since_is_found_out(
    now: PrinterMarks, match: Match, answers: dict[str, bool], changes: set[Voiding]
) -> None:
    """Firmware and printer are compared, the wiring is asked about, and the record lists what changed."""
    played = ScriptedPhase(answers).play(take_up(CONTINUATION, now, match))

    assert changes == played.result.voiding
    assert tuple(sorted(change.name.lower() for change in changes)) == played.findings[ChangesSince].changes
    assert CONTINUATION.done == played.result.done


def test_a_run_from_the_start_is_asked_nothing() -> None:
    """Nothing is asked and nothing recorded where no run is taken up."""
    played = ScriptedPhase().play(take_up(None, NOW, Match.SAME))

    assert ([], []) == (played.asked, list(played.findings))


def test_each_phase_declares_what_voids_it() -> None:
    """What was found before any change cannot be found again; what reads the switch is void with another wiring."""
    firmware, wiring, settings = Voiding.FIRMWARE, Voiding.WIRING, Voiding.SETTINGS

    assert {frozenset()} == {phase.voided_by for phase in (AS_FOUND, BACKUP)}
    assert {frozenset({firmware, wiring})} == {phase.voided_by for phase in (LOOP_CHECK, PROOF_TEST, DIAGNOSIS)}
    assert {frozenset({firmware, wiring, settings})} == {phase.voided_by for phase in (FUNCTION_TEST, POWER_OFF_TEST)}
    assert {frozenset({firmware})} == {phase.voided_by for phase in (REFLASH, AFTER_REFLASH)}
    assert {frozenset({firmware, settings})} == {phase.voided_by for phase in (RESTORE, WATCHING)}
    assert {frozenset({wiring})} == {phase.voided_by for phase in (RESERVE, WIRING, CLAIMS, METER, MECHANICAL)}
