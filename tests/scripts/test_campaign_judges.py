"""What judges a fault campaign can find a fault: each is given one, made by hand."""

import hashlib
import json
import sqlite3
from pathlib import Path

import pytest

from scripts.campaigns import _fuzzed_texts, kills, link, restore, shared, unread
from scripts.campaigns._book import Row, chain_breaks, digest_of, seen_of
from scripts.campaigns._looked_at import differences, unprintable
from scripts.campaigns._tool import Ended, Tools

LOG = """\
     0.000 s port   : opened
     0.010 s host   > 'M115\\n'
     0.011 s printer> 'FIRMWARE_NAME:OwnFW\\n'
     0.020 s host   > 'M92 '
     0.021 s host   > 'X80.00\\nM5\\x0003\\n'
"""


def chain(*kinds: str) -> list[Row]:
    """Entries that follow each other."""
    rows: list[Row] = []
    before = "0" * 64
    for number, kind in enumerate(kinds, 1):
        row = [number, "bench-3/2031-03-14/1", kind, "2031-03-14T10:00:00+00:00", 5, "{}", b"\x01", before]
        before = digest_of([*row, ""])
        rows.append((*row, before))
    return rows


def test_the_digest_is_worked_out_by_hand() -> None:
    """SHA-256 over a list in JSON without blanks, raw bytes in hexadecimal; the text is written out here."""
    text = '[1,"r","told","2031",5,"{}","01ff","00"]'

    assert hashlib.sha256(text.encode()).hexdigest() == digest_of(
        (1, "r", "told", "2031", 5, "{}", b"\x01\xff", "00", "")
    )


def test_a_broken_chain_is_told_by_its_entries() -> None:
    """A whole chain has no break; a changed entry breaks at itself, a removed one at those that follow."""
    rows = chain("run_started", "told", "run_ended")

    assert [] == chain_breaks(rows)
    assert [2] == chain_breaks([rows[0], (*rows[1][:2], "tampered", *rows[1][3:]), rows[2]])
    assert [3] == chain_breaks([rows[0], rows[2]])


def test_an_index_that_hides_is_seen(tmp_path: Path) -> None:
    """Two files with the same entries are not seen as the same when an index of one leaves some out."""
    whole, hides = tmp_path / "whole.sqlite3", tmp_path / "hides.sqlite3"
    for book, where in ((whole, ""), (hides, " WHERE sequence <> 2")):
        connection = sqlite3.connect(book)
        connection.execute(
            "CREATE TABLE entries "
            "(sequence INTEGER PRIMARY KEY, run, kind, at, elapsed_us, payload, raw, previous, digest)"
        )
        connection.execute(f"CREATE INDEX by_kind ON entries (kind, sequence){where}")
        connection.executemany("INSERT INTO entries VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", chain("a", "b", "c"))
        connection.commit()
        connection.close()

    assert seen_of(whole) == seen_of(whole)
    assert seen_of(whole) != seen_of(hides)


def test_the_log_gives_whole_lines() -> None:
    """What came from the host in pieces is put together again, and what does not print stays in it."""
    assert ["M115", "M92 X80.00", "M5\x0003"] == list(restore._from_host(LOG))


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("M92 X80.00", None),
        ("M503", None),
        ("M500", None),
        ("G28", "reached the printer: 'G28'"),
        ("M104 S200", "reached the printer: 'M104 S200'"),
        ("M92 X80.00 G28", "reached the printer: 'M92 X80.00 G28'"),
        ("M92 X80.00;", "reached the printer: 'M92 X80.00;'"),
        ("M92", "reached the printer: 'M92'"),
        ("M92 X80.01", "stands nowhere in the capture: X80.01 of M92 X80.01"),
        ("M92 X99999", "beyond all bounds: M92 X99999"),
    ],
)
def test_an_escaped_line_is_named(line: str, said: str | None) -> None:
    """Only questions, the save, and settings with values that stand in the capture may reach the printer."""
    found = list(restore._escaped([line], b"echo:  M92 X80.00 Y80.00\n"))

    assert ([] if said is None else [said]) == found[: 1 if said else None]


