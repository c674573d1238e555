"""The verdict of every part reaches the whole: all combinations of what the parts of a test came to.

The order, worst first: fail, not judged, conditional pass, pass. Only a pass of every part is a pass of the whole, and
a fail of any part is a fail of the whole. A part beside the main one that was not judged leaves the whole conditional
at best; where the main part was not judged, so is the whole. Source: this project's own rule. The expected verdicts are
worked out here by counting, and not by the code that is tested.
"""

from collections.abc import Sequence
from itertools import product

import pytest

from commission.asking.message import Tell
from commission.asking.moving import Heard, Listen, MoveDone, MovesEnd, MovesRun, RunMoves
from commission.asking.request import Ask, Request
from commission.asking.steps import Steps
from commission.dialect.pausing import Question
from commission.jobs.check import BEYOND_BRIEF, BEYOND_UNATTENDED, FULL_ADDS, NEEDED
from commission.judge.acceptance import Criterion
from commission.judge.condition import overall
from commission.judge.gates import GateEvidence, Heat
from commission.judge.pause_verdict import PauseJudged, PauseSide
from commission.procedure.function.change_over import Changed
from commission.procedure.function.extras import KINDS, Extra, start_empty
from commission.procedure.function.offer import with_function
from commission.procedure.function.plan import FunctionPlan, Mode
from commission.procedure.function.verdict import FunctionTested, Seen, judge_function
from commission.session import End, Exchange
from commission.vocabulary import PunchClass, Verdict
from tests.support.scripted_phase import Played, ScriptedPhase

OPEN = GateEvidence(
    support_announced=True,
    control_known=True,
    switch_reported=True,
    enabled=True,
    enabled_after_power=True,
    host_handling=False,
    job_known=True,
    latched=False,
    leftover_mm=5.0,
    leftover_max_mm=20.0,
    moves_travel=True,
    heat=Heat.HOT,
    display=True,
    emergency_words=True,
    on_main_board=True,
)
"""Every gate is open, so that only the parts decide."""


def expected_of(main: Verdict, beside: Sequence[Verdict]) -> Verdict:
    """The whole by the order above."""
    every = (main, *beside)
    if every.count(Verdict.FAIL):
        return Verdict.FAIL
    if main is Verdict.NOT_JUDGED:
        return Verdict.NOT_JUDGED
    return Verdict.PASS if every.count(Verdict.PASS) == len(every) else Verdict.CONDITIONAL


def came_of(pauses: Sequence[Verdict], extras: Sequence[Verdict] = ()) -> Played[FunctionTested]:
    """The function test that these pauses and these parts beside them come to."""
    seen = Seen(FunctionPlan(Mode.WARM), "filament", OPEN)
    seen.judged = [PauseJudged(each, PauseSide.BOARD, reasons=(f"Pause {n}.",)) for n, each in enumerate(pauses, 1)]
    seen.extras = [
        Extra(key, f"part {key}", each, f"{key} was seen.") for key, each in zip(KINDS, extras, strict=False)
    ]
    return ScriptedPhase().play(judge_function(seen))


@pytest.mark.parametrize("pause", Verdict)
def test_every_part_of_a_function_test_counts(pause: Verdict) -> None:
    """1024 combinations of the five parts beside the pauses with each verdict on one of four pauses."""
    for extras in product(Verdict, repeat=len(KINDS)):
        played = came_of([Verdict.PASS] * 3 + [pause], extras)
        whole = expected_of(Verdict.PASS, (pause, *extras))
        assert whole is played.result.verdict, (pause, extras)
        unsafe = [item for item in played.items if item.grade is PunchClass.UNSAFE]
        assert bool(unsafe) is (whole is Verdict.FAIL), (pause, extras)


def test_what_keeps_a_function_test_from_a_pass_is_named() -> None:
    """Each part that is no pass stands in the reasons, unless something worse does."""
    for extras in product((Verdict.PASS, Verdict.CONDITIONAL, Verdict.NOT_JUDGED), repeat=len(KINDS)):
        reasons = " ".join(came_of([Verdict.PASS] * 3, extras).result.reasons)
        for key, verdict in zip(KINDS, extras, strict=True):
            assert (f"art {key}" in reasons) is (verdict is not Verdict.PASS), (key, extras)


