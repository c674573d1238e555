"""Family C: sensors by name, the host's state, and its pauses."""

from pathlib import Path

import pytest

from tests.fake_printer.jobs import asked, printing, run_out, still_prints, streaming
from tests.fake_printer.line import Host

QUERY = "QUERY_FILAMENT_SENSOR SENSOR="


@pytest.mark.parametrize(
    ("unit", "lines"),
    [
        ("c-sensor", ["// Filament Sensor spool_left: filament {}detected", "ok"]),
        ("c-oldest", ["// Switch Sensor: filament {}detected", "ok"]),
    ],
)
def test_sensor_follows_the_filament(unit: str, lines: list[str]) -> None:
    """By its name a sensor is detected with filament in, and not detected without it or unplugged."""
    host = Host(unit)
    said = [host.ask(f"{QUERY}spool_left")]
    for deed in (("insert",), ("unplug", "sensor")):
        host.do(*deed)
        said.append(host.ask(f"{QUERY}spool_left"))

    assert [[line.format(word) for line in lines] for word in ("not ", "", "not ")] == said


def test_a_host_that_begins_serves_in_a_while() -> None:
    """Every question is answered by a fault at first, and after its twenty seconds as by any other."""
    host = Host("c-begins")

    assert "!! The host is not ready" in host.ask(f"{QUERY}spool_left")
    host.after(21.0)
    assert ["// ExampleC state: Ready", "ok"] == host.ask("STATUS")
    assert ["// Filament Sensor spool_left: filament not detected", "ok"] == host.ask(f"{QUERY}spool_left")


def test_a_host_in_a_macro_answers_everything_at_once() -> None:
    """Not a byte while it runs; then each question that came is answered, in order."""
    host = Host("c-busy")
    host.send("M115")
    host.send("STATUS")

    assert [] == host.after(85.0)
    said = host.after(10.0)
    assert 2 == said.count("ok") + sum(line.startswith("ok ") for line in said)
    assert "// ExampleC state: Ready" in said


def test_dictionary_says_whether_it_is_watched() -> None:
    """Switched off in silence, a sensor is told not to be watched, until the host restarts."""
    host = Host("c-dictionary")

    assert ["ok"] == host.ask("SET_FILAMENT_SENSOR SENSOR=spool_left ENABLE=0")
    assert "// {'filament_detected': False, 'enabled': False}" == host.ask(f"{QUERY}spool_left")[1]
    host.send("FIRMWARE_RESTART")
    host.after(10.0)
    assert "// {'filament_detected': False, 'enabled': True}" == host.ask(f"{QUERY}spool_left")[1]


def test_two_sensors_have_names_of_their_own() -> None:
    """Filament in the second sensor is told under its name and not under the first one's."""
    host = Host("c-two-sensors")

    assert [": filament not detected", ": filament detected"] == [
        host.ask(f"{QUERY}{name}")[0].removeprefix(f"// Filament Sensor {name}")
        for name in ("spool_left", "spool_right")
    ]


@pytest.mark.parametrize(
    ("unit", "command", "said"),
    [
        ("c-sensor", f"{QUERY}Spool_Left", "!! The value 'Spool_Left' is not valid for SENSOR"),
        ("c-sensor", "QUERY_FILAMENT_SENSOR", "!! Error on 'QUERY_FILAMENT_SENSOR': missing SENSOR"),
        ("family-c", f"{QUERY}spool_left", '// Unknown command:"QUERY_FILAMENT_SENSOR"'),
        ("c-sensor", "QUERY_BUTTON BUTTON=knob", "!! The value 'knob' is not valid for BUTTON"),
        ("c-sensor", "M205", '// Unknown command:"M205"'),
    ],
)
def test_wrong_question_is_acknowledged(unit: str, command: str, said: str) -> None:
    """A wrong name, a missing one and an unknown word say so, and are acknowledged like any other."""
    assert [said, "ok"] == Host(unit).ask(command)


def test_commands_are_listed_and_sensors_are_not() -> None:
    """The list of commands names the question and no sensor."""
    lines = Host("c-sensor").ask("HELP")

    assert "// QUERY_FILAMENT_SENSOR" in lines
    assert not any("spool" in line for line in lines)


