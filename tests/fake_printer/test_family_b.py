"""Family B: monitors, the model, both ways of acknowledging, jobs from the card and the user's files."""

import json
from pathlib import Path

import pytest

from tests.fake_printer.jobs import asked, printing, run_out, still_prints, streaming
from tests.fake_printer.line import Host

MODEL = 'M409 K"sensors.filamentMonitors"'
SIMPLE = "Simple filament sensor on"
ABSENT_HIGH = "output high when no filament, filament present:"


def monitors(host: Host) -> object:
    """What stands in the model."""
    return json.loads(host.ask(MODEL)[0])["result"]


@pytest.mark.parametrize(
    ("unit", "described"),
    [
        ("family-b", f"{SIMPLE} pin C10, enabled, {ABSENT_HIGH}"),
        ("b-monitor-off", f"{SIMPLE} pin C10, disabled, {ABSENT_HIGH}"),
        ("b-oldest", f"{SIMPLE} endstop 3, enabled, {ABSENT_HIGH}"),
        ("b-first-model", f"{SIMPLE} pin C10, disabled, {ABSENT_HIGH}"),
        ("b-newest", f"{SIMPLE} pin C10, enabled always, {ABSENT_HIGH}"),
        ("b-silent-event", f"{SIMPLE} pin C10, enabled when printing from SD card, {ABSENT_HIGH}"),
    ],
)
def test_simple_monitor_follows_its_switch(unit: str, described: str) -> None:
    """In every wording, heeded or not, the simple monitor says yes with filament in and no without it or unplugged."""
    host = Host(unit)
    said = [host.ask("M591 D0")]
    for deed in (("insert",), ("withdraw",), ("insert",), ("unplug", "board")):
        host.do(*deed)
        said.append(host.ask("M591 D0"))

    assert [[f"{described} {word}", "ok"] for word in ("no", "yes", "no", "yes", "no")] == said


@pytest.mark.parametrize(
    ("unit", "out", "in_"),
    [
        (
            "family-b",
            {"enabled": True, "status": "noFilament", "type": "simple"},
            {"enabled": True, "status": "ok", "type": "simple"},
        ),
        (
            "b-monitor-off",
            {"enabled": False, "status": "ok", "type": "simple"},
            {"enabled": False, "status": "ok", "type": "simple"},
        ),
        ("b-first-model", {"enabled": False, "filamentPresent": False}, {"enabled": False, "filamentPresent": True}),
        (
            "b-newest",
            {"enableMode": 2, "status": "noFilament", "type": "simple"},
            {"enableMode": 2, "status": "ok", "type": "simple"},
        ),
        (
            "b-magnet-switch",
            {"enableMode": 1, "status": "noFilament", "type": "rotatingMagnet"},
            {"enableMode": 1, "status": "ok", "type": "rotatingMagnet"},
        ),
    ],
)
def test_model_has_the_monitor(unit: str, out: dict[str, object], in_: dict[str, object]) -> None:
    """Each age has its own members; while a monitor is not heeded its status is ok whatever it reads."""
    host = Host(unit)
    before = monitors(host)
    host.do("insert")

    assert ([out], [in_]) == (before, monitors(host))


def test_two_drives_have_a_monitor_each() -> None:
    """Filament in the second sensor is told of drive 1 and not of drive 0."""
    host = Host("b-two-monitors")
    words = [host.ask(f"M591 D{drive}")[0].rpartition(" ")[2] for drive in (0, 1)]
    host.do("withdraw-second")

    assert ["no", "yes"] == words
    assert ["noFilament", "noFilament"] == [each["status"] for each in json.loads(host.ask(MODEL)[0])["result"]]


@pytest.mark.parametrize(
    ("command", "said"),
    [
        ("M591", "Error: M591: missing parameter 'D'"),
        ("M591 D7", "Error: M591: parameter 'D' too high"),
        ("M591 D1", "Extruder 1 has no filament sensor"),
        ("M412", "Error: M412: Command is not supported"),
        ('M409 K"no.such.branch"', '{"key":"no.such.branch","flags":"","result":null}'),
    ],
)
def test_wrong_question_is_acknowledged(command: str, said: str) -> None:
    """A question that has no answer says so, and is acknowledged like any other."""
    assert [said, "ok"] == Host("family-b").ask(command)


def test_letter_more_takes_the_monitor_away() -> None:
    """The query with a kind behind it is a set: kind 0 removes the monitor."""
    host = Host("family-b")

    assert ["ok"] == host.ask("M591 D0 P0")
    assert ["Extruder 0 has no filament sensor", "ok"] == host.ask("M591 D0")


