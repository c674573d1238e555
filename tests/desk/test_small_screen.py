"""Every question of the wiring, the sheets, the loop check and the diagnosis on a screen of 80 columns and 24 rows."""

import io
from collections.abc import Callable
from typing import Any

import pytest

from commission.asking.form import Form
from commission.asking.request import Choose, Confirm, Enter, Hold, Request
from commission.asking.steps import Steps
from commission.desk import show
from commission.desk.forms import Filling
from commission.judge.plan import Plan
from commission.procedure.cause.diagnose import diagnose
from commission.procedure.loop.loop_check import loop_check
from commission.procedure.wiring.claims import input_claims
from commission.procedure.wiring.declaration import assessed, wiring
from commission.procedure.wiring.mechanical import mechanical
from commission.procedure.wiring.meter import meter
from commission.wiring.installation import Installation
from tests.procedure.unit_hands import ScriptedHands

COLUMNS, ROWS = 80, 24
TYPED_AND_LIVE = 2
PLAN = Plan(seed=20, cycles=6, wiggle_s=20, wiggle_readings=200)
TWO_WIRES = {"sensor": "switch", "contact": "NO", "to": "ground", "pull": "up", "absent": "high"}
FORMS: dict[type[Request], Callable[[Any], Any]] = {
    Choose: show.choose,
    Confirm: show.confirm,
    Enter: show.enter,
    Hold: show.hold,
    Form: lambda form: show.form(Filling(form)),
}


class MeasuringHands(ScriptedHands):
    """Scripted hands that measure how high each question stands on the screen; `heights` has them by key."""

    def __init__(self, unit: str, answer: Callable[[str], Any]) -> None:
        super().__init__(unit, answer)
        self.heights: dict[str, int] = {}

    def _fulfil(self, request: Request) -> object:
        form = FORMS.get(type(request))
        if form is not None:
            out = io.StringIO()
            show.put(show.console(out), form(request), COLUMNS)
            key = str(getattr(request, "key", ""))
            self.heights[key] = max(self.heights.get(key, 0), out.getvalue().count("\n"))
        return super()._fulfil(request)


def installed() -> Installation:
    """A wiring of two wires."""
    found = assessed(TWO_WIRES).installation
    assert found is not None
    return found


PHASES: dict[str, tuple[str, Callable[[], Steps[Any]], dict[str, Any]]] = {
    "two wires": ("sound", wiring, {}),
    "three wires": ("sound", wiring, {"wiring.sensor": "switch", "wiring.wires": "3", "wiring.common": "supply"}),
    "light gate": ("sound", wiring, {"wiring.sensor": "open-collector"}),
    "driven stage": ("sound", wiring, {"wiring.sensor": "push-pull"}),
    "claims": ("sound", lambda: input_claims(TWO_WIRES), {"claims.name": "X-MAX", "claims.pin": "42"}),
    "mechanics": (
        "sound",
        lambda: mechanical("filament"),
        {"mechanical.drag": "measured", "mechanical.drag_n": "3"},
    ),
    "meter": ("sound", lambda: meter(installed()), {}),
    "failed meter": ("sound", lambda: meter(installed()), {"meter.supply_ground_in": "joined"}),
    "sound": ("sound", lambda: loop_check(PLAN, "filament"), {"moving.how": "heat"}),
    "wrong contact": ("inverted-by-contact", lambda: loop_check(PLAN, "filament"), {}),
    "diagnosis": ("stuck-active", lambda: diagnose(assessed(TWO_WIRES), [], PLAN, "filament"), {}),
    "floating": ("pull-missing", lambda: diagnose(assessed(TWO_WIRES), [], PLAN, "filament"), {}),
}


@pytest.mark.parametrize("name", PHASES)
def test_a_question_stands_whole_on_a_small_screen(name: str) -> None:
    """With the line being typed and the live reading below it, no question is higher than 24 rows of 80 columns."""
    unit, phase, answers = PHASES[name]
    hands = MeasuringHands(unit, answers.get)

    hands.carry_out(phase())

    assert hands.heights
    assert {} == {key: height for key, height in hands.heights.items() if height + TYPED_AND_LIVE > ROWS}
