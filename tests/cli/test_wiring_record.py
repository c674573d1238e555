"""`wiring --record`: what is declared without a run, and that diagnosis and check know it and say where it is from."""

import json
from collections.abc import Sequence
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from commission.cli import main
from commission.clock import SystemClock
from commission.evidence.findings.base import Finding
from commission.evidence.findings.cause import Diagnosis
from commission.evidence.findings.meeting import Consent
from commission.evidence.findings.several import SensorsToTest
from commission.evidence.found import Established
from commission.evidence.runs import Note
from commission.evidence.talk import Told
from commission.procedure.wiring.declaration import assessed, wiring_found
from commission.records.book import Book
from commission.records.due import due_list
from commission.records.heads import VARIABLE
from commission.records.history import newest_finding, runs
from commission.records.series import all_series
from commission.records.unsettled import unsettled
from tests.cli.bench import Folder
from tests.cli.test_diagnose_command import CHAFED
from tests.support.fake_process import running_printer
from tests.support.made import begun, ended, found

RUN = "bench-3/2031-03-14/1"
ANSWERS = {"sensor": "switch", "wires": "2", "contact": "NO", "to": "ground", "pull": "up", "absent": "high"}
SAFE = tuple(word for name, answer in ANSWERS.items() for word in (f"--{name}", answer))
OTHER = tuple("low" if word == "high" else "NC" if word == "NO" else word for word in SAFE)
DECLARES = ("--record", "bench-3", "--by", "R. Okafor")


def with_book(folder: Path, *findings: Finding, verdict: str = "pass") -> Path:
    """A book in which bench-3 was installed, with these findings."""
    place = folder / "book.sqlite3"
    with Book(place, SystemClock()) as book:
        book.append(RUN, begun(RUN))
        for finding in findings:
            book.append(RUN, Established.of(finding))
        book.append(RUN, ended(verdict))
    return place


def declared_in_a_run() -> Finding:
    """The safe wiring, as a run declares it."""
    return wiring_found(assessed(ANSWERS))


def call(place: Path, *words: str, typed: str = "") -> Result:
    """The command with that book; the heads that were seen of it are kept beside it."""
    heads = {VARIABLE: str(place.parent / "heads.jsonl")}
    return CliRunner().invoke(main, [*words, "--book", str(place)], env=heads, input=typed)


def recorded(place: Path, options: Sequence[str] = SAFE, *more: str) -> Result:
    """The declaration is put on record."""
    return call(place, "wiring", *options, *DECLARES, *more)


def today(place: Path) -> str:
    """The day of the newest note."""
    with Book(place, SystemClock()) as book:
        return list(book.records(Note))[-1].at[:10]


def flat(text: str) -> str:
    """The text with its lines joined."""
    return " ".join(text.split())


def test_the_screen_says_what_went_on_record(tmp_path: Path) -> None:
    """Behind the prediction stand the entry, who declared it, what it proves, and who takes it."""
    place = with_book(tmp_path)
    done = recorded(place)

    assert 0 == done.exit_code, done.output
    assert (
        "On record:\n"
        "  - Entry 3 of bench-3.\n"
        f"  - The wiring was declared on {today(place)} by R. Okafor, without a run.\n"
        "    Predicted from it: direct, fails safe.\n"
        "  - It is a person's word: it proves nothing, and settles nothing that is\n"
        "    open.\n"
        "  - `check` and `diagnose` take it from now on, until a run or a newer entry\n"
        "    declares the wiring.\n"
    ) == done.output[done.output.index("On record:") :]


def test_a_wiring_that_nobody_noted_asks_for_the_rewiring(tmp_path: Path) -> None:
    """Where it is not what the last run declared, the screen says what, and how a rewiring is noted."""
    place = with_book(tmp_path, declared_in_a_run())
    differs = flat(recorded(place, OTHER).output)
    call(place, "note", "bench-3", "New cable.", "--what", "rewiring")
    noted = flat(recorded(place, OTHER).output)

    said = f"differs from what the last run declared on {today(place)}, by which its tests were judged: contact NO, now"
    ask = "Was the sensor rewired? Then say so: `commission note bench-3 TEXT --what rewiring`."
    assert (True, True) == (said in differs, ask in differs), differs
    assert (True, False) == (said in noted, ask in noted), noted
    assert "A change of the wiring is on record since then." in noted
    assert "differs" not in flat(recorded(place).output), "it is what the run declared"


def test_the_json_holds_the_number_of_the_entry(tmp_path: Path) -> None:
    """Beside the assessment: the entry, whose it is, and what differs; the exit code stays that of the prediction."""
    place = with_book(tmp_path, declared_in_a_run())
    done = recorded(place, OTHER, "--json")
    told = json.loads(done.stdout)

    assert (1, False) == (done.exit_code, told["fail_safe"])
    assert "NO, now NC; absent high, now low." in told["recorded"].pop("difference")
    assert {
        "entry": 4,
        "tag": "bench-3",
        "sensor": "",
        "declared_on": today(place),
        "declared_by": "R. Okafor",
    } == told["recorded"]


def test_answers_to_the_questions_are_recorded_too(tmp_path: Path) -> None:
    """Without options the wiring is asked for, and what was answered goes on record."""
    place = with_book(tmp_path)
    done = call(place, "wiring", *DECLARES, typed="1\n1\nNO\nground\nin\nup\nboard\nhigh\n3.3\n\n\n")

    assert 0 == done.exit_code, done.output
    with Book(place, SystemClock()) as book:
        (note,) = (record.entry for record in book.records(Note))
    assert note.wiring is not None
    assert ("NO", "high") == (note.wiring.answers["contact"], note.wiring.answers["absent"])
    assert True is note.wiring.assessment.fail_safe