@pytest.mark.parametrize(
    ("kind", "hostile", "said"),
    [
        (".html", "<p>text<script>x</script></p>", "an element script with no attribute"),
        (".html", '<p onclick="x">text</p>', "an element p with onclick"),
        (".html", '<a href="http://x">text</a>', "an address 'http://x'"),
        (".md", "text <b>bold</b>", "2 of html_inline where there are 0"),
        (".md", "[text](http://x)", "1 of link_open where there are 0"),
        (".md", "text\n\n# more", "1 of heading_open where there are 0"),
        (".ics", "BEGIN:VEVENT\r\nSUMMARY:x\r\nATTACH:y\r\nEND:VEVENT\r\n", "{'ATTACH': 1} more"),
        (".ics", "SUMMARY:x\nATTACH:y\r\n", "1 line ends that are none of a calendar"),
        ("settings.gcode", "; text\nG28\n", "a line that would be sent: 'G28'"),
        ("settings.txt", "a\x1b[2Jb", "it holds '\\x1b'"),
        (".csv", "=1", "nobody here knows how to look at it"),
    ],
)
def test_an_obeyed_text_is_named(kind: str, hostile: str, said: str) -> None:
    """Each file is compared with the one for a harmless text."""
    plain = {".html": '<p>text</p><a href="#x">y</a>', ".ics": "BEGIN:VEVENT\r\nSUMMARY:x\r\nEND:VEVENT\r\n"}
    found = list(differences(kind, hostile.encode(), plain.get(kind, "text").encode()))

    assert any(said in each for each in found), found


def test_marks_that_act_are_found_in_a_text() -> None:
    """Control characters, odd line ends and marks that turn the direction; letters of any script are none."""
    assert unprintable("Grüße, \u0634\u0643\u0631\u0627, ok\n") == ""
    assert unprintable("a\x1b\x9b\r\u2028\u202eb\x7f") == "\r\x1b\x7f\x9b\u2028\u202e"


def test_a_lost_entry_and_finding_are_named(tmp_path: Path) -> None:
    """What was seen before the kill and is not in the book afterwards; the last line of the screen may be cut."""
    seen = kills.Seen({row[0]: row for row in chain("told")}, screen="Finding: it reads.\nFinding: it re")

    assert [
        "entry 1 (told) was in the book and is gone",
        "a finding stood on the screen and is not in the book: 'it reads.'",
    ] == list(kills._lost(seen, tmp_path / "book.sqlite3"))


@pytest.mark.parametrize(
    ("unit", "code", "outcome", "verdict", "came"),
    [
        (link.SOUND, 4, "complete", "conditional pass", "right"),
        (link.SOUND, 1, "complete", "fail", "wrong"),
        (link.DANGER, 1, "complete", "fail", "right"),
        (link.DANGER, 4, "complete", "conditional pass", "wrong"),
        (link.DANGER, 4, "complete", "not judged", "right"),
        (link.SOUND, 3, "link lost", "not judged", "clear stop"),
        (link.SOUND, 4, "link lost", "conditional pass", "stopped, and passes"),
        (link.SOUND, 70, "complete", "pass", "crashed"),
        (link.SOUND, 2, "broken off", "not judged", "not carried out"),
    ],
)
def test_a_wrong_result_is_told_from_a_stop(
    tmp_path: Path, unit: str, code: int, outcome: str, verdict: str, came: str
) -> None:
    """The book's own end of the run and the exit code decide, with what is known of the unit."""
    connection = sqlite3.connect(tmp_path / "book.sqlite3")
    connection.execute("CREATE TABLE entries (sequence, run, kind, at, elapsed_us, payload, raw, previous, digest)")
    end = json.dumps({"outcome": outcome, "verdict": verdict})
    connection.execute("INSERT INTO entries (sequence, kind, payload) VALUES (1, 'run_ended', ?)", (end,))
    connection.commit()
    connection.close()
    case = link.Case("made by hand", unit, "late", "dwell")

    assert came == link._judged(case, Ended(code, "said", ""), tmp_path, None, 1.0)[0]
    assert link._judged(case, Ended(code, "said", ""), tmp_path, None, case.limit_s)[0] == "no end"


def test_a_reading_that_was_made_up_is_named() -> None:
    """A switch or a value that stands in no line of the capture, and a word that is said to mean the other thing."""
    told: dict[str, list[dict[str, object]]] = {
        "switches": [{"name": "filament", "wire_word": "open", "reading": "active"}],
        "settings": [{"command": "M92", "values": {"X": 81.0}}],
    }

    assert [
        "the switch 'filament' with 'open' is said to be active",
        "M92 with {'X': 81.0} stands in no line",
    ] == list(_fuzzed_texts.read_wrongly(told, b"filament: open\necho: M92 X80.00\n"))
    cut = list(_fuzzed_texts.read_wrongly(told, b"ament: open"))
    assert "a switch 'filament' that reads 'open' stands in no line" in cut


def test_a_name_stands_in_the_capture_by_the_numbers_of_its_bytes() -> None:
    """What is no printable ASCII is reported by number, also where two bytes would be a letter elsewhere."""
    told: dict[str, list[dict[str, object]]] = {
        "switches": [{"name": "y\\xd0\\x8f\\xae_min", "wire_word": "open", "reading": "inactive"}],
        "settings": [],
    }

    assert [] == list(_fuzzed_texts.read_wrongly(told, b"y\xd0\x8f\xae_min: open\n"))
    assert [] != list(_fuzzed_texts.read_wrongly(told, b"y\xd0\x8f_min: open\n"))


