"""The reports as they are to be, kept beside the tests, and the schema of the JSON, published beside the code.

Write both anew with `python -m tests.report.golden_files` after a change that is meant, and read the difference.
"""

import tempfile
from pathlib import Path

import commission.report
from commission.report.json_form import schema_text
from commission.report.record import read_run
from commission.report.write import FORMATS, draw
from tests.report.scripted_run import RUNS

SCHEMA_FILE = Path(commission.report.__file__).parent / "report.schema.json"
FOLDER = Path(__file__).parent / "golden"
ENDINGS = {"html": "html", "markdown": "md", "json": "json"}


def golden(name: str, form: str) -> Path:
    """Where the report of a scripted run is kept."""
    return FOLDER / f"{name}.{ENDINGS[form]}"


def drawn(name: str, form: str, folder: Path) -> str:
    """The report of a scripted run as it is drawn now."""
    run = RUNS[name](folder)
    try:
        return draw(read_run(run.book, run.number), form)
    finally:
        run.book.close()


if __name__ == "__main__":
    SCHEMA_FILE.write_text(schema_text(), encoding="utf-8")
    for each in RUNS:
        for form in FORMATS:
            with tempfile.TemporaryDirectory() as place:
                golden(each, form).write_text(drawn(each, form, Path(place)), encoding="utf-8")
