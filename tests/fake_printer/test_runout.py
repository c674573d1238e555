"""The runout logic, its gates, and the change of filament."""

from typing import Any

import pytest

from tests.fake_printer.line import Host

ANNOUNCED = [
    "//action:prompt_end",
    "//action:prompt_begin FilamentRunout T0",
    "//action:prompt_show",
    "//action:paused filament_runout 0",
]


def printing(unit: str = "sound", *, distance_mm: float = 0.0, job: bool = True, **changes: Any) -> Host:
    """A unit with filament in, cold extrusion allowed and a job running."""
    host = Host(unit, **changes)
    host.do("insert")
    for line in (f"M412 D{distance_mm}", "M302 P1", "G91", "M83", *(["M75"] if job else [])):
        host.ask(line)
    return host


def test_runout_is_announced_and_the_change_begins() -> None:
    """Without a leftover distance the runout is announced some milliseconds after withdrawal, and the change begins."""
    host = printing()
    host.do("withdraw", settle_s=0.4)

    assert ANNOUNCED == host.lines()[:4]
    assert host.printer.state()["running"] == "M600"


@pytest.mark.parametrize(
    ("gate", "command"), [("not enabled", "M412 S0"), ("no job", "M77"), ("handed to the host", "M412 H1")]
)
def test_shut_gate_prevents_the_change(gate: str, command: str) -> None:
    """With a gate shut the withdrawal starts no change of filament."""
    host = printing()
    host.ask(command)
    host.do("withdraw", settle_s=5)

    assert host.printer.state()["running"] is None


def test_host_alone_is_told_and_nothing_else_happens() -> None:
    """A runout handed to the host is announced as an order to it, and once only."""
    host = printing()
    host.ask("M412 H1")
    host.do("withdraw", settle_s=5)

    assert [
        *ANNOUNCED[:3],
        "//action:out_of_filament T0",
        "//action:pause filament_runout 0",
    ] == host.lines()


def test_build_without_support_sees_nothing() -> None:
    """A build without runout support prints on."""
    host = printing("not-compiled-in")
    host.do("withdraw", settle_s=5)

    assert [] == host.lines()


def test_short_lapse_is_no_runout() -> None:
    """A lapse of three milliseconds is too short to count."""
    host = printing()
    host.printer.perform("unplug", "board")
    host.printer.advance(0.003)
    host.printer.perform("plug", "board")
    host.printer.advance(1)

    assert [] == host.lines()


def test_leftover_distance_is_consumed_by_travelling_moves_only() -> None:
    """With 20 mm left over, feeding in place counts nothing; the runout comes with the move that goes beyond 20 mm."""
    host = printing(distance_mm=20)
    host.do("withdraw")
    host.ask("G1 E30 F600")

    assert [] == host.after(5)

    for _ in range(4):
        host.ask("G1 X5 E5 F600")
    quiet = host.after(5)
    host.ask("G1 X5 E5 F600")

    assert [] == quiet
    assert ANNOUNCED == host.after(2)[:4]


def test_present_again_starts_the_count_anew() -> None:
    """Filament that reads present in between gives the whole leftover distance back."""
    host = printing(distance_mm=20)
    host.do("withdraw")
    for _ in range(3):
        host.ask("G1 X5 E5 F600")
    host.after(5)
    host.do("insert")
    host.do("withdraw")
    for _ in range(4):
        host.ask("G1 X5 E5 F600")

    assert [] == host.after(5)


def test_moves_in_the_planner_are_finished_first() -> None:
    """The change waits for the moves already planned: five of half a second."""
    host = printing()
    for _ in range(5):
        host.ask("G1 X5 E1 F600")
    host.do("withdraw", settle_s=0.4)
    host.lines()

    assert "//action:paused" not in host.after(1.9)
    assert "//action:paused" in host.after(0.4)


def test_cold_change_is_refused_where_the_build_refuses() -> None:
    """A cold nozzle without permission ends the change with a word."""
    host = printing()
    host.ask("M302 P0")
    host.do("withdraw", settle_s=5)

    assert "echo:Hotend too cold" in host.lines()
    assert host.printer.state()["running"] is None


def test_cold_change_may_heat_by_itself() -> None:
    """A build of the other kind turns the heater on by itself for a change."""
    host = printing(firmware={"cold_change": "heat"})
    host.ask("M302 P0")
    host.do("withdraw", settle_s=5)

    assert host.printer.state()["targets_c"]["hotend"] == 190  # type: ignore[index]


