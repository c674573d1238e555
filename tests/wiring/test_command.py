"""The `wiring` command: options or questions in, table, picture and advice out, and the exit code."""

import json
from pathlib import Path
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner, Result

from commission.cli import main

SAFE = "--sensor switch --wires 2 --contact NO --to ground --pull up --absent high"
DANGER = "--sensor switch --wires 2 --contact NC --to ground --pull up --absent low"
KEYS = {"states", "polarity", "usable", "fail_safe", "hazards", "findings", "recommendation"}


def run(options: str, *, typed: str = "") -> Result:
    """One run of the command."""
    return CliRunner().invoke(main, ["wiring", *options.split()], input=typed)


def read(options: str) -> dict:  # type: ignore[type-arg]
    """What the command prints as JSON."""
    found = json.loads(run(options + " --json").stdout)
    assert isinstance(found, dict)

    return found


@pytest.mark.parametrize(
    ("options", "code"),
    [
        (SAFE, 0),
        (DANGER, 1),
        (SAFE.replace("high", "low"), 1),
        (SAFE.replace("--pull up", "--pull none"), 1),
        ("--sensor switch --common supply --no-side signal --nc-side ground --pull down --absent low", 1),
        ("--sensor push-pull --output-when-in high --pull none --absent low --logic 3.3 --supply 5", 1),
        ("--sensor motion-wheel", 1),
        (SAFE + " --pull-by module", 4),
        ("--sensor push-pull --output-when-in low --pull up --absent high", 4),
        ("--sensor hall --conducts-when in --pull up --absent high --logic 5 --supply 5", 0),
        (SAFE + " --conducts-when in", 2),
        (SAFE.replace("--to ground", ""), 2),
        (SAFE + " --supply 0", 2),
        (SAFE + " --logic 12", 2),
        (SAFE + " --svg /nowhere/at/all.svg", 3),
        ("--sensor motion-wheel --svg wheel.svg", 2),
    ],
)
def test_the_exit_code_says_what_became_of_it(options: str, code: int) -> None:
    """0 reads right and fails safe, 1 does not or must not be connected, 2 wrong use, 3 not written, 4 not known."""
    assert code == run(options).exit_code


def test_the_json_has_exactly_the_agreed_keys() -> None:
    """The JSON holds states, polarity, usable, fail_safe, hazards, findings and recommendation, and nothing else."""
    found = read(SAFE)

    assert set(found) == KEYS
    assert {"in", "out"} == set(found["states"]["sound"])
    sound = {"level": "low", "concluded": "in", "supply_short": False, "damage_v": None}
    assert sound == found["states"]["sound"]["in"]
    assert {"level": "floating", "concluded": "undefined", "supply_short": True, "damage_v": None} == (
        found["states"]["signal_to_supply"]["in"]
    )
    assert found["states"]["supply_broken"] is None
    assert ("direct", True, True) == (found["polarity"], found["usable"], found["fail_safe"])


def test_the_json_of_a_motion_wheel_has_the_same_keys() -> None:
    """A motion wheel has every column of the table as null, and says that it is not a presence input."""
    found = read("--sensor motion-wheel")

    assert set(found) == KEYS
    assert set(read(SAFE)["states"]) == set(found["states"])
    assert {None} == set(found["states"].values())
    assert any("not a presence input" in finding for finding in found["findings"])


def test_the_screen_of_the_recommended_wiring() -> None:
    """The screen shows picture, table, verdict, findings, levels, what was taken for granted, and what to do."""
    assert EXPECTED_SCREEN == run(SAFE + " --logic 3.3 --supply 3.3").stdout


def test_a_shorting_switch_is_refused_in_plain_words() -> None:
    """The screen of a switch that shorts the supply says not to connect it, and does not call it usable."""
    found = run("--sensor switch --common supply --no-side signal --nc-side ground --pull down --absent low").stdout

    assert "!! Do not connect: with filament out the switch joins supply and ground" in found
    assert "SUPPLY SHORTED" in found
    assert "Verdict: not usable." in found


