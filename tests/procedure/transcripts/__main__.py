"""Writes the kept transcripts anew."""

from tests.procedure.transcripts.kept import FOLDER, RUNS, drawn, kept

if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for old in FOLDER.glob("*.txt"):
        old.unlink()
    for name in RUNS:
        kept(name).write_text(drawn(name), encoding="utf-8")