@pytest.mark.parametrize(
    ("unit", "state", "fault"),
    [
        ("c-not-ready", "// ExampleC state: Not ready", "!! The host is not ready"),
        ("c-shutdown", "// ExampleC state: Shutdown", "!! Board 'bench' shutdown: The board's link was lost"),
    ],
)
def test_host_that_does_not_serve(unit: str, state: str, fault: str) -> None:
    """Its state has a fault line; so has every other answer; it still says who it is, and serves after a restart."""
    host = Host(unit)
    status = host.ask("STATUS")

    assert state in status
    assert [fault, "ok"] == status[-2:]
    assert [fault, "ok"] == host.ask(f"{QUERY}spool_left")[-2:]
    assert ["ok T:0"] == host.ask("M105")
    assert host.ask("M115")[0].startswith("ok FIRMWARE_VERSION:")
    host.send("FIRMWARE_RESTART")
    assert ["// ExampleC state: Ready", "ok"] == host.after(10.0)
    assert ["// ExampleC state: Ready", "ok"] == host.ask("STATUS")


def test_emergency_stop_shuts_it_down() -> None:
    """It stops, says its state unasked and answers everything with a fault from then on."""
    host = Host("c-sensor")
    said = host.ask("M112")

    assert {"// ExampleC state: Shutdown", "!! Shutdown due to M112 command", "ok"} == set(said)
    assert "!! Board 'bench' shutdown: Stopped by M112" in host.ask("G28")


def test_no_keepalives() -> None:
    """However long something takes, nothing is said meanwhile, and a question waits behind it."""
    host = Host("c-sensor")
    host.send("G28")
    host.send(f"{QUERY}spool_left")

    assert [] == host.after(7.0)
    assert ["ok", "// Filament Sensor spool_left: filament not detected", "ok"] == host.after(5.0)


def test_numbers_and_checksums_are_not_looked_at() -> None:
    """A line with a wrong number and a wrong checksum is taken like any other, and nothing is asked for again."""
    assert ["// Filament Sensor spool_left: filament not detected", "ok"] == Host("c-sensor").ask(
        f"N77 {QUERY}spool_left*1"
    )


def test_runout_pauses_a_job_from_the_card(tmp_path: Path) -> None:
    """Free text is said and no action; the job waits until it is resumed."""
    host = printing("c-sensor", tmp_path)

    assert ["// Parked: put filament in, then resume"] == run_out(host)
    assert not still_prints(host)
    assert ["// Print already paused", "ok"] == host.ask("PAUSE")
    host.do("insert")
    assert ["// action:resume", "ok"] == host.ask("RESUME")
    assert still_prints(host)
    assert ["// Print is not paused, resume aborted", "ok"] == asked(host, "RESUME")


def test_settings_may_pause_nothing(tmp_path: Path) -> None:
    """Where the settings only run a macro, the job goes on."""
    host = printing("c-says-only", tmp_path)

    assert ["// The bench macro for the sensor was run"] == run_out(host, 5.0)
    assert still_prints(host)


def test_streaming_host_is_asked_to_pause() -> None:
    """In moves that a host sends a runout is told by an action, but not in the first two seconds."""
    host = streaming("c-sensor", "G1 X4 E4 F600")
    host.printer.perform("cut", "1")

    assert [] == host.after(1.5)
    assert "// action:pause" == host.after(5.0)[0]


def test_movement_is_remembered(tmp_path: Path) -> None:
    """A sensor of movement is not detected before the first pulse, and detected while filament moves."""
    still = Host("c-motion").ask(f"{QUERY}spool_left")[0]
    fed = asked(printing("c-motion", tmp_path), f"{QUERY}spool_left")[0]

    assert "not detected" in still
    assert "not detected" not in fed


def test_borrowed_socket_is_a_button() -> None:
    """The socket of a switch is read by its name, and the sensor's plug in it moves it."""
    host = Host("c-borrowed")
    said = [host.ask("QUERY_BUTTON BUTTON=x_max")[0]]
    host.do("plug-into", "x_max")
    for deed in ("insert", "withdraw"):
        host.do(deed)
        said.append(host.ask("QUERY_BUTTON BUTTON=x_max")[0])

    assert ["// x_max: RELEASED", "// x_max: RELEASED", "// x_max: PRESSED"] == said
    assert "x_max:TRIGGERED" in host.ask("M119")[0]