def test_moving_kind_measures_movement(tmp_path: Path) -> None:
    """Before the first pulse there are no data; while filament is fed there are figures; presence is never said."""
    quiet = Host("b-laser").ask("M591 D0")[0]
    fed = asked(printing("b-laser", tmp_path), "M591 D0")[0]

    assert quiet.endswith("no data received")
    assert "measured min" in fed
    assert "present" not in quiet + fed


def test_moving_kind_with_a_switch_has_a_word_in_the_middle() -> None:
    """The word follows the switch."""
    host = Host("b-magnet-switch")
    before = host.ask("M591 D0")[0]
    host.do("insert")

    assert (", no filament, ", ", filament present, ") == tuple(
        word
        for word, said in ((", no filament, ", before), (", filament present, ", host.ask("M591 D0")[0]))
        if word in said
    )


def test_empty_line_stands_for_an_empty_reply() -> None:
    """Where nothing is acknowledged by a word, an empty reply is an empty line and any other is itself."""
    host = Host("b-empty-lines")

    assert [""] == host.ask("M104 S0")
    assert ["T:21.5 /0.0 B:21.5 /0.0"] == host.ask("M105")
    assert 1 == len(host.ask("M591 D0"))


def test_way_of_acknowledging_can_be_changed() -> None:
    """Imitating another on this port brings the word back."""
    host = Host("b-empty-lines")
    host.ask("M555 P2")

    assert ["ok"] == host.ask("M104 S0")
    host.ask("M555 P1")
    assert [""] == host.ask("M104 S0")


def test_spare_input_is_read_and_assigned() -> None:
    """The sensor plugged into a spare input moves its value; a pin in use is not free for a monitor."""
    host = Host("b-spare-input")
    host.do("plug-into", "spare")
    values = []
    for deed in ("insert", "withdraw"):
        host.do(deed)
        values.append(json.loads(host.ask('M409 K"sensors.gpIn[0]"')[0])["result"]["value"])

    assert [0, 1] == values
    assert ["Error: M591: Pin 'io9.in' is not free", "ok"] == host.ask('M591 D0 P2 C"io9.in"')
    host.ask('M950 J0 C"nil"')
    assert '"result":null' in host.ask('M409 K"sensors.gpIn[0]"')[0]


@pytest.mark.parametrize("unit", ["family-b", "b-newest", "b-laser"])
def test_runout_pauses_a_job_from_the_card(unit: str, tmp_path: Path) -> None:
    """A fault and a title are said, the job waits, and going on takes a command."""
    host = printing(unit, tmp_path)
    said = run_out(host)

    assert said[0].startswith("Error: Filament error on extruder 0: ")
    assert "Printing paused" == said[1]
    assert not still_prints(host)
    host.do("insert")
    assert ["Printing resumed", "ok"] == host.ask("M24")
    assert still_prints(host)


def test_oldest_build_reports_the_runout(tmp_path: Path) -> None:
    """The oldest wording reports it without a fault, and pauses."""
    host = printing("b-oldest", tmp_path)

    assert ["Extruder 0 reports no filament"] == run_out(host)
    assert not still_prints(host)


def test_users_file_may_not_pause(tmp_path: Path) -> None:
    """Where the user's file alone decides, the runout is noted and the job goes on."""
    host = printing("b-silent-event", tmp_path)

    assert ["The user's file for the event was run"] == run_out(host, 5.0)
    assert still_prints(host)


def test_moves_from_a_host_are_not_watched() -> None:
    """Set to jobs from the card, a runout in moves that a host sends is not noticed."""
    host = streaming("family-b")
    host.printer.perform("cut", "5")

    assert [] == host.after(5.0)


def test_unknown_number_runs_the_users_file() -> None:
    """A number that the firmware does not know runs the file that the user has under it."""
    assert ["The user's file M412.g was run", "ok"] == Host("b-silent-event").ask("M412")


def test_state_is_answered_after_a_stop() -> None:
    """After an emergency stop nothing but questions about the state is answered."""
    host = Host("family-b")
    stopped = host.ask("M112")

    assert "Emergency Stop! Reset the controller to continue." == stopped[0]
    assert json.loads(host.ask("M408 S0")[0])["status"] == "H"
    assert host.ask("M119")[0].startswith("Error: M119")


@pytest.mark.parametrize(("deed", "letter"), [("", "P"), ("M25", "A")])
def test_state_letter(deed: str, letter: str, tmp_path: Path) -> None:
    """The older status tells a job under way from a paused one."""
    host = printing("family-b", tmp_path)
    if deed:
        asked(host, deed)

    assert letter == json.loads(asked(host, "M408 S0")[0])["status"]


def test_job_ends_with_its_last_move(tmp_path: Path) -> None:
    """After the last move of the card nothing is watched any more."""
    host = printing("family-b", tmp_path, ["G91", "M83", "G1 X2 E2 F600"])

    assert json.loads(host.ask("M408 S0")[0])["status"] == "I"
    assert [] == run_out(host)
