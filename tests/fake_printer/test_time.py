"""Moves, heat, long operations, and stopping them."""

import pytest

from tests.fake_printer.line import Host

BUSY = "echo:busy: processing"


def test_moves_are_acknowledged_until_the_planner_is_full() -> None:
    """Fifteen moves go into the planner and four into the ring; the next acknowledgement waits for a move to end."""
    host = Host(firmware={"keepalive_s": 0.0})
    host.ask("G91")
    for _ in range(19):
        host.send("G1 X10 F600")

    assert ["ok"] * 15 == host.lines()
    assert ["ok"] == host.after(1.05)
    assert ["ok"] * 3 == host.after(3.05)


def test_planned_and_real_position_differ() -> None:
    """The position report is where the moves will end; the switches follow where the axes are."""
    host = Host()
    host.ask("G90")
    host.ask("G1 X0 F600")

    assert "X:0.00" in host.ask("M114")[0]
    assert "x_min: open" in host.ask("M119")

    host.after(11.1)

    assert "x_min: TRIGGERED" in host.ask("M119")


def test_homing_holds_up_what_follows() -> None:
    """While homing, nothing is answered but keepalives every two seconds; then everything in order."""
    host = Host()
    host.send("G28")
    host.send("M119")

    assert [BUSY] * 3 == host.after(7.9)
    assert ["ok", "Reporting endstop status", "x_min: TRIGGERED"] == host.after(0.2)[:3]


def test_keepalives_can_be_silenced() -> None:
    """Keepalives obey their interval, and 0 silences them."""
    host = Host()

    assert ["echo:M113 S2", "ok"] == host.ask("M113")

    host.ask("M113 S0")
    host.send("G28")

    assert ["ok"] == host.after(10)


def test_bare_keepalive() -> None:
    """A fork leaves out the beginning of the keepalive."""
    host = Host("letter-states")
    host.send("G4 S3")

    assert ["busy:processing", "ok"] == host.after(3.1)


def test_dwell_takes_its_time() -> None:
    """A dwell of half a second is acknowledged after it."""
    host = Host()

    assert [] == host.ask("G4 P500")
    assert [] == host.after(0.49)
    assert ["ok"] == host.after(0.02)


def test_heating_reports_and_ends() -> None:
    """Waiting for heat reports once a second until two degrees below the target: 46.5 degrees at 3 a second."""
    host = Host()
    host.send("M109 S70")
    lines = host.after(20)

    assert "ok" == lines[-1]
    assert 16 == sum(line.startswith(" T:") and line.endswith("W:?") for line in lines)


def test_old_generation_reports_heat_with_the_tool() -> None:
    """The old form of the waiting report names the tool behind E."""
    host = Host("old-forms")
    host.send("M109 S70")

    assert host.after(1.1)[0] == "T:24.5 E:0 W:?"


def test_nothing_heats_without_mains() -> None:
    """On USB alone the board answers, and nothing gets warm."""
    host = Host()
    host.do("mains", "off")
    host.ask("M104 S200")
    host.after(60)

    assert ["ok T:21.50 /200.00 B:21.50 /0.00 @:127 B@:0"] == host.ask("M105")


def test_hotend_cools_when_off() -> None:
    """A hot nozzle cools by a factor e above the room in its time constant of 150 s."""
    host = Host()
    host.ask("M104 S200")
    host.after(120)
    host.ask("M104 S0")
    host.after(150)
    temperature_c = host.printer.state()["temperatures_c"]["hotend"]  # type: ignore[index]

    assert pytest.approx(21.5 + (200 - 21.5) / 2.71828, abs=0.1) == temperature_c


def test_continue_ends_the_wait_for_heat() -> None:
    """The word to go on is heard while heat is waited for, and its line is acknowledged after."""
    host = Host()
    host.send("M109 S250")
    host.after(3.5)
    host.send("M108")

    assert ["ok", "ok"] == [line for line in host.after(1) if line == "ok"]


