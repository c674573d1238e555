"""The prediction of the declared wiring beside the measurement."""

from pathlib import Path

import pytest

from commission.evidence.findings.loop import UnpluggedAtBoard, UnpluggedSetAside
from commission.evidence.findings.wiring import PredictedPair, PredictedState, Wiring, WiringAssessed
from commission.judge.power import PowerSeen
from commission.report.document import Table
from commission.report.predicted import predicted_section
from commission.report.record import read_run
from commission.vocabulary import Level, Presence, Reading
from tests.report.scripted_run import NUMBER, ScriptedRun
from tests.support.made import made


def state(concluded: Presence | None) -> PredictedState:
    """What the firmware concludes; None where nothing decides it."""
    return PredictedState(level=Level.FLOATING, concluded=concluded, supply_short=False)


def sound(unplugged: Presence | None) -> WiringAssessed:
    """The assessment of a wiring that reads right when sound."""
    both = PredictedPair(filament_in=state(Presence.IN), filament_out=state(Presence.OUT))
    off = PredictedPair(filament_in=state(unplugged), filament_out=state(unplugged))
    return made(WiringAssessed, states={"sound": both, "unplugged": off})


def rows(run: ScriptedRun) -> list[tuple[str, ...]]:
    """The rows of the table, or none."""
    blocks = predicted_section(read_run(run.book, NUMBER)).blocks
    return [row for block in blocks if isinstance(block, Table) for row in block.rows]


def test_each_state_is_counted_and_compared(tmp_path: Path) -> None:
    """Trials that stand are counted by what they were read as; a voided one and a leave-it prompt are not."""
    run = ScriptedRun(tmp_path)
    run.start()
    run.finding(Wiring, "Declared.", assessment=sound(Presence.OUT))
    run.trial(1, "insert", "in", ["active"] * 5)
    run.trial(2, "leave it", "in", ["inactive"] * 5)
    run.trial(3, "withdraw", "out", ["active"] * 5)
    run.trial(3, "withdraw", "out", ["inactive"] * 5, void_reason="dropped it")
    run.trial(4, "withdraw", "out", ["inactive"] * 5)
    run.watch("Unplugged", None, ["inactive"] * 5, key="unplugged.1")
    run.watch("Unplugged", None, ["inactive"] * 5, key="unplugged.2")

    assert [
        ("filament in", "in", "in in 1 of 1", "agrees"),
        ("filament out", "out", "in in 1 of 2, out in 1 of 2", "differs"),
        ("sensor unplugged", "out", "out in 2 of 2", "agrees"),
    ] == rows(run)


def test_what_counts_for_nothing_is_not_compared(tmp_path: Path) -> None:
    """An unread trial, and a power-up in which another plug was pulled, are in the record and not in the table."""
    run = ScriptedRun(tmp_path)
    run.start()
    run.finding(Wiring, "Declared.", assessment=sound(Presence.OUT))
    run.trial(1, "insert", "in", ["active"] * 3 + ["unknown"] * 2)
    run.trial(2, "insert", "in", ["active"] * 5)
    run.watch("Unplugged", None, ["active"] * 5, key="unplugged.1")
    run.watch("Unplugged: filament out", "out", ["inactive"] * 5, key="still_plugged.withdraw")
    run.finding(UnpluggedSetAside, "The reading followed the filament.", key="unplugged.1")
    assert ["in in 1 of 1", "not measured", "not measured"] == [row[2] for row in rows(run)]

    run.watch("Unplugged", None, ["inactive"] * 5, key="unplugged.1")
    seen = {"readings": (Reading.INACTIVE,), "watched": (True,), "power": (PowerSeen.POWER_OFF,)}
    run.finding(UnpluggedAtBoard, "It read out.", **seen)
    assert ("sensor unplugged", "out", "out in 1 of 1", "agrees") == rows(run)[2]


@pytest.mark.parametrize("predicted", [None, Presence.OUT])
def test_what_was_not_measured_or_not_predicted_is_not_judged(predicted: Presence | None, tmp_path: Path) -> None:
    """Silence on either side neither agrees nor differs."""
    run = ScriptedRun(tmp_path)
    run.start()
    run.finding(Wiring, "Declared.", assessment=sound(predicted))

    assert {"not judged"} == {row[3] for row in rows(run)}


def test_without_a_declared_wiring_nothing_is_compared(tmp_path: Path) -> None:
    """A run in which no wiring was declared has no such section."""
    run = ScriptedRun(tmp_path)
    run.start()

    assert [] == rows(run)