@pytest.mark.parametrize(
    ("script", "wrong"),
    [
        ('format = 1\n[[answer]]\nrequest = "*"\nanswer = "yes"\n', ""),
        ("format = 2\n", "its format is not 1"),
        ('format = 1\nmore = "x"\n', "it has ['more']"),
        ('format = 1\n[[answer]]\nrequest = "*"\nanswer = "yes"\nshell = "x"\n', "an answer has ['shell']"),
        ('format = 1\n[[answer]]\nrequest = "*"\n', "an answer lacks a key"),
    ],
)
def test_a_wrong_script_is_known(script: str, wrong: str) -> None:
    """By the description of the operator script alone."""
    assert wrong == _fuzzed_texts.no_script(script.encode())


def test_a_command_is_a_process_of_its_own(tmp_path: Path) -> None:
    """Exit code, both outputs, the folder and the time limit are those of a program that was started for it."""
    (tmp_path / "capture.txt").write_text("filament: open\nok\n")
    with Tools(1) as tools, tools.one() as tool:
        version = tool.run("--version", folder=tmp_path)
        wrong = tool.run("read", "missing.txt", folder=tmp_path)
        read = tool.run("read", "-", folder=tmp_path, typed=b"filament: open\nok\n")
        cut = tool.run("read", "capture.txt", folder=tmp_path, seconds=0)
        shown = tool.run("read", "missing.txt", folder=tmp_path, terminal=True)

    assert (version.code, version.crashed, version.out[:11]) == (0, False, "commission,")
    assert (wrong.code, wrong.out) == (2, "")
    assert "missing.txt" in wrong.complaints
    assert (read.code, "filament" in read.out) == (0, True)
    assert (cut.code, cut.crashed) == (-9, True)
    assert (shown.code, shown.out.split()) == (2, wrong.complaints.split())


def test_readings_are_told_in_either_form() -> None:
    """Rows as they are; steps of a tenth of a millisecond and readings in a row, put together by hand here."""
    rows = [[0.25, "active", "open"], [0.75, "active", "open"], [1.5, "unknown", None], [1.6, "active", "open"]]
    alike = [["active", "open", 2], ["unknown", None, 1], ["active", "open", 1]]

    assert rows == unread.readings_in(rows)
    assert rows == unread.readings_in({"steps_100us": [2500, 5000, 7500, 1000], "alike": alike})
    assert [] == unread.readings_in([])
    assert 0.5 == unread._watched_s(rows), "nothing is watched over a gap of 0.85 s"


@pytest.mark.parametrize(
    "written",
    [
        {"steps_100us": [2500, 5000], "alike": [["active", "open", 3]]},
        {"steps_100us": [2500, 5000], "alike": [["active", "open", 1]]},
        {"alike": []},
        "packed",
    ],
)
def test_readings_of_no_known_form_are_refused(written: object) -> None:
    """Too few times, too few readings, and another form: none is taken for a watch with nothing in it."""
    with pytest.raises(ValueError, match=r"form|argument"):
        unread.readings_in(written)


RUN = "bench-3/2031-03-14/1"


@pytest.mark.parametrize(
    ("chains", "broken"),
    [
        ({"aa": chain("run_started", "told", "run_ended")}, []),
        ({}, [f"{RUN} stands once in the shared book"]),
        ({"aa": chain("run_started", "told")}, [f"{RUN} stands once in the shared book"]),
        (
            {"aa": chain("run_started", "run_ended", "run_ended")},
            [f"{RUN} stands once in the shared book", f"{RUN} ends once at most"],
        ),
        (
            {"aa": chain("run_started", "run_ended"), "bb": chain("run_started")},
            [f"{RUN} stands once in the shared book", f"{RUN} is begun once, in one chain"],
        ),
        ({"aa": chain("run_started", "told", "run_ended")[::2]}, ["chain aa is whole: [3]"]),
    ],
    ids=["whole", "lost", "cut off", "an end twice", "in two chains", "a gap"],
)
def test_a_shared_book_that_lost_or_doubled_is_told(chains: dict[str, list[Row]], broken: list[str]) -> None:
    """A run that a bench has acknowledged stands in it once, from its beginning to its end, in a whole chain."""
    score = shared.Score()
    bench = shared.Bench(Path("book.sqlite3"), "bench-3", 1, ended=[RUN])
    shared.judge([bench], chains, score)

    assert sorted(broken) == sorted(score.broken)
