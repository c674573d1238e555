"""Writes the kept transcripts anew."""

import tests.conftest  # noqa: F401 - files in memory, and a folder of its own for the heads of books
from tests.procedure.transcripts.kept import FOLDER, RUNS, drawn, kept

if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for old in FOLDER.glob("*.txt"):
        old.unlink()
    for name in RUNS:
        kept(name).write_text(drawn(name), encoding="utf-8")
