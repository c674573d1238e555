"""A full check holds the leftover distance against the filament reserve on record, as long as that holds."""

from dataclasses import replace

import pytest

from commission.asking.steps import Steps
from commission.evidence.findings.cause import CheckJudged
from commission.evidence.findings.function import FunctionTest, ReserveRecalled
from commission.evidence.findings.gates import Gates
from commission.evidence.findings.series import ChangeMade
from commission.jobs.check import periodic_check
from commission.judge.gates import GateState
from commission.judge.reserve import Path, Reserve, reserve
from commission.judge.volume import Queue
from commission.procedure.function.reserve_on_record import ReserveOnRecord, recalled_reserve
from commission.vocabulary import Verdict
from tests.procedure.path_hands import PathHands
from tests.procedure.test_no_pass_unjudged import LEFTOVER_MM, SUBJECT, USUAL
from tests.support.scripted_phase import Played, ScriptedPhase

ROOM = reserve(Path(40.0, gear_to_nozzle_mm=60.0, queue=Queue(3.0, "a queue"), retract_mm=0.0, leftover_mm=20.0))
"""A 40 mm with 3 mm queued allows 22 mm (worked out by hand: 40 - 12 - 3 - 3; common practice, no source)."""
FIRMWARE = "ExampleFW 102.1.2 (Mar  9 2024 18:05:12)"
"""As the simulated unit announces it."""
KEPT = ReserveOnRecord(ROOM, "2031-03-01", FIRMWARE)
UNKNOWN_GATE = "Not known: the leftover distance fits the path."


def full_check(kept: ReserveOnRecord | None) -> PathHands:
    """A full check of a sound unit with that on record; everything is done and nothing is left out."""
    hands = PathHands("sound", (), USUAL, LEFTOVER_MM)
    hands.carry_out(periodic_check(replace(SUBJECT, full=True, reserve=kept)))
    return hands


def leftover_gate(hands: PathHands) -> GateState:
    """How the leftover gate stood at the end."""
    return next(each.state for each in hands.findings[Gates].gates if each.key == "leftover")


def test_a_reserve_on_record_lets_a_full_check_pass() -> None:
    """The leftover gate is known by it, and nothing else was open."""
    hands = full_check(KEPT)

    assert (GateState.OPEN, Verdict.PASS) == (leftover_gate(hands), hands.findings[FunctionTest].verdict)
    assert Verdict.PASS is hands.findings[CheckJudged].verdict
    assert (True, 22.0, "2031-03-01") == (
        hands.findings[ReserveRecalled].used,
        hands.findings[ReserveRecalled].leftover_max_mm,
        hands.findings[ReserveRecalled].day,
    )


@pytest.mark.parametrize(
    "kept", [None, replace(KEPT, changed="rewiring was noted")], ids=["none on record", "out of date"]
)
def test_without_a_reserve_a_full_check_is_conditional(kept: ReserveOnRecord | None) -> None:
    """The gate is not known, and that is the reason given."""
    hands = full_check(kept)

    assert (GateState.UNKNOWN, Verdict.CONDITIONAL) == (leftover_gate(hands), hands.findings[FunctionTest].verdict)
    assert UNKNOWN_GATE in hands.findings[FunctionTest].reasons
    assert not hands.findings[ReserveRecalled].used


def test_a_leftover_beyond_the_reserve_fails_a_full_check() -> None:
    """The printer's 20 mm do not fit a path that allows 10 mm: the gate is shut."""
    hands = full_check(replace(KEPT, reserve=replace(ROOM, leftover_max_mm=10.0)))

    assert (GateState.SHUT, Verdict.FAIL) == (leftover_gate(hands), hands.findings[CheckJudged].verdict)


def recalled(kept: ReserveOnRecord | None, changed: ChangeMade | None = None) -> Played[Reserve | None]:
    """What a run recalls that meets a printer which announces nothing; `changed` is said at its beginning."""

    def steps() -> Steps[Reserve | None]:
        return (yield from recalled_reserve(kept, None))

    return ScriptedPhase(recalled_here=[] if changed is None else [changed]).play(steps())


@pytest.mark.parametrize(
    ("kept", "changed", "why_not"),
    [
        (None, None, "No filament reserve is on record"),
        (replace(KEPT, firmware=""), None, ""),
        (KEPT, None, "another firmware answers now: none is announced"),
        (replace(KEPT, firmware="", changed="rewiring was noted"), None, "since then rewiring was noted"),
        (
            replace(KEPT, firmware=""),
            ChangeMade(sentences=("Changed.",), what="sensor moved", by="R. Okafor"),
            "since then something was changed: sensor moved",
        ),
    ],
)
def test_a_reserve_that_is_out_of_date_is_not_used(
    kept: ReserveOnRecord | None, changed: ChangeMade | None, why_not: str
) -> None:
    """Another firmware, a change on record, or one made just before this run: the finding says which."""
    played = recalled(kept, changed)
    found = next(each for each in played.findings if isinstance(each, ReserveRecalled))

    assert (why_not, not why_not) == (found.why_not, found.used)
    assert (None if why_not else ROOM) == played.result
    assert why_not in found.sentences[0]
