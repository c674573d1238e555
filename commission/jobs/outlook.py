"""What is still to come of a run: its phases in order, each with about how long it takes."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import takewhile
from typing import TypeVar

from commission.asking.form import Answers, Form, Known
from commission.asking.message import Establish
from commission.asking.on_a_form import passed_on
from commission.asking.request import Confirm, PhaseBegins, Request
from commission.asking.steps import Steps
from commission.evidence.findings.meeting import TakenOver
from commission.evidence.findings.several import SensorBegun, SensorsJudged, SensorsToTest
from commission.evidence.sensor_phase import phase_of
from commission.judge.plan import Plan
from commission.procedure.function.function_test import FUNCTION_TEST
from commission.procedure.function.reserve import RESERVE
from commission.procedure.loop.loop_check import LOOP_CHECK
from commission.procedure.meeting.as_found import AS_FOUND
from commission.procedure.meeting.paths import PATHS
from commission.procedure.meeting.sign_off import SIGN_OFF
from commission.procedure.settings.backup import BACKUP
from commission.procedure.wiring.claims import CLAIMS
from commission.procedure.wiring.declaration import WIRING
from commission.procedure.wiring.mechanical import MECHANICAL
from commission.procedure.wiring.meter import METER

_T = TypeVar("_T")
POWER_OFF_S = 120.0
"""What a hold point with power off takes, from the steps being read to what is read afterwards."""
OWN_COUNTDOWN_S = 3.2
"""The countdown of hands that keep up, where it follows them."""
OFFERS = {
    "backup.now": BACKUP.name,
    "wiring.now": WIRING.name,
    "claims.now": CLAIMS.name,
    "meter.now": METER.name,
    "mechanical.now": MECHANICAL.name,
    "reserve.now": RESERVE.name,
    "function.now": FUNCTION_TEST.name,
    "function.active_tool": FUNCTION_TEST.name,
}


def outlook_of(plan: Plan) -> "Outlook":
    """An installation: trials and watches by the plan, the rest as `scripts/walk.py` has it of a sound unit.

    Its person reads every word once, and opens, measures and plugs without a search.
    """
    countdown_s = min(OWN_COUNTDOWN_S, plan.countdown_s) if plan.own_pace else plan.countdown_s
    trials_s = 2 * plan.cycles * 4 / 3 * (countdown_s + plan.dwell_s)  # one prompt in four leaves it as it is
    power_offs_s = (plan.power_ups + 3) * POWER_OFF_S
    planned = {
        AS_FOUND.name: 90.0,
        BACKUP.name: 30.0,
        WIRING.name: 150.0,
        CLAIMS.name: 90.0,
        METER.name: 2 * POWER_OFF_S + 120,
        MECHANICAL.name: 120.0,
        LOOP_CHECK.name: trials_s + plan.wiggle_s + power_offs_s + 120,
        RESERVE.name: 120.0,
        FUNCTION_TEST.name: 900.0,
        SIGN_OFF.name: 90.0,
    }
    return Outlook(planned, OFFERS)


OF_EACH = frozenset(phase.name for phase in (WIRING, CLAIMS, METER, MECHANICAL, LOOP_CHECK, RESERVE, FUNCTION_TEST))
"""The phases that each of several sensors goes through."""
PATHS_S = 60.0
"""What it takes, of each sensor, to show which path it belongs to."""


class Outlook:
    """The phases that are planned; one that is left out, or stands from before, goes. Several sensors have theirs each.

    Args:
        planned: seconds by the names of the phases, in order.
        offers: which question offers which phase.
    """

    def __init__(self, planned: Mapping[str, float], offers: Mapping[str, str]) -> None:
        self._left = dict(planned)
        self._offers = offers
        self._begun = 0
        self._sensor = ""

    def shown(self, steps: Steps[_T]) -> Steps[_T]:
        """Carry the steps out; each phase that begins says where in the run it stands."""
        return passed_on(steps, self._note, self._placed)

    def _placed(self, request: Request) -> Request:
        if not isinstance(request, PhaseBegins) or request.name not in self._left:
            return request
        self._pass_over(request.name)
        left = self._left
        return replace(
            request,
            step=self._begun + 1,
            steps=self._begun + len(left),
            takes_s=left[request.name],
            left_s=sum(left.values()),
        )

    def _pass_over(self, name: str) -> None:
        """What was planned before this phase and has not begun does not come any more, as after a fail."""
        for each in takewhile(lambda planned: planned != name, tuple(self._left)):
            del self._left[each]

    def _note(self, request: Request, response: object) -> None:
        match request:
            case PhaseBegins(name=name) if name in self._left:
                self._begun += 1
                del self._left[name]
            case Establish(finding=TakenOver(phase=name, void=False)):
                self._left.pop(self._named(name), None)
            case Establish(finding=SensorsToTest(sensors=sensors)) if sensors[1:]:
                self._left = dict(_of_several(self._left, sensors))
            case Establish(finding=SensorBegun(sensor=sensor, sensors=number)):
                self._sensor = sensor if number > 1 else ""
            case Establish(finding=SensorsJudged()):
                self._sensor = ""
            case Form() if isinstance(response, Mapping):
                self._leave_out(request.expand(response))
            case Confirm() | Known(question=Confirm()):
                key = request.key if isinstance(request, Confirm) else request.question.key
                self._leave_out({key: response is not False})

    def _leave_out(self, answers: Answers) -> None:
        for key, phase in self._offers.items():
            if answers.get(key) is False:
                self._left.pop(self._named(phase), None)

    def _named(self, phase: str) -> str:
        """The phase as the sensor under test goes through it."""
        return phase_of(phase, self._sensor) if phase in OF_EACH else phase


def _of_several(left: Mapping[str, float], sensors: Sequence[str]) -> Iterator[tuple[str, float]]:
    """What is left once it is known that these are tested one after the other."""
    each = [(name, takes_s) for name, takes_s in left.items() if name in OF_EACH]
    for name, takes_s in left.items():
        if name == each[0][0]:
            yield PATHS.name, PATHS_S * len(sensors)
            yield from ((phase_of(one, sensor), seconds) for sensor in sensors for one, seconds in each)
        if name not in OF_EACH:
            yield name, takes_s