def test_heater_off_waits_for_the_end_of_the_operation() -> None:
    """A heater-off sent during homing has no effect until homing is over."""
    host = Host()
    host.ask("M104 S200")
    host.send("G28")
    host.send("M104 S0")
    host.after(7.9)

    assert host.printer.state()["targets_c"]["hotend"] == 200  # type: ignore[index]

    host.after(0.2)

    assert host.printer.state()["targets_c"]["hotend"] == 0  # type: ignore[index]


def test_emergency_stop_is_heard_at_any_time() -> None:
    """The emergency stop ends homing at once, turns the heaters off, and nothing is answered until a restart."""
    host = Host()
    host.ask("M104 S200")
    host.send("G28")

    assert ["Error:Printer halted. kill() called!"] == host.ask("M112")
    assert [] == host.ask("M119")
    assert host.printer.state()["targets_c"]["hotend"] == 0  # type: ignore[index]

    host.do("press-reset", settle_s=5)

    assert host.lines()[0] == "start"


def test_stop_without_emergency_words_waits_for_room() -> None:
    """Without emergency words built in, the stop acts once its line fits into the ring, and not before."""
    host = Host("old-forms")
    host.send("G28")
    for _ in range(3):
        host.send("M105")
    host.send("M112")

    assert [] == [line for line in host.after(4) if "halted" in line]
    assert "Error:Printer halted. kill() called!" in host.after(10)


def test_quick_stop_drops_what_is_planned() -> None:
    """The quick stop forgets the moves in the planner and reports where the axes are."""
    host = Host()
    host.ask("G91")
    for _ in range(5):
        host.ask("G1 X10 F600")
    host.ask("M410")

    assert host.printer.state()["planned_moves"] == 0
    assert "X:110.00" in host.ask("M114")[0]


def test_bytes_beyond_the_buffer_are_lost() -> None:
    """While homing, four lines go into the ring and 128 bytes into the buffer; the rest is lost."""
    host = Host()
    host.send("G28")
    for number in range(60):
        host.send(f"M118 {number:04}")
    answers = [line for line in host.after(10) if line.isdigit()]

    # three beside the homing in the ring, then twelve whole lines of ten bytes and most of a thirteenth
    assert [f"{number:04}" for number in range(15)] == answers[:15]
    assert len(answers) <= 16


@pytest.mark.parametrize(
    ("command", "complaint"),
    [("G1 X120 E5", "echo: cold extrusion prevented"), ("G1 X120 E500", "echo: cold extrusion prevented")],
)
def test_cold_extrusion_is_prevented(command: str, complaint: str) -> None:
    """A cold nozzle lets the axes move and the filament stand."""
    assert [complaint, "ok"] == Host().ask(command)


def test_too_long_extrusion_is_prevented() -> None:
    """More than 200 mm in one move are not extruded, hot or not."""
    host = Host()
    host.ask("M302 P1")

    assert ["echo: too long extrusion prevented", "ok"] == host.ask("G1 E500")


def test_cold_extrusion_can_be_allowed_and_is_reported() -> None:
    """The permission to extrude cold is reported, and goes with the next restart."""
    host = Host()

    assert ["echo:Cold extrudes are disabled (min temp 170C)", "ok"] == host.ask("M302")

    host.ask("M302 P1")

    assert ["echo:Cold extrudes are enabled (min temp 170C)", "ok"] == host.ask("M302")

    host.do("press-reset", settle_s=5)
    host.lines()

    assert ["echo:Cold extrudes are disabled (min temp 170C)", "ok"] == host.ask("M302")


def test_job_timer_counts_while_it_runs() -> None:
    """The job timer runs from its start, stands while paused and is zero when stopped."""
    host = Host()
    host.ask("M75")
    host.after(12)
    host.ask("M76")
    host.after(30)

    assert ["echo:Print time: 12s", "ok"] == host.ask("M31")

    host.ask("M77")

    assert ["echo:Print time: 0s", "ok"] == host.ask("M31")
