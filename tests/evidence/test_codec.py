"""Entries and their text: each kind comes back as it was, and what cannot be read is named as what it is."""

import json
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from commission.evidence.codec import Unwritable, read, record, written
from commission.evidence.entry import NOTHING_TOLD, PLAIN, About, Entry, Unreadable
from commission.evidence.found import Established
from commission.evidence.measured import Watch
from commission.evidence.runs import PhaseAbandoned
from commission.evidence.talk import Told
from commission.evidence.wire import Bytes, Listening, Result, Stretch
from commission.records.chain import canonical
from tests.evidence.strategies import ENTRIES, JSON, abouts, entries_of, findings

FEW = settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])


def text_of(entry: Entry, about: About = NOTHING_TOLD) -> str:
    """The entry as it stands in the book."""
    return canonical(written(entry, about))


@pytest.mark.parametrize("kind", ENTRIES.values(), ids=list(ENTRIES))
@FEW
@given(data=st.data())
def test_every_kind_of_entry_comes_back(kind: type[Entry], data: st.DataObject) -> None:
    """Whatever it holds, its text is read back as the same entry that belongs to the same."""
    entry, about = data.draw(entries_of(kind)), data.draw(abouts())

    assert (entry, about) == read(kind.kind(), text_of(entry, about))


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(finding=findings())
def test_every_kind_of_finding_comes_back(finding: Any) -> None:
    """With its sentences and all its values."""
    entry = Established.of(finding)

    assert (entry, NOTHING_TOLD) == read(entry.kind(), text_of(entry))


def test_an_entry_carries_its_form_and_what_it_belongs_to() -> None:
    """The form stands beside the entry; what is not told of it takes no room."""
    entry = PhaseAbandoned(name="loop_check", why="the link was lost")

    assert {
        "format": PLAIN,
        "entry": {"kind": "phase_abandoned", "name": "loop_check", "why": "the link was lost"},
    } == (written(entry))
    assert {"sensor": "filament", "bench": "north"} == written(entry, About(sensor="filament", bench="north"))["about"]


def test_an_exchange_that_tells_no_time_took_none() -> None:
    """Where a book says nothing of the lines, of what came between and of the time, none is read into it."""
    told = {"format": PLAIN, "entry": {"kind": "result", "command": "M119", "end": "acknowledged"}}

    entry, _ = read(Result.kind(), canonical(told))

    assert isinstance(entry, Result)
    assert ((), (), 0.0) == (entry.lines, entry.asides, entry.took_s)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "Expecting value"),
        ("[]", "it holds no JSON object"),
        ("null", "it holds no JSON object"),
        ('{"format":4,"entry":{"kind":"listening"}}', "it was written in form 4; this version of the tool knows 3"),
        ('{"format":0,"entry":{"kind":"listening"}}', "it is of no known form (0)"),
        ('{"format":true,"entry":{"kind":"listening"}}', "it is of no known form (True)"),
        ('{"entry":{"kind":"listening","seconds":1}}', "it is of no known form (None)"),
        ('{"format":2,"entry":{"kind":"listening"}}', "Object missing required field `seconds`"),
        ('{"format":2,"entry":{"kind":"listening","seconds":-1}}', "Expected `float` >= 0.0 - at `seconds`"),
        ('{"format":2,"entry":{"kind":"listening","seconds":"long"}}', "Expected `float`, got `str` - at `seconds`"),
        ('{"format":2,"entry":{"kind":"listening","seconds":NaN}}', "NaN is no number"),
        ('{"format":2,"entry":{"kind":"told"}}', "its text tells of told"),
        ('{"format":2,"entry":{"kind":"yodel"}}', "Invalid value 'yodel'"),
        ('{"format":2,"entry":{"kind":"yo\\u001b[2Jdel"}}', r"Invalid value 'yo\x1b[2Jdel'"),
        ('{"format":2,"entry":{"kind":"listening","seconds":1},"mood":"good"}', "unknown field `mood`"),
        ("[" * 100_000, "recursion"),
    ],
)
def test_what_cannot_be_read_says_why(text: str, why: str) -> None:
    """Nothing comes out in its place; the reason is one printable line."""
    entry, about = read("listening", text)

    assert isinstance(entry, Unreadable)
    assert ("listening", NOTHING_TOLD) == (entry.kind, about)
    assert why in entry.why
    assert entry.why.isprintable()
    assert len(entry.why) <= 301


def test_an_entry_that_lost_its_form_is_not_read_as_an_empty_one() -> None:
    """A message may lack all its words; one whose words stand there is not read without them."""
    values = written(Told(heading="Mind your hands.", lines=("The machine moves.",)))
    del values["format"]

    assert Unreadable("told", "it is of no known form (None)") == read("told", canonical(values))[0]


@settings(max_examples=200, deadline=None)
@given(
    kind=st.sampled_from(sorted(ENTRIES)) | st.text(max_size=8),
    text=st.text(max_size=40)
    | JSON.map(json.dumps)
    | JSON.map(lambda value: json.dumps({"format": 2, "entry": value})),
)
def test_any_text_is_read_or_named(kind: str, text: str) -> None:
    """No text of any kind raises an error."""
    entry, _ = read(kind, text)

    assert isinstance(entry, Unreadable) or entry.kind() == kind


@pytest.mark.parametrize("seconds", [-1.0, 1e7, float("inf"), "long", None])
def test_an_entry_that_could_not_be_read_back_is_not_written(seconds: Any) -> None:
    """It is an error of the tool, found before anything stands in the book."""
    with pytest.raises(Unwritable, match="An entry of kind listening cannot be written"):
        written(Listening(seconds=seconds))


def test_traffic_whose_parts_are_not_as_long_as_its_bytes_cannot_be_read() -> None:
    """Bytes that were cut or lengthened are told; the same parts with their bytes are read."""
    text = text_of(Bytes(parts=(Stretch(sent=True, at_us=1, size=3),)))
    place: dict[str, Any] = {"sequence": 1, "run": "r", "at": "", "elapsed_us": 0}
    whole, cut = (record(Bytes.kind(), text, raw=raw, **place).entry for raw in (b"abc", b"ab"))

    assert isinstance(whole, Bytes)
    assert Unreadable(Bytes.kind(), "its parts are not as long as its bytes") == cut


def test_texts_may_be_made_printable_on_the_way() -> None:
    """What is applied to the values is applied before they are understood."""
    text = text_of(PhaseAbandoned(name="a", why="b"))

    def louder(value: object) -> object:
        return json.loads(json.dumps(value).replace('"b"', '"B"'))

    assert (PhaseAbandoned(name="a", why="B"), NOTHING_TOLD) == read("phase_abandoned", text, louder)


@pytest.mark.parametrize("length", [60, 299, 300, 301, 4000])
def test_a_reason_is_no_longer_than_a_paragraph(length: int) -> None:
    """A damaged entry may be of any length, and its reason stands in lists and reports: 300 letters are shown of it."""
    whole = "Invalid value 'k' - at `kind`"
    reason = whole.replace("k", "k" * (length - len(whole) + 1), 1)
    entry, _ = read(Watch.kind(), json.dumps({"format": 2, "entry": {"kind": reason.split("'")[1]}}))

    assert isinstance(entry, Unreadable)
    assert (reason if length <= 300 else f"{reason[:300]}…") == entry.why
