"""`commission report`: a run's report, drawn again from the book."""

from pathlib import Path

from click.testing import CliRunner, Result

from commission.cli import main
from tests.report.scripted_run import complete


def run(*arguments: str | Path) -> Result:
    """What the command says and leaves."""
    return CliRunner().invoke(main, ["report", *(str(each) for each in arguments)])


def test_it_writes_all_formats_and_says_where(tmp_path: Path) -> None:
    """Without further options the newest run is drawn in every format, and each file is named on the screen."""
    book = complete(tmp_path).book.path

    done = run("bench-3", "--book", book, "--out", tmp_path / "out")

    names = [f"bench-3-2031-03-14-1.{ending}" for ending in ("html", "md", "json")]
    assert (0, [str(tmp_path / "out" / name) for name in names]) == (done.exit_code, done.output.splitlines())


def test_twice_is_the_same_to_the_byte(tmp_path: Path) -> None:
    """Drawing again replaces the file by the same bytes."""
    book = complete(tmp_path).book.path
    path = tmp_path / "bench-3-2031-03-14-1.md"

    run("bench-3", "--book", book, "--out", tmp_path, "--format", "markdown")
    before = path.read_bytes()
    run("bench-3", "--book", book, "--out", tmp_path, "--format", "markdown")

    assert before == path.read_bytes()
    assert not (tmp_path / "bench-3-2031-03-14-1.html").exists()


def test_an_unknown_printer_run_or_book_is_refused(tmp_path: Path) -> None:
    """Each is refused with a sentence that says what there is; no book is made by asking for one."""
    book = complete(tmp_path).book.path

    for said, arguments in {
        "No printer bench-9 is on record. Do you mean 'bench-3'?": ("bench-9", "--book", book),
        "the newest is bench-3/2031-03-14/1": ("bench-3", "--book", book, "--run", "7"),
    }.items():
        done = run(*arguments)
        assert (2, True) == (done.exit_code, said in " ".join(done.output.split()))
    missing = run("bench-3", "--book", tmp_path / "none.sqlite3")
    assert (9, True) == (missing.exit_code, "There is no record book" in missing.output)
    assert not (tmp_path / "none.sqlite3").exists()


def test_a_file_that_is_no_book_is_a_clear_error(tmp_path: Path) -> None:
    """Another program's file is named and left alone."""
    other = tmp_path / "notes.sqlite3"
    other.write_text("not a database")

    done = run("bench-3", "--book", other)

    assert 9 == done.exit_code
    assert "is no record book, and was left as it is" in done.output
    assert "not a database" == other.read_text()


def test_the_full_report_stands_beside_the_short_one(tmp_path: Path) -> None:
    """Page and text get files of their own, which hold the raw exchanges; the JSON is one and the same."""
    book = complete(tmp_path).book.path

    short = run("bench-3", "--book", book, "--out", tmp_path)
    data = (tmp_path / "bench-3-2031-03-14-1.json").read_bytes()
    full = run("bench-3", "--book", book, "--out", tmp_path, "--full")

    stem = tmp_path / "bench-3-2031-03-14-1"
    assert (0, [f"{stem}-full.html", f"{stem}-full.md", f"{stem}.json"]) == (full.exit_code, full.output.splitlines())
    assert 0 == short.exit_code
    assert data == (tmp_path / "bench-3-2031-03-14-1.json").read_bytes()
    texts = [Path(f"{stem}{kind}.md").read_text(encoding="utf-8") for kind in ("", "-full")]
    assert [False, True] == ["## Appendix: raw exchanges" in text for text in texts]
