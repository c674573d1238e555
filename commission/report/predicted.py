"""What the declared wiring predicts beside what was measured: where the two part, the wiring is not as declared."""

from collections.abc import Sequence

from commission.evidence.findings.wiring import PredictedPair, Wiring
from commission.evidence.measured import Trial
from commission.judge.polarity import majority
from commission.report.document import Paragraph, Section, Table
from commission.report.in_words import UNDEFINED
from commission.report.record import RunFacts
from commission.report.trials import readings_of
from commission.vocabulary import Presence, Reading

READS_AS = {Reading.ACTIVE: Presence.IN.value, Reading.INACTIVE: Presence.OUT.value}
"""What the firmware concludes from a reading."""
NOT_MEASURED = "not measured"


def predicted_section(run: RunFacts) -> Section:
    """One row a test that was predicted; empty when no wiring was declared."""
    wiring = run.finding(Wiring)
    if wiring is None or not wiring.assessment.states:
        return Section("predicted", "Prediction beside measurement")
    sound, unplugged = (wiring.assessment.states.get(state) for state in ("sound", "unplugged"))
    rows = [
        _row("filament in", _concluded(sound, Presence.IN), _trials(run, Presence.IN)),
        _row("filament out", _concluded(sound, Presence.OUT), _trials(run, Presence.OUT)),
        _row("sensor unplugged", _concluded(unplugged, Presence.OUT), _unplugged(run)),
    ]
    head = ("State", "Predicted to read as", "Measured, read as", "Agreement")
    differ = any(row[3] == "differs" for row in rows)
    said = "The wiring is not as declared, or the firmware's logic is not." if differ else ""
    table = Table("The declared wiring's prediction beside the measurement", head, tuple(rows))
    return Section("predicted", "Prediction beside measurement", (table, *([Paragraph(said)] if said else [])))


def _concluded(pair: PredictedPair | None, presence: Presence) -> str:
    if pair is None:
        return "not predicted"
    state = pair.filament_in if presence is Presence.IN else pair.filament_out
    return UNDEFINED if state.concluded is None else state.concluded.value


def _row(name: str, predicted: str, measured: Sequence[str]) -> tuple[str, str, str, str]:
    """The measurement counted, and whether every one is as predicted."""
    counts = {word: measured.count(word) for word in dict.fromkeys(measured)}
    said = ", ".join(f"{word} in {count} of {len(measured)}" for word, count in counts.items()) or NOT_MEASURED
    known = predicted in READS_AS.values() and bool(measured)
    agreement = ("agrees" if set(measured) == {predicted} else "differs") if known else "not judged"
    return name, predicted, said, agreement


def _trials(run: RunFacts, presence: Presence) -> list[str]:
    """What each trial that counts, and in which the filament was moved, was read as."""
    moved = [item.entry for item in run.stands.of(Trial) if item.counts and item.entry.timed.moved]
    return [_read_as(majority(readings_of(trial.dwell))) for trial in moved if trial.presence is presence]


def _unplugged(run: RunFacts) -> list[str]:
    """What each power-up that counts, and was read for long enough, was read as."""
    counting = [each for each in run.stands.power_ups if each.counts and each.at_board and each.watched]
    return [_read_as(each.reading) for each in counting]


def _read_as(reading: Reading) -> str:
    return READS_AS.get(reading, "nothing steady")
