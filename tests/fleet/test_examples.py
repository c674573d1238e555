"""The examples of docs/: units, alert rules, and the commands in them are what this tool has."""

import re
import shlex
import subprocess
from datetime import UTC, datetime
from pathlib import Path

import click
import pytest

from commission.cli import main
from commission.fleet.metrics import as_openmetrics
from tests.fleet.test_metrics import KNOWN
from tests.support.programs import needs_program

EXAMPLES = Path(__file__).parents[2] / "docs" / "examples"
UNITS = sorted(path.name for path in EXAMPLES.glob("commission-*.*"))
TEXT = as_openmetrics([KNOWN], datetime(2031, 4, 20, tzinfo=UTC)).decode()


@pytest.mark.parametrize("name", UNITS)
def test_a_unit_is_one_that_systemd_takes(name: str, tmp_path: Path) -> None:
    """Read by `systemd-analyze verify`, with a program that is there in the place of ours."""
    analyze = needs_program("systemd-analyze")
    for unit in UNITS:
        text = (EXAMPLES / unit).read_text().replace("/usr/local/bin/commission", "/bin/true")
        (tmp_path / unit).write_text(text)
    done = subprocess.run(
        [analyze, "verify", "--man=no", str(tmp_path / name)], capture_output=True, text=True, check=False
    )

    assert (0, "") == (done.returncode, done.stderr)


@pytest.mark.parametrize("name", [name for name in UNITS if name.endswith(".service")])
def test_a_unit_calls_commands_that_there_are(name: str) -> None:
    """Each command and each of its options is known to the command line."""
    lines = re.findall(r"^ExecStart=/usr/local/bin/commission (.*)$", (EXAMPLES / name).read_text(), re.MULTILINE)

    assert lines
    for line in lines:
        command: click.Command = main
        words = shlex.split(line)
        while isinstance(command, click.Group):
            named = command.get_command(click.Context(command), words.pop(0))
            assert named is not None
            command = named
        known = {option for parameter in command.params for option in parameter.opts}
        assert known >= {word for word in words if word.startswith("--")}


def test_alert_rules_name_metrics_that_there_are() -> None:
    """Every name and every state in a rule is one of the metrics file."""
    rules = "\n".join(re.findall(r"expr: (.*)$", (EXAMPLES / "alerts.yaml").read_text(), re.MULTILINE))
    names = set(re.findall(r"\bcommission_\w+", rules))
    states = set(re.findall(r'\{(\w+="[^"]*")\}', rules))

    assert len(names) >= 8
    assert {name for name in names if not re.search(rf"^{name}[ {{]", TEXT, re.MULTILINE)} == set()
    assert {state for state in states if state not in TEXT} == set()


def test_alert_rules_are_rules() -> None:
    """Read by promtool, which Debian has in the package prometheus."""
    promtool = needs_program("promtool")
    done = subprocess.run(
        [promtool, "check", "rules", str(EXAMPLES / "alerts.yaml")], capture_output=True, text=True, check=False
    )

    assert 0 == done.returncode, done.stdout + done.stderr
    assert "9 rules found" in done.stdout
