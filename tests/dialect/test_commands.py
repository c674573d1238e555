from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.dialect import commands
from commission.dialect.commands import Command, Effect

EVERY = [value for value in vars(commands).values() if isinstance(value, Command)]


@pytest.mark.parametrize(
    "text",
    [
        "M115\n",
        "M115\r",
        "M117 °",
        "M115 ; who is there",
        "M117 (hello)",
        "M115*33",
        "N5 M115",
        "m115",
        "115",
        "status",
        "X",
        "STATUS?",
        "",
        "M117 " + "x" * 86,
    ],
)
def test_what_cannot_be_one_line_is_refused(text: str) -> None:
    """A line end, a comment, a checksum, a line number of our own, foreign letters and excess length are refused."""
    with pytest.raises(ValueError, match="command"):
        Command(text, "try it", Effect.READ_ONLY)


def test_word_of_a_host_console_is_a_command() -> None:
    """A whole word in capitals is a command of its own, with its values behind a blank."""
    command = Command("SET_LAMP LAMP=bench VALUE=1", "try it", Effect.SETTING)

    assert "SET_LAMP LAMP=bench VALUE=1" == command.text


def test_command_without_purpose_is_refused() -> None:
    """Nothing is sent without saying why."""
    with pytest.raises(ValueError, match="what the command is for"):
        Command("M115", "", Effect.READ_ONLY)


@pytest.mark.parametrize(
    ("command", "text", "effect"),
    [
        (commands.enable_runout(True), "M412 S1", Effect.SETTING),
        (commands.enable_runout(False), "M412 S0", Effect.SETTING),
        (commands.leftover_distance(12.5), "M412 D12.5", Effect.SETTING),
        (commands.keepalive_interval(0), "M113 S0", Effect.SETTING),
        (commands.temperature_reports(2), "M155 S2", Effect.SETTING),
        (commands.pin_report("1.24"), "M43 P1.24", Effect.READ_ONLY),
        (commands.hotend_target(0), "M104 S0", Effect.SETTING),
        (commands.hotend_target(200, tool=1), "M104 T1 S200", Effect.HEAT),
        (commands.cold_extrusion_limit(0), "M302 S0", Effect.SETTING),
        (commands.move(e_mm=5.0, speed_mm_s=2.5), "G1 E5 F150", Effect.MOTION),
        (commands.move(x_mm=-0.0, z_mm=-0.25, speed_mm_s=10), "G1 X0 Z-0.25 F600", Effect.MOTION),
        (commands.answer_prompt(1), "M876 S1", Effect.HOST),
        (commands.restore("M92 X78.50 Y78.50"), "M92 X78.50 Y78.50", Effect.SETTING),
    ],
)
def test_command_is_built(command: Command, text: str, effect: Effect) -> None:
    """A command with words says what was meant, and its effect follows from them: a target of zero heats nothing."""
    assert (text, effect) == (command.text, command.effect)


def test_refused_words() -> None:
    """A negative length, a move to nowhere, a pin that is none and a button before the first are refused."""
    builders: tuple[Callable[[], commands.Command], ...] = (
        lambda: commands.leftover_distance(-1),
        lambda: commands.move(speed_mm_s=10),
        lambda: commands.move(x_mm=1, speed_mm_s=0),
        lambda: commands.pin_report("4 I1"),
        lambda: commands.answer_prompt(-1),
        lambda: commands.hotend_target(float("nan")),
    )
    for build in builders:
        with pytest.raises(ValueError, match=r"must be|names at least|is named|is counted"):
            build()


def test_only_queries_are_read_only() -> None:
    """What saves, erases, moves or stops never calls itself a query, and reloading the store discards settings."""
    assert Effect.ERASE is commands.RELOAD_STORED.effect
    assert Effect.SAVE is commands.SAVE_STORED.effect
    assert Effect.EMERGENCY is commands.EMERGENCY_STOP.effect
    assert {
        "M115",
        "M119",
        "M503",
        "M205",
        "M412",
        "M105",
        "M114",
        "M400",
        "M302",
        "M113",
        "M78",
    } == {command.text for command in EVERY if command.effect is Effect.READ_ONLY}


def test_what_erases_warns() -> None:
    """Every command that discards settings carries a caution."""
    assert all(command.caution for command in EVERY if command.effect is Effect.ERASE)


@settings(deadline=None, max_examples=100)
@given(st.text())
def test_any_message_can_be_shown(text: str) -> None:
    """Whatever a person types, the message command is one valid line and begins with its word."""
    command = commands.show_message(text)

    assert command.text == "M117" or command.text.startswith("M117 ")
    assert len(command.text) <= commands.COMMAND_LIMIT_BYTES
