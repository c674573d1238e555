"""The lists of many printers begin soon: they load the types of the record, and nothing that works them out."""

import subprocess
import sys

import pytest

NOT_NEEDED = (
    "alembic",
    "commission.dialect.sources.search",
    "commission.dialect.understanding",
    "commission.settings.comparison",
    "commission.wiring.assessment",
    "prompt_toolkit",
    "psycopg",
    "rich",
    "serial",
)


@pytest.mark.parametrize("module", ["commission.records.due", "commission.fleet.overview", "commission.fleet.cells"])
def test_a_list_loads_types_alone(module: str) -> None:
    """What reads a printer's words, compares settings or judges a wiring is loaded where that is done."""
    program = f"import sys, {module}; print(*[name for name in {NOT_NEEDED!r} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)

    assert "" == done.stdout.strip()
