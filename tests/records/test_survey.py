"""A damaged or forged file: each fault is named, what stands beside it is read, and nothing can be hidden."""

import random
import sqlite3
from pathlib import Path

import pytest
from click.testing import CliRunner

from commission.cli import main
from commission.evidence.talk import Punched, Told
from commission.records.book import Book, BookError
from commission.records.verify import Verified, verify
from commission.vocabulary import PunchClass
from tests.records.books import Workshop
from tests.support.fake_time import FakeClock

RUN = "bench-3/2031-03-14/1"
PAGE_BYTES = 4096
"""Of a database of SQLite, unless it was made with another (SQLite documentation, pragma page_size)."""


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """A closed book of several pages."""
    workshop = Workshop(tmp_path)
    workshop.begin(RUN)
    for number in range(60):
        punched = Punched(grade=PunchClass.UNSAFE, text=f"item {number} " + "of some length " * 12)
        workshop.book.append(RUN, punched)
    workshop.end(RUN, "fail")
    workshop.book.close()
    return tmp_path / "book.sqlite3"


def change(place: Path, *statements: str) -> None:
    """Change the file past the triggers that forbid it, as another program could."""
    with sqlite3.connect(place) as file:
        triggers = list(file.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"))
        for name, _ in triggers:
            file.execute(f"DROP TRIGGER {name}")
        for statement in statements:
            file.execute(statement)
        for _, again in triggers:
            file.execute(again)
    file.close()


def verified(place: Path) -> Verified:
    """What a verification of the file finds."""
    with Book(place, FakeClock()) as book:
        rows, damage = book.survey()
    return verify(rows, damage=damage)


def told(place: Path) -> list[str]:
    """The faults, in words."""
    return [fault.what for fault in verified(place).faults]


def leaves(place: Path) -> list[int]:
    """The table's pages that hold entries (SQLite documentation, "The DBSTAT Virtual Table")."""
    with sqlite3.connect(place) as file:
        query = "SELECT pageno FROM dbstat WHERE name = 'entries' AND pagetype = 'leaf' ORDER BY path"
        pages = [page for (page,) in file.execute(query)]
    file.close()
    return pages


def overwritten(place: Path, page: int, data: bytes, at: int = 0) -> None:
    """Write over part of a page."""
    with place.open("r+b") as file:
        file.seek((page - 1) * PAGE_BYTES + at)
        file.write(data)


def test_a_sound_book_has_no_fault(place: Path) -> None:
    """The check finds nothing where nothing is wrong."""
    assert verified(place).sound
    assert 62 == verified(place).entries


@pytest.mark.parametrize("index", ["entries_by_run", "entries_by_kind"])
def test_an_index_that_hides_entries_hides_nothing(place: Path, index: str) -> None:
    """An index made anew with a condition is named, and every item is read without it."""
    columns = index.removeprefix("entries_by_")
    change(place, f"DROP INDEX {index}", f"CREATE INDEX {index} ON entries ({columns}, sequence) WHERE sequence < 9")

    assert [f"the index {index} is not as this tool makes it"] == told(place)
    with Book(place, FakeClock()) as book:
        assert 60 == len(list(book.records(Punched, run=RUN)))


def test_a_damaged_index_hides_no_entry(place: Path) -> None:
    """A page of an index that was swapped with an older one, as by a failing disk, is noticed and not read."""
    with sqlite3.connect(place) as file:
        query = "SELECT pageno FROM dbstat WHERE name = 'entries_by_run' AND pagetype = 'leaf' ORDER BY path"
        page = next(page for (page,) in file.execute(query))
    file.close()
    overwritten(place, page, b"\x0a\x00\x00\x00\x00\x10\x00\x00")  # an empty leaf of an index

    assert any("the file is damaged" in fault for fault in told(place))
    with Book(place, FakeClock()) as book:
        assert 60 == len(list(book.records(Punched, run=RUN)))


@pytest.mark.parametrize(
    ("statement", "said"),
    [
        ("CREATE VIEW runs AS SELECT run FROM entries", "the view runs is none that this tool makes"),
        (
            "CREATE TRIGGER quiet AFTER INSERT ON entries BEGIN DELETE FROM entries WHERE kind = 'punch'; END",
            "the trigger quiet is none that this tool makes",
        ),
        ("DROP INDEX entries_by_run", "the index entries_by_run is missing"),
    ],
)
def test_what_the_tool_does_not_make_is_named(place: Path, statement: str, said: str) -> None:
    """A table, index, view or trigger that is missing or strange is a fault by itself."""
    change(place, statement)

    assert [said] == told(place)


def test_a_missing_trigger_is_named(place: Path) -> None:
    """Without it entries could be removed, so that it is gone is a fault."""
    with sqlite3.connect(place) as file:
        file.execute("DROP TRIGGER entries_no_delete")
    file.close()

    assert ["the trigger entries_no_delete is missing"] == told(place)


@pytest.mark.parametrize(
    ("statement", "said"),
    [
        (
            "payload = x'7b7d'",
            "its payload is damaged: it cannot be unpacked (Error -3 while decompressing data: incorrect header check)",
        ),
        ("payload = 7.5, digest = x'00'", "its digest has 1 bytes, not 32"),
        ("payload = CAST('' AS BLOB)", "its payload is damaged: it cannot be unpacked (its end is missing)"),
        ("elapsed_us = 'soon'", "its elapsed_us is of type text, not integer"),
        ("elapsed_us = 1.5", "its elapsed_us is of type real, not integer"),
        ("raw = 'words'", "its raw is of type text, not blob"),
        ("run = CAST(x'62ff' AS TEXT)", "its run is no text (byte 2 is 0xff)"),
        ("digest = CAST(x'c3' AS TEXT)", "its digest is no text (byte 1 is 0xc3)"),
    ],
)
def test_a_value_of_the_wrong_kind_is_named(place: Path, statement: str, said: str) -> None:
    """The entry is named with what is wrong in it, the entry after it is not blamed, and the rest is checked."""
    change(place, f"UPDATE entries SET {statement} WHERE sequence = 5")  # noqa: S608 - our own statements
    change(place, "UPDATE entries SET at = '' WHERE sequence = 40")

    assert [f"entry 5 cannot be read: {said}", "entry 40 (punch) was altered after it was written"] == told(place)
    assert 61 == verified(place).entries


def test_a_damaged_page_leaves_the_others_readable(place: Path) -> None:
    """The entries of the page are named as one range; those of the other pages are read and checked."""
    page = leaves(place)[2]
    overwritten(place, page, bytes(PAGE_BYTES))
    faults = told(place)

    assert any("the file is damaged" in fault for fault in faults)
    ranges = [fault for fault in faults if fault.startswith("entries ")]
    assert 1 == len(ranges)
    first, last = (int(word) for word in ranges[0].split() if word.isdecimal())
    assert verified(place).entries == 62 - (last - first + 1)
    assert not any("missing or moved" in fault for fault in faults)


def test_a_damaged_last_page_is_named(place: Path) -> None:
    """Where the book ends is known from its indexes even so."""
    overwritten(place, leaves(place)[-1], bytes(PAGE_BYTES))

    assert any(fault.startswith("entries ") and " to 62 cannot be read" in fault for fault in told(place))


def test_no_damage_ends_the_check(place: Path) -> None:
    """Of 120 random damages to the file each is named, or changes nothing of any entry; none ends in another error."""
    chance, whole = random.Random(31), place.read_bytes()  # noqa: S311 - repeatable, not secret
    before = verified(place)
    with Book(place, FakeClock()) as book:
        entries = list(book.rows())
    refused = 0
    for _ in range(120):
        at = chance.randrange(len(whole))
        size = chance.choice((1, 4, 64, PAGE_BYTES))
        place.write_bytes(whole[:at] + chance.randbytes(size) + whole[at + size :])
        try:
            with Book(place, FakeClock(), reads_only=True) as book:
                rows, damage = book.survey()
            found = verify(rows, damage=damage)
        except BookError:
            refused += 1
            continue
        assert not found.sound or rows == entries
    assert before.sound
    assert refused < 30


def test_a_damaged_description_of_the_tables_is_told(place: Path) -> None:
    """Its first page says what tables there are: whatever byte of that is damaged, a sentence says so or names it."""
    whole = place.read_bytes()
    with Book(place, FakeClock(), reads_only=True) as book:
        entries = list(book.rows())
    places = [at for at in range(100, PAGE_BYTES) if whole[at]]
    for at in places[:: max(1, len(places) // 120)]:
        place.write_bytes(whole[:at] + bytes([whole[at] ^ 0x80]) + whole[at + 1 :])
        try:
            with Book(place, FakeClock(), reads_only=True) as book:
                rows, damage = book.survey()
        except BookError:
            continue
        assert damage.faults or rows == entries


def test_an_entry_put_before_the_first_is_found(place: Path) -> None:
    """A number below 1 is no hiding place."""
    change(place, "UPDATE entries SET sequence = -7 WHERE sequence = 3")

    assert "entry 1 is missing or moved; entry -7 stands in its place" in told(place)


@pytest.mark.parametrize(
    "value", ["payload = x'7b7d'", "at = x'00'", "raw = 'words'", "elapsed_us = 'soon'", "run = CAST(x'62ff' AS TEXT)"]
)
@pytest.mark.parametrize("words", [("list",), ("show", RUN, "--all"), ("due",), ("export", "-")])
def test_no_command_trips_over_a_value(place: Path, value: str, words: tuple[str, ...]) -> None:
    """A command that needs the entry says in a sentence that the book cannot be read, and what names the faults.

    `show` names a packed entry that is damaged in its own line, and shows the others.
    """
    change(place, f"UPDATE entries SET {value} WHERE sequence = 1")  # noqa: S608 - our own statements
    done = CliRunner().invoke(main, ["book", *words, "--book", str(place)])

    assert done.exit_code in (0, 1, 9), done.output
    named = words[0] == "show" and "payload is damaged" in " ".join(done.output.split())
    assert (done.exit_code == 9 or named) == ("cannot be read" in " ".join(done.output.split()))
    assert done.exception is None or isinstance(done.exception, SystemExit)


@pytest.mark.parametrize("name", ["facts", "facts_by_mark", "facts_by_word", "entries", "entries_by_run"])
def test_a_damaged_page_is_told_by_every_command(place: Path, name: str) -> None:
    """Whichever table or index it belongs to: what needs it ends with 9 and names the file; nothing ends in a trace.

    A report that needs nothing of it is drawn, and says that the file is damaged.
    """
    with sqlite3.connect(place) as file:
        query = "SELECT pageno FROM dbstat WHERE name = ? ORDER BY pageno"
        pages = [page for (page,) in file.execute(query, (name,))]
    file.close()
    assert pages
    for page in pages:
        overwritten(place, page, b"\xff" * PAGE_BYTES)
    out = ("--out", str(place.parent / "reports"))
    refused = 0
    looks = ("book list", f"book show {RUN}", "book due", "book export -", "report bench-3")
    for look in looks:
        done = CliRunner().invoke(
            main, [*look.split(), *(out if look.startswith("report") else ()), "--book", str(place)]
        )
        said = " ".join(done.output.split())
        assert done.exit_code in (0, 1, 9), (look, said)
        drawn = done.exit_code == 1 and "the book was altered after it was written: the file is damaged" in said
        assert (done.exit_code == 9 or drawn) == ("is malformed" in said), (look, said)
        refused += done.exit_code == 9

    assert refused > 0


NEWEST = "sequence = (SELECT max(sequence) FROM entries)"


@pytest.mark.parametrize(
    ("column", "value"),
    [("run", "x'00'"), ("kind", "x'00'"), ("at", "x'00'"), ("elapsed_us", "'soon'"), ("raw", "'text'")],
)
def test_nothing_follows_an_entry_of_another_type(place: Path, column: str, value: str) -> None:
    """Whatever column of the newest entry is no longer of its type: the next one is refused, and verify is named."""
    change(place, f"UPDATE entries SET {column} = {value} WHERE {NEWEST}")  # noqa: S608 - our own words
    with Book(place, FakeClock()) as opened, pytest.raises(BookError, match=r"its \w+ is of another type.*verify"):
        opened.append(RUN, Told(heading="it goes on"))


@pytest.mark.parametrize("column", ["previous", "digest"])
def test_digests_as_text_are_followed(place: Path, column: str) -> None:
    """A book whose newest entry has its digests as the first format had them goes on, and its chain is whole."""
    change(place, f"UPDATE entries SET {column} = lower(hex({column})) WHERE {NEWEST}")  # noqa: S608 - our own words
    with Book(place, FakeClock()) as opened:
        opened.append(RUN, Told(heading="it goes on"))
        assert [] == opened.verify()
