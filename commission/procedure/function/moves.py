"""What comes before and after the test moves: homed, raised, hot or permitted cold, a job started; and put back."""

from collections.abc import Sequence

from commission.asking.message import Tell, Weight
from commission.asking.moving import Listen
from commission.asking.steps import Steps, ask, listen
from commission.dialect.commands import (
    COLD_EXTRUSION,
    HEATERS_OFF,
    HOME,
    RELATIVE_EXTRUSION,
    RELATIVE_MOVES,
    START_JOB,
    STOP_JOB,
    TEMPERATURES,
    hotend_target,
    move,
    permit_cold_extrusion,
    temperature_reports,
)
from commission.dialect.reports import Heater, cold_extrusion_of, temperatures_of
from commission.judge.gates import Heat
from commission.procedure.function.card_test import end_card_job
from commission.procedure.function.gates import heat_of
from commission.procedure.function.plan import RAISE_MM, RELEASE, FunctionPlan, Mode

HOMING_S = 120.0
MOVE_S = 30.0
HEAT_EVERY_S = 2.0
HEAT_WITHIN_S = 600.0
NEAR_C = 3.0
REPORT_EVERY_S = 5
RAISE = move(z_mm=RAISE_MM, speed_mm_s=5)


def prepare(plan: FunctionPlan) -> Steps[Heat | None]:
    """Everything the moves need, each under the one release; returns what lets the drive turn.

    A card job brings its own permission for cold extrusion along, and takes it back.
    """
    if plan.mode is Mode.CARD:
        return Heat.COLD_ALLOWED
    if not plan.homed:
        yield Tell(("All axes are homed now; leave the filament as it is until the screen says otherwise.",))
        yield from ask(HOME, HOMING_S, RELEASE)
    for command in (RELATIVE_MOVES, RELATIVE_EXTRUSION, RAISE):
        yield from ask(command, MOVE_S, RELEASE)
    if plan.hot:
        yield from ask(temperature_reports(REPORT_EVERY_S), 5.0, RELEASE)
        yield from heat_nozzle(plan.celsius, RELEASE)
    else:
        yield from ask(permit_cold_extrusion(on=True), 5.0, RELEASE)
    if plan.starts_job:
        yield from ask(START_JOB, 5.0, RELEASE)
    cold = cold_extrusion_of((yield from ask(COLD_EXTRUSION)).lines)
    temperatures = temperatures_of((yield from ask(TEMPERATURES)).lines)
    return heat_of(temperatures, None if cold is None else (cold.allowed, cold.limit_c))


def restart_job() -> Steps[None]:
    """End the job at the board and begin another, as a print that follows would."""
    for command in (STOP_JOB, START_JOB):
        yield from ask(command, 5.0, RELEASE)


def put_back(plan: FunctionPlan) -> Steps[None]:
    """Heaters off and the job ended as soon as the test is over; the way out reads all of it back."""
    if plan.mode is Mode.CARD:
        yield from end_card_job()
        return
    for command in (*HEATERS_OFF, *([STOP_JOB] if plan.starts_job else [])):
        yield from ask(command, 5.0, RELEASE)


def _how_hot(celsius: float, nozzles: Sequence[Heater]) -> tuple[str, str]:
    """What is said while it heats: in steps of 50 °C, and to the degree."""
    heating = f"heating to {celsius:.0f} °C"
    if not nozzles:
        return f"{heating}; now not told", ""
    now_c = nozzles[-1].actual_c
    return f"{heating}; now above {now_c // 50 * 50:.0f} °C", f"{heating}; now {now_c:.0f} °C"


def heat_nozzle(celsius: float, key: str) -> Steps[bool]:
    """Heat without blocking the printer, so that it can be stopped at any moment.

    Args:
        celsius: to what.
        key: of the release under which it heats.

    Returns:
        Whether it came to that; where not, it is told.
    """
    yield from ask(hotend_target(celsius), 5.0, key)
    waited_s = 0.0
    while waited_s < HEAT_WITHIN_S:
        reports = temperatures_of((yield from ask(TEMPERATURES)).lines)
        nozzles = [heater for report in reports for name, heater in report.heaters.items() if name in ("T", "T0")]
        if nozzles and nozzles[-1].actual_c >= celsius - NEAR_C:
            return True
        yield from listen(Listen(HEAT_EVERY_S, frozenset(), *_how_hot(celsius, nozzles)))
        waited_s += HEAT_EVERY_S
    said = f"The nozzle did not reach {celsius:.0f} °C in {HEAT_WITHIN_S / 60:.0f} minutes."
    yield Tell((said,), weight=Weight.CAUTION)
    return False
