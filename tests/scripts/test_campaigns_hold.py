"""The small size of all campaigns, by the command that a person calls."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from scripts.campaign import CAMPAIGNS
from scripts.campaigns._carrying import ROOT
from tests.support.programs import unrunnable
from tests.support.shared_server import server_programs

MOST_S = 1500
"""On a quiet machine it takes about three minutes."""


@pytest.mark.alone
@pytest.mark.timeout(MOST_S + 60)
def test_every_small_campaign_holds(tmp_path: Path) -> None:
    """Nothing is broken, each campaign tried something, and all of them were carried out."""
    if server_programs() is None:
        unrunnable("the server of PostgreSQL is not installed")
    kept = tmp_path / "campaigns.json"
    command = [sys.executable, str(ROOT / "scripts" / "campaign.py"), "--quick", "--json", str(kept)]

    done = subprocess.run(
        command, cwd=ROOT, env=os.environ, capture_output=True, text=True, check=False, timeout=MOST_S
    )

    assert 0 == done.returncode, f"{done.stdout}\n{done.stderr}"
    told = json.loads(kept.read_text())["campaigns"]
    assert [campaign.name for campaign in CAMPAIGNS] == [each["name"] for each in told]
    assert [] == [each for each in told if each["broken"] or not each["tried"] or each["off"]]
