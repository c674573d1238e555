"""What importing a room costs: the libraries load only when a port is used."""

import subprocess
import sys

import pytest

from tests.support.patience import PATIENCE_S

HEAVY = ("serial", "serial_asyncio", "asyncio")


@pytest.mark.parametrize(
    ("module", "unwanted"),
    [
        ("commission.link.base", HEAVY),
        ("commission.link.discover", HEAVY),
        ("commission.cli.ports", HEAVY),
        ("commission.link.network", HEAVY[:2]),
        ("commission.link.port", HEAVY[1:2]),
    ],
)
def test_import_stays_light(module: str, unwanted: tuple[str, ...]) -> None:
    """Importing the module loads none of the libraries it does not need yet."""
    program = f"import sys, {module}; print(*[name for name in {unwanted!r} if name in sys.modules])"
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True, timeout=PATIENCE_S
    )

    assert done.stdout.strip() == ""
