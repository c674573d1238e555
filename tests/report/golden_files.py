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


KEPT = (*((name, form, False) for name in RUNS for form in FORMATS), *(("complete", form, True) for form in ENDINGS))
"""Which reports are kept: by run, by format, and whether in full."""


def golden(name: str, form: str, *, full: bool = False) -> Path:
    """Where the report of a scripted run is kept."""
    return FOLDER / f"{name}{'-full' if full and form != 'json' else ''}.{ENDINGS[form]}"


def drawn(name: str, form: str, folder: Path, *, full: bool = False) -> str:
    """The report of a scripted run as it is drawn now."""
    run = RUNS[name](folder)
    try:
        return draw(read_run(run.book, run.number), form, full=full)
    finally:
        run.book.close()


if __name__ == "__main__":
    SCHEMA_FILE.write_text(schema_text(), encoding="utf-8")
    for each, form, in_full in KEPT:
        with tempfile.TemporaryDirectory() as place:
            golden(each, form, full=in_full).write_text(drawn(each, form, Path(place), full=in_full), encoding="utf-8")
