"""What the declared wiring predicts beside what was measured: where the two part, the wiring is not as declared."""

from collections.abc import Mapping, Sequence
from typing import Any

from commission.evidence.findings.loop import UnpluggedAtBoard
from commission.judge.polarity import majority
from commission.procedure.unplugged_reading import MOVED
from commission.report.document import Paragraph, Section, Table
from commission.report.record import Event, RunFacts, mapping, texts
from commission.report.trials import is_unread, readings_of
from commission.vocabulary import Instruction, Presence, Reading

READS_AS = {Reading.ACTIVE: Presence.IN.value, Reading.INACTIVE: Presence.OUT.value}
"""What the firmware concludes from a reading."""
NOT_MEASURED = "not measured"


def predicted_section(run: RunFacts) -> Section:
    """One row a test that was predicted; empty when no wiring was declared."""
    states = mapping(mapping(run.finding("wiring").get("assessment")).get("states"))
    rows = [
        _row("filament in", _concluded(states, "sound", Presence.IN), _trials(run, Presence.IN)),
        _row("filament out", _concluded(states, "sound", Presence.OUT), _trials(run, Presence.OUT)),
        _row("sensor unplugged", _concluded(states, "unplugged", Presence.OUT), _unplugged(run)),
    ]
    if not states:
        return Section("predicted", "Predicted and measured")
    head = ("State", "Predicted to read as", "Measured, read as", "Agreement")
    differ = any(row[3] == "differs" for row in rows)
    said = "The wiring is not as declared, or the firmware's logic is not." if differ else ""
    table = Table("The declared wiring's prediction beside the measurement", head, tuple(rows))
    return Section("predicted", "Predicted and measured", (table, *([Paragraph(said)] if said else [])))


def _concluded(states: Mapping[str, Any], state: str, presence: Presence) -> str:
    return str(mapping(mapping(states.get(state)).get(presence.value)).get("concluded") or "not predicted")


def _row(name: str, predicted: str, measured: Sequence[str]) -> tuple[str, str, str, str]:
    """The measurement counted, and whether every one is as predicted."""
    counts = {word: measured.count(word) for word in dict.fromkeys(measured)}
    said = ", ".join(f"{word} in {count} of {len(measured)}" for word, count in counts.items()) or NOT_MEASURED
    known = predicted in READS_AS.values() and bool(measured)
    agreement = ("agrees" if set(measured) == {predicted} else "differs") if known else "not judged"
    return name, predicted, said, agreement


def _trials(run: RunFacts, presence: Presence) -> list[str]:
    """What each trial that stands was read as."""
    standing = [event.facts for event in run.of("trial") if not (event.facts["void_reason"] or is_unread(event))]
    moved = [facts for facts in standing if facts["instruction"] != Instruction.LEAVE.value]
    return [_read_as(majority(readings_of(facts["dwell"]))) for facts in moved if facts["presence"] == presence.value]


def _unplugged(run: RunFacts) -> list[str]:
    """What each power-up that counts was read as; one that followed the filament is not among them."""
    found = run.finding(UnpluggedAtBoard.name())
    if found or _has_watch(run, MOVED):
        steady = zip(texts(found.get("readings")), _flags(found.get("watched")), strict=False)
        return [_read_as(Reading(reading)) for reading, was_watched in steady if was_watched]
    older = [event.facts for event in run.of("watch") if _key(event).startswith("unplugged")]
    return [_read_as(majority(readings_of(facts["readings"]))) for facts in older]


def _has_watch(run: RunFacts, begins: str) -> bool:
    return any(_key(event).startswith(begins) for event in run.of("watch"))


def _key(watch: Event) -> str:
    return str(watch.facts.get("key", ""))


def _flags(value: object) -> list[bool]:
    return [each is True for each in value] if isinstance(value, list) else []


def _read_as(reading: Reading) -> str:
    return READS_AS.get(reading, "nothing steady")
