"""What a run has already shown of the sensor, kept so that a diagnosis can begin from it, now or on another day."""

from collections.abc import Iterable

from commission.asking.response import WatchTaken
from commission.asking.steps import Steps, establish, recall
from commission.evidence.findings.loop import TestsDone
from commission.evidence.findings.wiring import MeterCheck
from commission.judge.diagnosis import Observation
from commission.judge.wording import counted
from commission.procedure.loop.filament_seen import steadily_out
from commission.procedure.loop.moving_wiggle import MovingWiggle, moving_probe
from commission.procedure.loop.trials import Series
from commission.procedure.loop.unplug import UnplugResult
from commission.procedure.wiring.candidates import for_record, observations_of, observed, restarted
from commission.vocabulary import Presence
from commission.wiring.prediction import Probe

PROBES = {Presence.IN: Probe.FILAMENT_IN, Presence.OUT: Probe.FILAMENT_OUT}


def of_loop_check(
    series: Series,
    wiggle: WatchTaken | None = None,
    unplugged: UnplugResult | None = None,
    moving: MovingWiggle | None = None,
) -> list[Observation]:
    """The trials and both wiggles fall into one power-up, each unplugged reading into one of its own."""
    seen = [
        observed(PROBES[prompt.presence], [reading.reading for reading in taken.dwell], 0)
        for prompt, taken in series.standing_trials
    ]
    if wiggle is not None:
        seen.append(observed(worked_probe(wiggle), [reading.reading for reading in wiggle.readings], 0))
    if moving is not None:
        readings = [reading.reading for reading in moving.taken.readings]
        seen.append(observed(moving_probe(moving.taken), readings, 0))
    off = UnplugResult() if unplugged is None else unplugged
    for power_up, result in enumerate(off.at_board, 1):
        seen.append(observed(Probe.UNPLUGGED_AT_BOARD, result.readings, power_up))
    if off.at_sensor is not None:
        own = len(off.at_board) + 1
        seen.append(observed(Probe.UNPLUGGED_AT_SENSOR, off.at_sensor.readings, own))
    return [one for one in seen if one is not None]


def worked_probe(wiggle: WatchTaken) -> Probe:
    """What a wiggle shows: one that read out all the time says what filament in reads, and nothing of the cable."""
    return Probe.FILAMENT_IN if steadily_out(wiggle.readings) else Probe.CABLE_WORKED


def broken_off(series: Series, *, wiggling: bool) -> list[Observation]:
    """The same for a loop check that a restart or a lost link ended, with what was being tried then."""
    trying = Probe.CABLE_WORKED if wiggling else PROBES.get(series.asked, Probe.FILAMENT_OUT)
    return [*of_loop_check(series), restarted(trying, 0)]


def keep_tests(observations: Iterable[Observation]) -> Steps[None]:
    """Record them."""
    kept = for_record(observations)
    said = f"Readings kept for a diagnosis: {counted(len(kept), 'test')}."
    yield from establish(TestsDone(sentences=(said,), observations=kept))


def seen_before(*, earlier: bool = False) -> Steps[list[Observation]]:
    """What this run's record holds, or that of earlier ones, the meter sheet included."""
    metered = {probe.value for probe in Probe if probe.metered}
    done = yield from _recalled(TestsDone, earlier=earlier)
    if any(one.test in metered for one in done):
        return done
    return [*(yield from _recalled(MeterCheck, earlier=earlier)), *done]


def _recalled(kind: type[TestsDone] | type[MeterCheck], *, earlier: bool) -> Steps[list[Observation]]:
    found = yield from recall(kind, earlier=earlier)
    return [] if found is None else observations_of(found.observations)
