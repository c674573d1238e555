"""The first form of entries, which the tool wrote until entries had types, still reads; nothing of it is lost.

The books are those of `tests/records/old_books` of that form, written by that tool itself. The examples are from memory
of what it wrote; each names what is told apart from the bare values.
"""

import json
import lzma
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

import tests.records
from commission.evidence.codec import read
from commission.evidence.entry import NOTHING_TOLD, Entry, Unreadable
from commission.evidence.findings import gates, meeting, wiring
from commission.evidence.findings.base import Finding, Picture
from commission.evidence.found import Established
from commission.evidence.runs import Attempt, MadeSafe, Note, PhaseEnded, RunEnded, RunStarted, WayOut
from commission.records.book import Book, record_of
from commission.records.chain import Row, canonical
from commission.vocabulary import Level, Outcome, Verdict
from tests.evidence.strategies import ENTRIES
from tests.support.fake_time import FakeClock

OLD_BOOKS = Path(tests.records.__file__).parent / "old_books"
BOOKS = [OLD_BOOKS / f"{name}.sqlite3.xz" for name in ("2026-11", "form-1")]
NOT_IN_THEM = {
    "fingerprint_asked",
    "fingerprint",
    "watch_broken_off",
    "soak_began",
    "soak_stretch",
    "counted_traffic",
    "chain_begun",
}
"""Kinds that none of the books holds: the examples have them, or they are younger than the old form."""


@pytest.fixture(name="rows", scope="module")
def _rows(tmp_path_factory: pytest.TempPathFactory) -> list[Row]:
    """Every row of the old books."""
    rows = []
    for number, packed in enumerate(BOOKS):
        place = tmp_path_factory.mktemp("old") / f"{number}.sqlite3"
        place.write_bytes(lzma.decompress(packed.read_bytes()))
        with Book(place, FakeClock()) as book:
            rows += list(book.rows())
    return rows


def leaves(value: object) -> Iterator[object]:
    """Every value that holds no others."""
    if isinstance(value, dict):
        for each in value.values():
            yield from leaves(each)
    elif isinstance(value, list | tuple):
        for each in value:
            yield from leaves(each)
    else:
        yield value


def told(entry: Entry | Unreadable) -> Any:
    """The entry as JSON values, without any rule of the codec."""
    from msgspec import to_builtins

    return to_builtins(entry)


def test_every_kind_stands_in_an_old_book(rows: list[Row]) -> None:
    """So that each is read as it was really written."""
    assert set(ENTRIES) - NOT_IN_THEM == {row.kind for row in rows}


def test_every_old_entry_is_read(rows: list[Row]) -> None:
    """As an entry of its kind that belongs to nothing it did not tell."""
    records = [record_of(row) for row in rows]

    assert [] == [record for record in records if isinstance(record.entry, Unreadable)]
    assert [row.kind for row in rows] == [told(record.entry)["kind"] for record in records]
    assert {NOTHING_TOLD} == {record.about for record in records}


def test_no_value_of_an_old_entry_is_lost(rows: list[Row]) -> None:
    """Every text, number and yes or no stands in the entry; only a conclusion that nothing decided is none now."""
    for row in rows:
        before = Counter(map(repr, map(_number, leaves(json.loads(row.payload)))))
        now = Counter(map(repr, map(_number, leaves(told(record_of(row).entry)))))
        lost = [word for word in (before - now) if word not in ("'undefined'",) and not word.startswith("'resume.")]

        assert [] == lost, row.payload


def _number(value: object) -> object:
    """A whole number is the same as a float and as an integer."""
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else value


def test_an_old_entry_is_read_from_bytes_that_never_change(rows: list[Row]) -> None:
    """Reading brings it up to date and writes nothing: the text still has the digest that it was written with."""
    for row in rows[:200]:
        record_of(row)
        assert row.payload == canonical(json.loads(row.payload))


def finding(name: str, *sentences: str, **facts: Any) -> dict[str, Any]:
    """A finding as it was written."""
    return {"name": name, "sentences": list(sentences), "facts": facts}