def to_the_nozzle(host: Host) -> list[str]:
    """Run out and go on until a person is waited for."""
    host.do("withdraw", settle_s=12)
    assert host.printer.state()["waiting_for_person"]
    return host.lines()


def test_nothing_but_emergency_words_is_taken_while_waiting() -> None:
    """While a person is waited for, a query stays unanswered and the keepalive says so."""
    host = printing()
    to_the_nozzle(host)
    host.send("M119")

    assert {"echo:busy: paused for user"} == set(host.after(6))


def test_change_goes_on_over_the_line() -> None:
    """Told to go on over the line, the printer loads, purges and asks; the second answer has it resume and serve."""
    host = printing()
    before = to_the_nozzle(host)
    host.do("insert")
    host.ask("M108")
    purged = host.after(20)
    host.ask("M876 S1")
    after = host.after(5)

    assert "echo:Insert filament and send M108" in before
    assert ["//action:prompt_begin Nozzle Parked", "//action:prompt_button Continue"] == [
        line for line in before if "Parked" in line or "Continue" in line
    ]
    assert ["//action:prompt_button PurgeMore", "//action:prompt_button Continue"] == [
        line for line in purged if "button" in line
    ]
    assert {"//action:resumed", "ok"} <= set(after)
    assert not host.printer.state()["runout"]["latched"]  # type: ignore[index]


def test_purge_more_asks_again() -> None:
    """The first choice purges once more and asks again."""
    host = printing()
    to_the_nozzle(host)
    host.do("insert")
    host.ask("M108")
    host.after(20)
    host.ask("M876 S0")

    assert "//action:prompt_begin Paused" in host.after(20)


def test_still_absent_offers_to_give_up_watching() -> None:
    """While the input still reads absent, the second choice switches the watching off."""
    host = printing()
    to_the_nozzle(host)
    host.ask("M108")
    offered = host.after(20)
    host.ask("M876 S1")
    host.after(5)

    assert "//action:prompt_button DisableRunout" in offered
    assert not host.printer.state()["runout"]["enabled"]  # type: ignore[index]


def test_second_runout_is_seen_without_a_restart() -> None:
    """After a change the next runout is announced like the first."""
    host = printing()
    to_the_nozzle(host)
    host.do("insert")
    host.ask("M108")
    host.after(20)
    host.ask("M876 S1")
    host.after(5)
    host.do("withdraw")

    assert set(ANNOUNCED) <= set(host.lines())


def test_nozzle_cools_while_nobody_comes() -> None:
    """After the time-out the heater is off and announced; the first answer heats, the second goes on."""
    host = printing()
    host.ask("M302 P0")
    host.ask("M104 S200")
    host.after(70)
    host.do("withdraw", settle_s=12)
    host.lines()
    waiting = host.after(60)
    target_c = host.printer.state()["targets_c"]["hotend"]  # type: ignore[index]
    host.do("insert")
    host.ask("M108")
    heated = host.after(60)
    host.ask("M108")

    assert "echo:Send M108 to heat nozzle" in waiting
    assert target_c == 0
    assert {"//action:prompt_begin Reheating", "//action:prompt_begin Reheat Done"} <= set(heated)
    assert "//action:prompt_begin Paused" in host.after(20)


def test_display_answers_where_there_is_one() -> None:
    """A printer with a display of its own goes on when its button is pressed."""
    host = printing("old-forms")
    host.do("withdraw", settle_s=12)
    host.do("insert")
    host.printer.perform("button")
    host.after(20)
    host.printer.perform("answer-pause", "continue")

    assert host.after(5) is not None
    assert host.printer.state()["running"] is None


def test_spool_runs_empty_in_a_real_print() -> None:
    """A cut filament is drawn past the sensor by the gear, and the runout comes one leftover distance later."""
    host = printing(distance_mm=10)
    host.do("cut", "20")
    moves = 0
    while host.printer.state()["running"] != "M600" and moves < 60:
        host.ask("G1 X1 E1 F600")
        host.after(0.2)
        moves += 1

    # 20 mm to the trip point, 2 mm of the lever's hysteresis, 10 mm left over, and the block that goes beyond
    assert 32 <= moves <= 34