@pytest.mark.parametrize(
    ("words", "typed", "said"),
    [
        ((*SAFE, "--record", "benhc-3", "--by", "x"), "", "No printer benhc-3 is on record. Do you mean 'bench-3'?"),
        ((*SAFE, "--record", "bench-3"), "", "Say who declares the wiring: --by NAME."),
        ((*SAFE, "--record", "bench-3", "--by", " "), "", "Say who declares the wiring: --by NAME."),
        ((*SAFE, "--by", "x"), "", "--record says whose wiring it is"),
        (("--sensor", "switch", *DECLARES), "", "give --contact, --to, --pull as well"),
        (DECLARES, "1\n2\n", "Answer them, or give the options."),
        ((*SAFE, *DECLARES, "--source", "left"), "", "The book has one sensor of bench-3. Leave out --source."),
    ],
)
def test_what_is_incomplete_is_not_recorded(tmp_path: Path, words: Sequence[str], typed: str, said: str) -> None:
    """Wrong usage ends with 2 and what to do, and the book is as it was."""
    place = with_book(tmp_path)
    done = call(place, "wiring", *words, typed=typed)

    assert (2, True) == (done.exit_code, said in flat(done.output)), done.output
    with Book(place, SystemClock()) as book:
        assert [] == list(book.records(Note))


def test_a_book_that_cannot_take_it_is_told_first(tmp_path: Path) -> None:
    """No book, or a file that is none: 9, before any question is asked."""
    (tmp_path / "foreign.sqlite3").write_text("no database " * 90)
    for name in ("none.sqlite3", "foreign.sqlite3"):
        done = call(tmp_path / name, "wiring", *DECLARES)
        assert (9, False) == (done.exit_code, "What kind of sensor" in done.output), done.output


def test_of_several_sensors_one_is_named(tmp_path: Path) -> None:
    """A printer with two sensors has two wirings: which one is declared must be said, and only that one is."""
    both = found(SensorsToTest, sensors=("left", "right")).finding
    place = with_book(tmp_path, both)
    unnamed, named = recorded(place), recorded(place, SAFE, "--source", "right")
    weighed = call(place, "diagnose", "bench-3", "--reports", str(tmp_path))

    assert 2 == unnamed.exit_code
    assert "has these sensors of bench-3: left, right. Name the one that is wired so with --source." in flat(
        unnamed.output
    )
    assert "The wiring of right was declared on" in flat(named.output)
    assert "The book holds no wiring of left that could be diagnosed." in flat(weighed.output)
    assert "The wiring of right was declared on" in flat(weighed.output)


def test_diagnosis_on_paper_begins_from_it(tmp_path: Path) -> None:
    """A printer whose tests were never held against a wiring is diagnosed by the one on record, which is named."""
    place = with_book(tmp_path, found("tests_done", observations=CHAFED).finding)
    before = call(place, "diagnose", "bench-3", "--reports", str(tmp_path))
    recorded(place)
    after = call(place, "diagnose", "bench-3", "--reports", str(tmp_path))

    assert (2, True) == (before.exit_code, "`commission wiring --record bench-3 --by NAME`" in flat(before.output))
    assert 1 == after.exit_code, after.output
    assert f"The wiring was declared on {today(place)} by R. Okafor, without a run." in flat(after.output)
    with Book(place, SystemClock()) as book:
        diagnosis = newest_finding(book, Diagnosis, [run.number for run in runs(book)])
    assert diagnosis is not None
    assert "Found, 99 %: signal shorted to ground in the cable." == diagnosis.sentences[0]
    (page,) = tmp_path.glob("bench-3-*.md")
    assert f"Declared on {today(place)} by R. Okafor, without a run." in page.read_text(encoding="utf-8")


def test_check_says_where_the_wiring_is_from(tmp_path: Path) -> None:
    """An unattended check of a simulated printer says who declared it and what differs, and judges the same."""
    folder = Folder(tmp_path)
    with_book(tmp_path, Consent(granted=True, by="R. Okafor"), declared_in_a_run())
    check = ("check", "bench-3", "--unattended", "--steady", "1", "--reports", str(tmp_path))
    with running_printer("sound", "--tcp", "0", "--unpaced") as printer:
        before = folder.call(*check, "--port", printer.link)
        recorded(folder.book, OTHER)
        after = folder.call(*check, "--port", printer.link)

    assert (before.code, "without a run" in before.output) == (after.code, False), (before, after)
    assert "Verdict: pass." in after.output
    with Book(folder.book, SystemClock()) as book:
        told = [record.entry for record in book.records(Told) if record.entry.heading == "The declared wiring"]
    (said,) = told
    assert f"The wiring was declared on {today(folder.book)} by R. Okafor, without a run." in said.lines[0]
    assert "contact NO, now NC" in said.lines[2]
    assert "commission note bench-3 TEXT --what rewiring" in said.lines[3]


def test_it_settles_and_moves_nothing(tmp_path: Path) -> None:
    """What is due, what is unsettled and the series of trials are the same before and after it."""
    place = with_book(tmp_path, declared_in_a_run(), verdict="fail")

    def stands() -> object:
        with Book(place, SystemClock()) as book:
            now = due_list(book, SystemClock().now().date())
            return now, unsettled(book, "bench-3"), all_series(book, "bench-3").of("bench-3"), runs(book)

    before = stands()
    recorded(place, OTHER)

    assert before == stands()
