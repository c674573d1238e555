"""Verification: any entry altered, removed or moved is found, and a removed end by the digest on the report."""

import random
import sqlite3
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from commission.evidence.chains import ChainBegun, SeenHead
from commission.records.book import Book
from commission.records.chain import Row, canonical, link_row
from commission.records.verify import NoDigest, clean_digest, verify
from tests.records.books import Workshop
from tests.records.memory import chain_of
from tests.support.fake_time import FakeClock

MUTATIONS = 500


def chain(length: int) -> list[Row]:
    """A whole chain of invented entries, some with bytes."""
    entries: list[Row] = []
    for i in range(length):
        at = f"2031-03-14T09:{i % 60:02}:00.000+00:00"
        payload = canonical({"text": f"entry {i}", "value": i / 3})
        raw = None if i % 3 else bytes([i % 256, 10])
        previous = entries[-1] if entries else None
        run = f"bench-{i % 2}/2031-03-14/1"
        entries.append(link_row(previous, run=run, kind="told", at=at, elapsed_us=i, payload=payload, raw=raw))
    return entries


def mutated(entries: list[Row], chance: random.Random) -> list[Row]:
    """The chain with one thing changed: a field, the order, or the presence of an entry."""
    place = chance.randrange(len(entries))
    kind = chance.choice(("field", "order", "removed", "doubled"))
    if kind == "field":
        return [*entries[:place], field_changed(entries[place], chance), *entries[place + 1 :]]
    if kind == "removed":
        return entries[:place] + entries[place + 1 :]
    if kind == "doubled":
        return [*entries[: place + 1], *entries[place:]]
    other = chance.choice([i for i in range(len(entries)) if i != place])
    moved = list(entries)
    moved[place], moved[other] = moved[other], moved[place]
    return moved


def field_changed(entry: Row, chance: random.Random) -> Row:
    """The entry with one field changed by one letter, number or byte."""
    field = chance.choice(list(entry.fields))
    value = getattr(entry, field)
    if field == "raw":
        new: object = chance.choice((b"", None, b"\x01")) if value is None else chance.choice((None, value + b"\x00"))
        new = b"x" if new == value else new
    elif isinstance(value, int):
        new = value + chance.choice((-1, 1, 1000))
    else:
        at = chance.randrange(len(value))
        new = value[:at] + chance.choice([c for c in "0123456789abcdefZ {}" if c != value[at]]) + value[at + 1 :]
    changed: dict[str, Any] = {field: new}
    return replace(entry, **changed)


def test_single_mutations_are_all_found() -> None:
    """Of 500 random single changes of field, order or presence every one is found, a removed end by the digest."""
    chance, entries, whole = random.Random(20), chain(40), 0  # noqa: S311 - repeatable, not secret

    for _ in range(MUTATIONS):
        found = verify(mutated(entries, chance), entries[-1].digest)
        assert not found.sound, found
        whole += not found.faults
    assert 0 < whole < MUTATIONS / 10, "only the removed last entry leaves a whole chain behind"


def test_mutations_in_the_file_are_found(tmp_path: Path) -> None:
    """Changes made in the file itself, past the triggers that forbid them, are found."""
    for number, change in enumerate(
        (
            "UPDATE entries SET payload = replace(payload, 'pass', 'fail') WHERE sequence = 5",
            "UPDATE entries SET at = '2030-01-01T00:00:00.000+00:00' WHERE sequence = 2",
            "DELETE FROM entries WHERE sequence = 3",
            "UPDATE entries SET run = 'bench-4/2031-03-14/1' WHERE sequence = 1",
            "UPDATE entries SET raw = x'00' WHERE sequence = 4",
        )
    ):
        folder = tmp_path / str(number)
        folder.mkdir()
        workshop = Workshop(folder)
        workshop.whole_run("bench-3/2031-03-14/1")
        workshop.book.close()
        file = sqlite3.connect(folder / "book.sqlite3")
        file.executescript(f"DROP TRIGGER entries_no_update; DROP TRIGGER entries_no_delete; {change};")
        file.close()
        with Book(folder / "book.sqlite3", FakeClock()) as book:
            rows, damage = book.survey()
        assert not verify(rows, damage=damage).sound, change


def test_the_entry_at_fault_is_named() -> None:
    """An altered entry is named by its number."""
    entries = chain(10)
    entries[6] = replace(entries[6], payload='{"text":"another"}')

    assert [7] == [fault.sequence for fault in verify(entries).faults]
    said = " ".join(verify(entries).sentences)
    assert "entry 7 (told) was altered" in said
    assert "none was altered" not in said
    assert "none was altered" in " ".join(verify(chain(10)).sentences)


def test_a_removed_entry_is_named() -> None:
    """Where an entry is missing, its number is said."""
    entries = chain(10)
    del entries[3]

    assert "entry 4 is missing" in " ".join(verify(entries).sentences)


def test_a_removed_end_is_found_by_the_digest_only() -> None:
    """A book cut at its end is whole by itself; against the digest on a report it is not."""
    entries = chain(10)
    cut = entries[:7]

    assert verify(cut).sound
    assert "compare with a signed report" in " ".join(verify(cut).sentences)
    found = verify(cut, entries[-1].digest)
    assert not found.sound
    assert "or this is another book" in " ".join(found.sentences)