def test_without_options_the_wiring_is_asked_for() -> None:
    """Answering the questions one by one gives the same screen as the options."""
    asked = run("", typed="switch\n1\nNO\nground\nin\nup\nboard\nhigh\n3.3\n3.3\n")
    given = run(SAFE + " --pressed-when in --pull-by board --logic 3.3 --supply 3.3")

    assert 0 == asked.exit_code
    assert given.stdout == asked.stdout


def test_the_questions_are_those_of_a_guided_run() -> None:
    """A number of the list, a word in any case, Enter for the usual one, and a voltage with its unit and a comma."""
    asked = run("", typed="1\n1\nno\nGROUND\n\nUp\n1\n1\n\n3,3 V\n")
    given = run(SAFE + " --pressed-when in --pull-by board --logic 3.3 --supply 3.3")

    assert 0 == asked.exit_code
    assert given.stdout == asked.stdout
    assert "  1. NO: normally open: open while nothing presses the lever" in asked.stderr
    assert (
        "  1. signal and one more: two wires; the usual one\n  2. signal, ground and supply: three wires"
        in asked.stderr
    )
    assert "I do not know: the wiring is then not assessed" in asked.stderr


def test_what_is_not_an_answer_is_asked_again() -> None:
    """A word that is no option says what can be typed; what must be known and is not ends with how to find it out."""
    asked = run("", typed="lever\nswitch\n1\nunknown\n")

    assert 2 == asked.exit_code
    assert "Type one of 1, 2" in asked.stderr
    assert "not assessed without an answer to this: Which contact is used" in " ".join(asked.stderr.split())


def test_plain_says_what_the_picture_shows() -> None:
    """For a screen reader one sentence stands in place of the drawing; the table stays."""
    shown = run(SAFE + " --plain").stdout

    assert "o----" not in shown
    assert shown.startswith("Lever switch at board input: signal to normally open")
    assert "sound                        low, reads in" in shown


def test_questions_that_nobody_answers_are_wrong_use() -> None:
    """When the answers end early nothing is assessed and the exit code is that of wrong use."""
    found = run("", typed="switch\n1\n")

    assert 2 == found.exit_code
    assert "nothing was assessed" in found.stderr
    assert "" == found.stdout


def test_the_picture_is_written_where_it_was_asked_for(tmp_path: Path) -> None:
    """--svg writes one well-formed SVG file."""
    target = tmp_path / "wiring.svg"
    found = run(f"{SAFE} --svg {target}")

    assert 0 == found.exit_code
    assert "{http://www.w3.org/2000/svg}svg" == ElementTree.fromstring(target.read_text(encoding="utf-8")).tag  # noqa: S314 - our own file


EXPECTED_SCREEN = """\
  board input                                lever switch
                                                                    filament
                                                                    in  out
               supply o  left empty

               signal o--------------------o normally open          #
                                                                    |
               ground o--------------------o common                 #

  pull-up 30 to 50 kilohm to 3.3 V, at the board.

                             filament in            filament out
sound                        low, reads in          high, reads out
unplugged at the board       high, reads out        high, reads out
signal wire broken           high, reads out        high, reads out
ground wire broken           high, reads out        high, reads out
signal shorted to ground     low, reads in          low, reads in
signal shorted to supply     SUPPLY SHORTED         high, reads out

Verdict: direct, fails safe.

Findings:
  - Hidden: signal shorted to ground, it reads in with filament out. Pulling
    the plug does not show it; only the periodic trial with filament out does.
  - With the signal shorted to supply, filament in makes a dead short of the
    supply: the board restarts.
  - The closed contact carries 0.07 to 0.11 mA; a gold contact wants 1.00 mA.
    Film may build up on it and bring nuisance trips: use a gold contact, or
    fit an outside pull of 3300 ohm or a little less (not below 1000).

Levels:
  - Filament in: low, 0.00 V in the worst case; the input wants at most 1.15
    V: 1.15 V to spare.
  - Filament out: high, 3.25 V in the worst case; the input wants at least
    2.15 V: 1.10 V to spare.

Assumed:
  - The class of input was not declared: 32-bit board input, 3.3 V logic, not
    tolerant of 5 V is assumed.

What to do:
  - Keep this wiring: it reads right, and each broken wire and a pulled plug
    read out.
"""
