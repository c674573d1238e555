"""The one command for all campaigns, on fake campaigns that come to what their names say."""

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from scripts.campaign import CAMPAIGNS, main
from scripts.campaigns._carrying import ROOT, Campaign

FAKES = tuple(
    Campaign(
        name, f"tests.support.fake_campaigns.{name}", quick_s=3 if name == "lingers" else 60, long_s=60, alone=alone
    )
    for name, alone in (("holds", False), ("breaks", False), ("idle", True), ("crashes", False), ("lingers", False))
)


def said(capsys: pytest.CaptureFixture[str], *arguments: str, code: int) -> str:
    """What the command prints for these arguments; seconds are written as 0.0."""
    assert code == main(arguments, FAKES)
    return re.sub(r" +\d+\.\d(?=  )", "      0.0", capsys.readouterr().out)


def test_the_table_tells_what_held(capsys: pytest.CaptureFixture[str]) -> None:
    """A campaign that holds is one row with its counts; what it found is not printed."""
    assert said(capsys, "holds", "--quick", "--seed", "7", code=0) == (
        "campaign  tried  held  broken  seed  seconds\nholds         2     2       0     7      0.0  held\n"
    )


def test_a_broken_case_is_told_in_full(capsys: pytest.CaptureFixture[str]) -> None:
    """What did not hold comes before the table, with the command that repeats it; the exit code is 1."""
    assert said(capsys, "breaks", "holds", code=1) == (
        "breaks:\n"
        "  BROKEN: case 2: the lamp stayed dark\n"
        "  to repeat: python3 scripts/campaign.py breaks --seed 1\n"
        "\n"
        "campaign  tried  held  broken  seed  seconds\n"
        "holds        20    20       0     1      0.0  held\n"
        "breaks        3     2       1     1      0.0  NOT HELD\n"
    )


def test_a_campaign_without_cases_holds_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    """One that tried nothing shows nothing, and is off."""
    assert "idle          0     0       0     1      0.0  NOT HELD\n" in said(capsys, "idle", code=1)


def test_a_campaign_without_end_is_ended(capsys: pytest.CaptureFixture[str]) -> None:
    """After its time it counts as not held, and its last words are told."""
    told = said(capsys, "lingers", "--quick", code=1)

    assert "  BROKEN: after 3 s it was not finished; its last words:\n  it begins to wait\n" in told
    assert "lingers       0     0       0     1      0.0  NOT HELD: not finished\n" in told


def test_a_crash_is_told_as_a_crash(capsys: pytest.CaptureFixture[str]) -> None:
    """A campaign that ends without a result is not held, and the end of its traceback is told."""
    told = said(capsys, "crashes", code=1)

    assert "  RuntimeError: no such bench\n" in told
    assert told.endswith("crashes       0     0       0     1      0.0  NOT HELD: crashed\n")


def test_the_file_says_what_the_table_says(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """--json writes the documented keys and no others."""
    file = tmp_path / "figures.json"
    said(capsys, "holds", "breaks", "--quick", "--seed", "3", "--json", str(file), code=1)
    written = json.loads(file.read_text())
    holds, breaks = written.pop("campaigns")

    assert written == {"format": 1, "quick": True, "seed": 3, "held": False}
    assert holds.pop("seconds") > 0
    assert holds == {
        "name": "holds",
        "tried": 2,
        "held": 2,
        "broken": 0,
        "seed": 3,
        "ended": "whole",
        "off": False,
        "lines": ["a line of its own table"],
    }
    assert breaks["off"]


def test_an_unknown_name_lists_the_names(capsys: pytest.CaptureFixture[str]) -> None:
    """Wrong usage ends with 2 and says which campaigns there are."""
    with pytest.raises(SystemExit) as ended:
        main(["holds", "hold"], FAKES)

    assert ended.value.code == 2
    told = capsys.readouterr().err
    assert "there is no campaign 'hold'; the campaigns are: holds, breaks, idle, crashes, lingers" in told


def test_a_file_nowhere_is_refused_first(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing is carried out for figures that could not be written."""
    with pytest.raises(SystemExit) as ended:
        main(["holds", "--json", str(tmp_path / "missing" / "figures.json")], FAKES)

    assert ended.value.code == 2
    assert capsys.readouterr().out == ""


def test_the_help_names_every_campaign() -> None:
    """The real command says what it can do without carrying anything out."""
    done = subprocess.run(
        [sys.executable, str(ROOT / "scripts" / "campaign.py"), "--help"], capture_output=True, text=True, check=True
    )

    assert "Exit codes: 0 everything held" in done.stdout
    assert all(each.name in done.stdout for each in CAMPAIGNS)