@pytest.mark.parametrize("number", [1, 2, 3, 4])
def test_every_pause_counts(number: int) -> None:
    """All combinations of so many pauses: fewer than planned are no pass, and none that was judged is no verdict."""
    for pauses in product(Verdict, repeat=number):
        judged = [each for each in pauses if each is not Verdict.NOT_JUDGED]
        whole = expected_of(Verdict.PASS if judged else Verdict.NOT_JUDGED, pauses)
        if whole is Verdict.PASS and number < 3:
            whole = Verdict.CONDITIONAL
        assert whole is came_of(pauses).result.verdict, pauses


def played_moves(request: Request) -> MovesRun | Exchange | Heard | None:
    """Moves that the printer stops after the first; a command is acknowledged, and nothing is heard beside it."""
    if isinstance(request, RunMoves):
        return MovesRun(MovesEnd.STOPPED, (MoveDone(0.0, 1.0, 0.5),), (), (), 1.0)
    if isinstance(request, Listen):
        return Heard((), None)
    return Exchange(request.command, (), (), End.ACKNOWLEDGED, 0.0, 0.1) if isinstance(request, Ask) else None


@pytest.mark.parametrize(("nested", "blind"), list(product((False, True), repeat=2)))
@pytest.mark.parametrize("still_watching", [True, False, None])
def test_the_change_after_an_empty_start_counts(*, nested: bool, blind: bool, still_watching: bool | None) -> None:
    """A second change, a sensor that stays blind, or watching that was off afterwards is a fail there too."""

    def change(_question: Question | None) -> Steps[Changed]:
        yield Tell(("The change is done.",))
        return Changed(resumed=True, nested=nested, blind=blind, still_watching=still_watching)

    wrong = nested or blind or still_watching is False
    extra = ScriptedPhase(other=played_moves).play(start_empty(FunctionPlan(), "filament", 5.0, change)).result

    assert (Verdict.FAIL if wrong else Verdict.PASS) is extra.verdict


@pytest.mark.parametrize(("loop", "function"), list(product(Verdict, Verdict)))
def test_both_parts_of_an_installation_count(loop: Verdict, function: Verdict) -> None:
    """The whole of loop check and function test, in all sixteen combinations."""
    assert expected_of(loop, (function,)) is with_function(loop, FunctionTested(function))


@pytest.mark.parametrize("loop", Verdict)
def test_a_function_test_left_out_counts_as_not_judged(loop: Verdict) -> None:
    """Without one the whole is what it is with one that was not judged."""
    assert expected_of(loop, (Verdict.NOT_JUDGED,)) is with_function(loop, None)


@pytest.mark.parametrize(
    ("needed", "beyond"),
    [(NEEDED, ()), (NEEDED, BEYOND_BRIEF), (NEEDED[-1:], BEYOND_UNATTENDED)],
    ids=["full", "brief", "unattended"],
)
def test_every_part_of_a_periodic_check_counts(needed: tuple[str, ...], beyond: tuple[str, ...]) -> None:
    """All combinations of the needed parts, one more, and those a full check adds; only what lies beyond may be open.

    What was judged all the same, though it lies beyond such a check, counts like any other part.
    """
    names = (*NEEDED, "runout detection", *FULL_ADDS[:2])
    for verdicts in product(Verdict, repeat=len(names)):
        parts = dict(zip(names, verdicts, strict=True))
        open_main = any(parts[name] is Verdict.NOT_JUDGED for name in needed)
        counted = [v for name, v in parts.items() if not (v is Verdict.NOT_JUDGED and name in beyond)]
        whole = expected_of(Verdict.NOT_JUDGED if open_main else Verdict.PASS, counted)
        assert whole is overall([Criterion(name, "", "", v) for name, v in parts.items()], needed, beyond), parts