def test_of_several_reports_the_missing_one_is_named_with_where_the_book_ends() -> None:
    """A digest that is found shows that it is the right book; the one that is not was cut off behind its last entry."""
    entries = chain(10)
    found = verify(entries[:7], entries[2].digest, entries[6].digest, entries[9].digest)
    said = " ".join(found.sentences)

    assert not found.sound
    assert [3, 7, None] == [each.entry and each.entry.sequence for each in found.sought]
    assert f"Not found: no entry has the digest {entries[9].digest}." in said
    assert "The book ends with entry 7 (run bench-0/2031-03-14/1, 2031-03-14 09:06)" in said
    assert "what that report was drawn from stood behind it, and was cut off." in said
    assert verify(entries, entries[2].digest, entries[9].digest).sound


def test_a_digest_as_typed_from_paper_is_found() -> None:
    """Blanks, capitals and a shortened digest do not matter."""
    entries = chain(10)
    printed = entries[4].digest.upper()
    typed = " ".join(printed[i : i + 4] for i in range(0, 20, 4))

    assert [entries[4]] == [each.entry for each in verify(entries, typed).sought]
    assert verify(entries, typed).sound


@pytest.mark.parametrize("digest", ["abc", "x" * 64, "0" * 65])
def test_what_is_no_digest_is_refused(digest: str) -> None:
    """A text that cannot be a digest is refused with how long one is."""
    with pytest.raises(NoDigest, match="64 hexadecimal digits"):
        verify(chain(2), digest)


def test_an_empty_book_is_sound() -> None:
    """A book without entries has no fault, and holds no digest."""
    assert verify([]).sound
    assert not verify([], "0" * 64).sound


def test_an_entry_that_cannot_be_read_is_named() -> None:
    """Written by a newer version it is as it was written, so the book is sound; that it cannot be read is said."""
    newer = link_row(None, run="r1", kind="told", at="", elapsed_us=0, payload='{"entry":{"kind":"told"},"format":99}')
    found = verify([newer])

    assert found.sound
    said = "This version of the tool cannot read entry 1 (told): it was written in form 99; this version of the tool"
    assert any(sentence.startswith(said) for sentence in found.sentences)


HINT = "Entries cut off at the end leave no gap: compare with a signed report by --digest."


def test_each_case_has_its_sentence() -> None:
    """What a digest that is not found means, and when one should be looked for."""
    whole, gone = chain(4), "f" * 64
    broken = [whole[0], replace(whole[1], at="x"), *whole[2:]]
    several = [*whole, *(replace(row, chain=1) for row in chain(2))]
    last = "entry 4 (run bench-1/2031-03-14/1, 2031-03-14 09:03)"
    told = {
        "The book is empty: what that report was drawn from is not in it.": verify([], gone),
        "What that report was drawn from was cut off, altered, or stood in a chain that is not in this book.": verify(
            several, gone
        ),
        f"What that report was drawn from was altered or removed. The book ends with {last}.": verify(broken, gone),
        f"The book ends with {last}. Either everything behind it was cut off, what those 2 reports were drawn from "
        "with it, or this is another book.": verify(whole, gone, "e" * 64),
        f"The book ends with {last}: what that report was drawn from stood behind it, and was cut off.": verify(
            whole, whole[1].digest, gone
        ),
        HINT: verify(whole),
    }
    for sentence, found in told.items():
        assert sentence == found.sentences[-1]
    for found in (verify(broken), verify(whole, whole[0].digest)):
        assert HINT not in found.sentences


def test_each_of_several_chains_has_its_sentence() -> None:
    """By days, with its newest digest; in a book of one chain the book has it."""
    one, other = chain(4), [replace(row, chain=1) for row in chain(2)]
    days = "2031-03-14 to 2031-03-14"
    sentences = verify([*one, *other]).sentences

    assert "6 entries in 2 chains." == sentences[0]
    name = one[0].digest[:8]
    ends = [f"the newest, entry {rows[-1].sequence}, has the digest {rows[-1].digest}." for rows in (one, other)]
    assert f"Chain {name}: 4 entries from {days}; {ends[0]}" == sentences[1]
    assert f"Chain {name}: 2 entries from {days}; {ends[1]}" == sentences[2]
    assert f"4 entries; the newest has the digest {one[-1].digest}." == verify(one).sentences[0]


def test_a_chain_that_is_not_here_lacks_nothing() -> None:
    """A chain that began behind another one is sound without it; with it, what was seen of it must be there."""
    seen = chain(3)
    behind = SeenHead(seen[0].digest, 3, seen[2].digest)
    (later,) = chain_of(("chain", ChainBegun(identity="0" * 32, behind=(behind,))), number=1)

    assert verify([later]).sound
    assert verify([*seen, later]).sound
    (fault,) = verify([*seen[:2], later]).faults
    assert 3 == fault.sequence
    assert fault.what.startswith(f"chain {seen[0].digest[:8]} had 3 entries when chain {later.digest[:8]} began")


@pytest.mark.parametrize(("digits", "is_one"), [(11, False), (12, True), (64, True), (65, False)])
def test_a_digest_has_up_to_64_digits(digits: int, *, is_one: bool) -> None:
    """Twelve of them are enough; SHA-256 has 64 (FIPS 180-4)."""
    if is_one:
        assert digits * "a" == clean_digest(digits * "A ")
    else:
        with pytest.raises(NoDigest):
            clean_digest(digits * "A ")