EXAMPLES: list[tuple[str, dict[str, Any], Entry]] = [
    (
        "run_started",
        {"number": "1", "tag": "bench-3", "purpose": "backup", "plan": {}, "plan_sentences": []},
        RunStarted(number="1", tag="bench-3", purpose="backup"),
    ),
    (
        "run_ended",
        {"outcome": "broken off", "verdict": "not judged", "exit_code": 70, "why": "error", "make_safe": {}},
        RunEnded(outcome=Outcome.BROKEN_OFF, verdict=Verdict.NOT_JUDGED, exit_code=70, why="error"),
    ),
    (
        "run_ended",
        {"outcome": "complete", "verdict": "pass"},
        RunEnded(outcome=Outcome.COMPLETE, verdict=Verdict.PASS),
    ),
    (
        "made_safe",
        {"needed": True, "doing": "the printer answers", "attempted": [["Heaters off", "delivered", ""]]},
        MadeSafe(
            way_out=WayOut(
                needed=True, doing="the printer answers", attempted=(Attempt("Heaters off", "delivered"),), sentence=""
            )
        ),
    ),
    (
        "note",
        {"tag": "bench-3", "what": "rewiring", "text": "new cable", "person": "", "about": 0},
        Note(tag_of_printer="bench-3", what="rewiring", text="new cable"),
    ),
    ("phase_ended", {"name": "backup", "facts": {"kept": True}}, PhaseEnded(name="backup", kept={"kept": True})),
    (
        "finding",
        finding("resume.backup", "Already done.", phase="backup"),
        Established(finding=meeting.TakenOver(sentences=("Already done.",), phase="backup")),
    ),
    (
        "finding",
        finding(
            "gates", "None is shut.", gates=[], first_shut="", unknown=[], picture_svg="<svg/>", picture_text="[]\n[]"
        ),
        Established(
            finding=gates.Gates(
                sentences=("None is shut.",),
                gates=(),
                first_shut="",
                unknown=(),
                drawn_before=Picture(svg="<svg/>", text="[]\n[]"),
            )
        ),
    ),
    (
        "finding",
        finding(
            "mechanical_check",
            lines=[{"name": "drag", "question": "?", "mark": "yes"}],
            filament="PETG",
            drag_in_newton=3,
            soft_filament=False,
            drag_verdict="pass",
        ),
        Established(
            finding=wiring.MechanicalCheck(
                lines=(wiring.SheetLine(name="drag", question="?", mark="yes", reason=""),),
                filament="PETG",
                drag_in_newton=3.0,
                soft_filament=False,
                drag_verdict=Verdict.PASS,
            )
        ),
    ),
]


@pytest.mark.parametrize(("kind", "values", "entry"), EXAMPLES, ids=[example[0] for example in EXAMPLES])
def test_an_old_entry_is_brought_up_to_date(kind: str, values: dict[str, Any], entry: Entry) -> None:
    """What stood elsewhere, or had no value of its own, stands where it does now."""
    assert (entry, NOTHING_TOLD) == read(kind, canonical(values))


def test_files_named_by_their_digest_are_read() -> None:
    """Of a file that is elsewhere neither digest nor size need be known."""
    file = {"name": "old.bin", "place": "/home", "sha256": "0" * 64, "bytes": 3}
    elsewhere = {"name": "new.bin", "place": "a stick", "sha256": "", "bytes": None}
    named, _ = read("fingerprint", canonical({"path": "old.bin", "file": file}))
    kept, _ = read("finding", canonical(finding("way_back", "Old.", old=file, new=elsewhere)))

    assert not isinstance(named, Unreadable)
    assert isinstance(kept, Established)
    assert file == told(named)["file"]
    assert elsewhere == told(kept)["finding"]["new"]


@pytest.mark.parametrize(
    "values",
    [{}, {"name": 7}, {"name": "polarity", "facts": []}, {"name": "polarity", "facts": {}}, finding("cable_age")],
)
def test_a_finding_that_is_none_is_named(values: dict[str, Any]) -> None:
    """Without a name, without its values or of a kind that never was."""
    entry, _ = read("finding", canonical(values))

    assert isinstance(entry, Unreadable)
    assert entry.why


def test_an_undecided_conclusion_is_none() -> None:
    """The first form had a word for it; what a wiring concludes is in, out or nothing now."""
    state = {"level": "floating", "concluded": "undefined", "supply_short": False}
    assessment: dict[str, Any] = {
        "states": {"sound": {"in": state, "out": state}, "supply_broken": None},
        "polarity": None,
        "usable": False,
        "fail_safe": None,
        "hazards": [],
        "findings": [],
        "recommendation": "",
    }
    facts = {"answers": {}, "assessment": assessment, "margins": [], "assumptions": [], "picture": "<svg/>"}
    entry, _ = read("finding", canonical(finding("wiring", "Declared.", **facts)))

    assert isinstance(entry, Established)
    declared: Finding = entry.finding
    assert isinstance(declared, wiring.Wiring)
    sound = declared.assessment.states["sound"]
    assert sound is not None
    assert (None, Level.FLOATING) == (sound.filament_in.concluded, sound.filament_out.level)
    assert declared.assessment.states["supply_broken"] is None
    assert Picture(svg="<svg/>") == declared.drawn_before
