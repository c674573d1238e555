"""No public name of the tool is there for its tests alone."""

from pathlib import Path

import pytest

from tests.support.public_names import unused

ROOT = Path(__file__).resolve().parent.parent
FAMILIES = "what printers of each family say or take: one table, kept whole and held against the simulated printers"
SOURCES = "how each source of each family is asked, with what is safe to ask: one table, kept whole and asked of them"
SCHEMA = "makes the published schema from the types; a test compares the file"
STEPS = "the library that brings the shared book's tables up to date calls each step by these names"
STANDS = {
    "commission.dialect.settings_text": FAMILIES,
    "commission.dialect.sources.answers": SOURCES,
    "commission.records.shared.migrations": STEPS,
    "commission.report.json_form": SCHEMA,
    "commission.settings.comparison_json.schema": SCHEMA,
}
"""Names, or modules whose names may stand, that only tests use; each with the reason."""


@pytest.fixture(scope="module", name="found")
def _found() -> set[str]:
    return unused(ROOT, "commission", ["scripts"])


def excused(name: str) -> str | None:
    """The entry of the table by which that name may stand."""
    return next((entry for entry in STANDS if f"{name}.".startswith(f"{entry}.")), None)


def test_no_public_name_is_for_tests_alone(found: set[str]) -> None:
    """The tool or its scripts use each, or the table says why it stands."""
    assert [] == sorted(name for name in found if excused(name) is None)


def test_the_table_of_names_is_not_older_than_the_code(found: set[str]) -> None:
    """Every entry still excuses a name."""
    assert set(STANDS) == {excused(name) for name in found} - {None}


MADE_UP = {
    "made/__init__.py": "from made.whole import whole\n",
    "made/whole.py": (
        "LIMIT = 3\nFORGOTTEN = 4\n_OWN = 5\n"
        "def whole(part): return part if part < LIMIT else again(part)\n"
        "def again(part): return whole(part - 1)\n"
        "def alone(): return alone()\n"
        "def first(): return second()\n"
        "def second(): return 2\n"
    ),
    "made/parts.py": (
        "from enum import Enum\nimport asyncio\n"
        "class Kind(Enum):\n    ROUND = 1\n    def turned(self): return self\n    def cut(self): return self\n"
        "class Talk(asyncio.Protocol):\n    def data_received(self, data): pass\n"
        "class Never:\n    size = 1\n    def grow(self): return Never()\n"
    ),
    "use/it.py": "from made import whole\nfrom made import parts\nwhole(1)\nparts.Kind.ROUND.turned()\nparts.Talk()\n",
}


def test_names_that_nothing_uses_are_found(tmp_path: Path) -> None:
    """A name is found that only itself or only other unused names use; what a library calls is used."""
    for name, text in MADE_UP.items():
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text(text)

    assert {
        "made.whole.FORGOTTEN",
        "made.whole.alone",
        "made.whole.first",
        "made.whole.second",
        "made.parts.Kind.cut",
        "made.parts.Never",
    } == unused(tmp_path, "made", ["use"])
