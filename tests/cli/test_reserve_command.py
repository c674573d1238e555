"""`commission reserve`: its JSON, its screen, and its exit codes."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from commission.cli import main


def run(*words: str) -> Result:
    """The command as typed."""
    return CliRunner().invoke(main, ["reserve", *words])


STILL = ("--retract", "0")
"""A job without retractions, as the trade's worked examples have it."""


def test_the_json_has_what_was_promised() -> None:
    """A 40, H 3, Q 3, G 12 allows 22 mm; 20 are set, and the pause comes after 23 mm (common practice, no source)."""
    done = run("--trip-to-gear", "40", "--queue", "3", *STILL, "--json")
    found = json.loads(done.stdout)

    assert 0 == done.exit_code
    assert (22, 20, 2, 23) == tuple(
        found[name] for name in ("leftover_max_mm", "leftover_mm", "margin_mm", "pause_after_mm")
    )
    assert (False, []) == (found["refused"], found["reasons"])
    assert 11.06 == pytest.approx(found["pause_after_s"], abs=0.01)
    assert 2 * found["pause_after_s"] + 10 == pytest.approx(found["time_limit_s"])


def test_a_negative_margin_is_refused_with_three_cures() -> None:
    """A sensor 12 mm from the gear with 25 mm of leftover is refused, and exit code 1 says so."""
    done = run("--trip-to-gear", "12", "--leftover", "25", "--queue", "3", "--json")
    found = json.loads(done.stdout)

    assert 1 == done.exit_code
    assert found["refused"]
    assert ["Cure 1", "Cure 2", "Cure 3"] == [reason[:6] for reason in found["reasons"][1:4]]


def test_the_queue_is_worked_out_from_bead_and_moves() -> None:
    """Sixteen moves of 20 mm with a bead of 0.45 by 0.20 mm hold 11 mm of filament (common practice, no source)."""
    done = run("--trip-to-gear", "700", "--bead", "0.45x0.20", "--move", "20", "--leftover", "20", "--json")

    assert 31 == pytest.approx(json.loads(done.stdout)["pause_after_mm"], abs=0.5)


@pytest.mark.parametrize(("nozzle", "queue"), [("0.4", 5), ("0.6", 25), ("0.8", 45)])
def test_a_nozzle_alone_gives_the_usual_queue(nozzle: str, queue: float) -> None:
    """Nothing but the nozzle known, 5, 25 or 45 mm are assumed (common practice, no source)."""
    done = run("--trip-to-gear", "700", "--nozzle", nozzle, "--leftover", "20", "--json")

    assert 20 + queue == json.loads(done.stdout)["pause_after_mm"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "--trip-to-gear"),
        (["--trip-to-gear", "-3"], "not in the range"),
        (["--trip-to-gear", "40", "--queue", "3", "--nozzle", "0.4"], "not both"),
        (["--trip-to-gear", "40", "--bead", "thick"], "WIDTHxHEIGHT"),
        (["--trip-to-gear", "40", "--bead", "0.45x0.2"], "--bead needs --move"),
        (["--trip-to-gear", "40", "--move", "5"], "--move needs"),
        (["--trip-to-gear", "40", "--move", "5", "--bead", "0.2x0.4"], "at least as wide as high"),
        (["--trip-to-gear", "40", "--flow", "0"], "not in the range"),
        (["--trip-to-gear", "40", "--long-moves", "--queue", "3"], "a queue by itself"),
        (["--trip-to-gear", "40", "--long-moves", "--move", "3"], "a queue by itself"),
    ],
)
def test_wrong_use_says_what_to_do(words: list[str], said: str) -> None:
    """What cannot be understood ends with exit code 2 and a sentence."""
    done = run(*words)

    assert 2 == done.exit_code
    assert said in done.output


def test_the_screen_gives_every_number_its_unit() -> None:
    """The picture, the numbers with mm, s and mm³/s, and the verdict are printed."""
    lengths = ("--trip-to-gear", "40", "--gear-to-nozzle", "60", "--queue", "3", "--unload", "50", "--load", "70")
    done = run(*lengths, *STILL)

    for said in (
        "20.0 mm (at most 22.0 mm)",
        "11.1 s",
        "5 mm³/s",
        "does not free the gear",
        "rams filament",
        "It fits for this job.",
    ):
        assert said in done.output


def test_long_straight_moves_are_offered() -> None:
    """Without a word of the job it fits for short moves, and the screen says what long ones come to."""
    short, long = run("--trip-to-gear", "40"), run("--trip-to-gear", "40", "--long-moves")

    assert (0, 1) == (short.exit_code, long.exit_code)
    assert "With long straight moves" in short.output
    assert "print with no filament left" in " ".join(short.output.split())
    assert "54.2 mm of filament" in " ".join(long.output.split())


def test_the_picture_is_written_where_asked(tmp_path: Path) -> None:
    """--svg writes the filament path; a place that cannot be written is named."""
    file = tmp_path / "path.svg"

    assert 0 == run("--trip-to-gear", "40", "--svg", str(file)).exit_code
    assert "<svg " in file.read_text()
    nowhere = run("--trip-to-gear", "40", "--svg", str(tmp_path / "no" / "x.svg"))
    assert (3, True) == (nowhere.exit_code, "x.svg cannot be written: No such file or directory." in nowhere.output)
