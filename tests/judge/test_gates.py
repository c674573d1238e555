"""Gates: each shut in turn, unknown until established, and the first shut one is the finding."""

from dataclasses import replace
from typing import Any

import pytest

from commission.judge.gates import GateEvidence, GateState, Heat, How, first_shut, gates, unknown

ALL_OPEN = GateEvidence(
    support_announced=True,
    control_known=True,
    switch_reported=True,
    enabled=True,
    enabled_after_power=True,
    host_handling=False,
    job_known=True,
    latched=False,
    leftover_mm=20,
    leftover_max_mm=22,
    moves_travel=True,
    heat=Heat.HOT,
    display=False,
    emergency_words=True,
    on_main_board=True,
)


def test_nothing_known_is_nothing_open() -> None:
    """Without evidence every gate is unknown and has a cure, and none is the finding."""
    row = gates(GateEvidence())

    assert [GateState.UNKNOWN] * 11 == [gate.state for gate in row]
    assert all(gate.cure for gate in row)
    assert first_shut(row) is None
    assert row == unknown(row)


def test_every_gate_can_be_open() -> None:
    """A sound printer in a warm test has eleven open gates and no cure to offer."""
    row = gates(ALL_OPEN)

    assert [GateState.OPEN] * 11 == [gate.state for gate in row]
    assert [""] * 11 == [gate.cure for gate in row]


@pytest.mark.parametrize(
    ("key", "changes"),
    [
        ("support", {"support_announced": False, "control_known": None, "switch_reported": False}),
        ("main_board", {"switch_reported": False, "on_main_board": False}),
        ("watching", {"enabled": False}),
        ("after_power", {"enabled_after_power": False}),
        ("not_host_alone", {"host_handling": True}),
        ("job", {"job_known": False}),
        ("not_latched", {"latched": True}),
        ("leftover", {"leftover_mm": 25, "leftover_max_mm": 7}),
        ("moves", {"moves_travel": False}),
        ("heat", {"heat": Heat.TOO_COLD}),
        ("answer", {"display": False, "emergency_words": False}),
    ],
)
def test_a_shut_gate_is_the_finding(key: str, changes: dict[str, Any]) -> None:
    """Shut in turn, each gate is the one that is named, with what to do."""
    found = first_shut(gates(replace(ALL_OPEN, **changes)))

    assert found is not None
    assert key == found.key
    assert found.cure != ""


def test_the_first_shut_gate_is_named() -> None:
    """With several shut, the one that a runout meets first is the finding."""
    row = gates(replace(ALL_OPEN, host_handling=True, job_known=False, heat=Heat.TOO_COLD))

    found = first_shut(row)

    assert found is not None
    assert "not_host_alone" == found.key


def test_what_stops_a_pause_is_named_before_what_delays_it() -> None:
    """A leftover distance that is too long lets the pause come: the other gate is the finding."""
    row = gates(replace(ALL_OPEN, leftover_mm=25, leftover_max_mm=7, display=False, emergency_words=False))

    found = first_shut(row)

    assert found is not None
    assert ("answer", False) == (found.key, found.only_late)


def test_how_it_is_known_fits_beside_the_name() -> None:
    """In a row of 78 columns there is room for the longest name, its state, and how it was established."""
    assert max(len(gate.title) for gate in gates(ALL_OPEN)) <= 40
    assert 40 + max(len(how.short) for how in How) + len("  | [###] unknown ") + 2 <= 78


def test_a_leftover_without_geometry_is_not_known() -> None:
    """A leftover distance alone says nothing: whether it fits takes the way to the gear."""
    (gate,) = [gate for gate in gates(replace(ALL_OPEN, leftover_max_mm=None)) if gate.key == "leftover"]

    assert (GateState.UNKNOWN, How.NOT) == (gate.state, gate.how)


def test_a_path_without_room_has_its_own_cure() -> None:
    """Where not even no leftover fits, the cure is to move the sensor (A 12 with 25 mm: common practice, no source)."""
    row = gates(replace(ALL_OPEN, leftover_mm=25, leftover_max_mm=-6))

    found = first_shut(row)

    assert found is not None
    assert "Set none and move the sensor further up: the path is too short for any." == found.cure


@pytest.mark.parametrize(
    ("leftover", "largest", "state", "reason", "cure"),
    [
        (22, 22, GateState.OPEN, "the path allows at most 22.0 mm.", ""),
        (0, 0, GateState.OPEN, "the path allows at most 0.0 mm.", ""),
        (23, 22, GateState.SHUT, "the path allows at most 22.0 mm.", "Set at most 22.0 mm, or move"),
        (1, 0.5, GateState.SHUT, "the path allows at most 0.5 mm.", "Set at most 0.5 mm, or move"),
        (1, 0, GateState.SHUT, "the path allows at most 0.0 mm.", "Set none and move the sensor"),
        (0, -0.5, GateState.SHUT, "the path allows none.", "Set none and move the sensor"),
    ],
)
def test_a_leftover_may_be_all_that_fits(
    leftover: float, largest: float, state: GateState, reason: str, cure: str
) -> None:
    """The largest that fits is open, and so is none where none fits; what is more is shut with its cure."""
    (gate,) = [
        gate
        for gate in gates(replace(ALL_OPEN, leftover_mm=leftover, leftover_max_mm=largest))
        if gate.title == "the leftover distance fits the path"
    ]

    assert state is gate.state
    assert gate.reason.endswith(reason)
    assert gate.cure.startswith(cure)
    assert bool(cure) == bool(gate.cure)


@pytest.mark.parametrize(
    ("announced", "control", "listed", "state"),
    [
        (None, None, True, GateState.OPEN),
        (True, None, False, GateState.OPEN),
        (None, True, False, GateState.OPEN),
        (False, None, False, GateState.SHUT),
        (None, False, False, GateState.SHUT),
        (None, None, False, GateState.UNKNOWN),
    ],
)
def test_one_sign_of_support_is_enough(
    announced: bool | None, control: bool | None, listed: bool, state: GateState
) -> None:
    """Any of three says that it is built in, either of two says that it is not, and without a sign nobody knows."""
    known = replace(ALL_OPEN, support_announced=announced, control_known=control, switch_reported=listed)

    assert state is gates(known)[0].state


@pytest.mark.parametrize(
    ("display", "words", "state"),
    [
        (None, None, GateState.UNKNOWN),
        (False, None, GateState.UNKNOWN),
        (None, False, GateState.UNKNOWN),
        (False, False, GateState.SHUT),
        (True, None, GateState.OPEN),
        (None, True, GateState.OPEN),
    ],
)
def test_no_way_to_answer_takes_two_noes(display: bool | None, words: bool | None, state: GateState) -> None:
    """While one of the two ways is not known, it may be there."""
    assert state is gates(replace(ALL_OPEN, display=display, emergency_words=words))[-1].state


def test_a_gate_says_what_holds_and_what_does_not() -> None:
    """On, off and not known each have their sentence."""
    for enabled, said in (
        (True, "Runout detection is on."),
        (False, "Runout detection is off: the switch is read, and nothing is done about it."),
        (None, "Whether runout detection is on is not stated."),
    ):
        assert said == gates(replace(ALL_OPEN, enabled=enabled))[2].reason


def test_permission_for_cold_extrusion_carries_its_warning() -> None:
    """An open heat gate in a cold test says that a newer build may heat by itself."""
    (gate,) = [gate for gate in gates(replace(ALL_OPEN, heat=Heat.COLD_ALLOWED)) if gate.key == "heat"]

    assert GateState.OPEN is gate.state
    assert "heat the nozzle by themselves" in gate.reason
