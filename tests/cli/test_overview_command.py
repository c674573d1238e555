"""`commission overview` and `commission roster` as a person types them."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from commission.cli import main
from commission.fleet.roster import parse_roster
from tests.records.books import Workshop
from tests.support.fake_process import running_printer

ROSTER = """\
format = 1

[[printer]]
tag = "bench-3"
place = "second bench"
port = "/dev/no-such-port-3"

[[printer]]
tag = "bench-9"
"""


@pytest.fixture(name="folder")
def _folder(tmp_path: Path) -> Path:
    """A folder with the book of a workshop in which bench-3 passed on 14 March 2031, and a roster."""
    workshop = Workshop(tmp_path)
    workshop.whole_run("bench-3/2031-03-14/1")
    workshop.book.close()
    (tmp_path / "roster.toml").write_text(ROSTER)
    return tmp_path


def call(folder: Path, *words: str, roster: bool = True) -> Result:
    """The command with that folder's book and roster."""
    named = ["--roster", str(folder / "roster.toml")] if roster else []
    return CliRunner().invoke(main, [*words, *named, "--book", str(folder / "book.sqlite3")])


def test_a_workshop_in_date_is_exit_code_0(folder: Path) -> None:
    """Overdue, due at once or unsafe is 1, as in the due list; the day can be given."""
    on = ("overview", "--on", "2031-03-20")

    assert 0 == call(folder, *on, roster=False).exit_code
    assert 1 == call(folder, *on).exit_code, "of bench-9 nothing is on record"
    assert 1 == call(folder, "overview", "--on", "2032-03-20", roster=False).exit_code
    assert "▲ 1 due at once   ● 1 in date" in call(folder, *on).output


def test_each_form_goes_where_it_is_asked_for(folder: Path) -> None:
    """JSON and CSV to the output; the page into its file, which is replaced and replaces nothing else."""
    page = folder / "wall.html"
    on = ("overview", "--on", "2031-03-20", "--html", str(page))
    data = json.loads(call(folder, *on, "--json").stdout)
    first = page.read_bytes()
    (folder / "mine.html").write_text("<p>mine</p>")
    refused = call(folder, "overview", "--html", str(folder / "mine.html"))

    assert ["bench-9", "bench-3"] == [each["tag"] for each in data["printers"]]
    assert b"second bench" in first
    assert call(folder, "overview", "--csv").stdout.startswith("printer,place,state")
    assert 2 == refused.exit_code
    assert "<p>mine</p>" == (folder / "mine.html").read_text()
    assert "" == call(folder, *on).output
    assert [] == list(folder.glob(".*")), "no draft is left behind"


def test_a_wrong_roster_is_told_with_every_line(folder: Path) -> None:
    """One line of the output for each complaint, as a compiler gives them; nothing is done."""
    (folder / "roster.toml").write_text('format = 1\n[[printer]]\nspeed = "fast"\n')
    said = call(folder, "overview")

    assert 2 == said.exit_code
    assert "roster.toml:2: this printer has no `tag`" in said.output
    assert "roster.toml:3: `speed` is a whole number" in said.output


def test_the_book_completes_a_roster_on_the_output_only(folder: Path) -> None:
    """What it writes is a roster again; the file stays as it is."""
    said = call(folder, "roster", "complete")

    assert ["bench-3", "bench-9"] == [each.tag for each in parse_roster(said.output)]
    assert ROSTER == (folder / "roster.toml").read_text()


def test_a_roster_is_shown_and_proposed(folder: Path) -> None:
    """Without a roster there is nothing to show, and it is said how one begins."""
    shown = CliRunner().invoke(main, ["roster", "show", "--roster", str(folder / "roster.toml")])
    none = CliRunner().invoke(main, ["roster", "show"], env={"COMMISSION_ROSTER": ""})

    assert [
        "bench-3: second bench; at /dev/no-such-port-3",
        "bench-9: nothing more is said",
    ] == shown.output.splitlines()
    assert 2 == none.exit_code
    assert "roster propose" in none.output
    assert "format = 1" in call(folder, "roster", "propose").output


def test_no_port_is_opened_unless_it_is_told(folder: Path) -> None:
    """Looked at, a simulated printer is not proven and hears nothing; asked, it says who it is."""
    with running_printer("sound", "--tcp", "0", "--unpaced", "--speed-factor", "20") as printer:
        (folder / "roster.toml").write_text(f'format = 1\n[[printer]]\ntag = "bench-7"\nport = "{printer.link}"\n')
        looked = call(folder, "roster", "prove")
        asked = call(folder, "roster", "prove", "--open", "bench-7")
        strange = call(folder, "roster", "prove", "--open", "bench-8")

    assert "nothing on record: no run has met this printer yet" in looked.output
    assert "nothing on record: it announces" in asked.output
    assert (4, 4, 2) == (looked.exit_code, asked.exit_code, strange.exit_code)
    assert "Not in the roster: bench-8." in strange.output
