"""The trials and watches of a run by kind, and by name only those that stand out."""

from collections import Counter
from collections.abc import Sequence

from commission.evidence.measured import Trial, Watch
from commission.evidence.stands import Item
from commission.judge.polarity import majority
from commission.judge.wording import counted
from commission.report.document import Block, Paragraph, Section, Table
from commission.report.record import RunFacts
from commission.report.trials import (
    NOT_COUNTED,
    TRIAL_HEAD,
    begun_only,
    changes_of,
    readings_of,
    set_aside,
    slowed,
    trial_row,
    watched_s,
)
from commission.units import seconds

MOST_ROWS = 6
HEAD = ("Prompt", "Declared", "Prompts", "Majority of each dwell", "Changes nobody asked for", "Not counted")
WATCH_HEAD = ("Watch", "Declared", "Times", "Majority", "Watched", "Changes nobody asked for")
_Kind = tuple[str, str]


def trials_in_short(run: RunFacts) -> Section:
    """One row a kind of prompt; each prompt that is not like the others of its kind; the watches in a sentence."""
    trials, watches = run.stands.of(Trial), run.stands.of(Watch)
    blocks: list[Block] = []
    if trials:
        blocks += [Table("", HEAD, _by_kind(trials)), *_standing_out(trials)]
    said = ([set_aside(trials)] if trials else []) + ([_in_a_sentence(watches)] if watches else []) + slowed(run)
    blocks += [Paragraph(" ".join(said), "quiet")] if said else []
    blocks += begun_only(run)
    if not blocks:
        blocks.append(Paragraph("No trial was taken in this run."))
    return Section("trials", "Trials and readings", tuple(blocks), page=2)


def watches_in_short(run: RunFacts) -> Section:
    """One row a kind of watch in which something changed that nobody asked to change."""
    watches = [item for item in run.stands.of(Watch) if changes_of(item)]
    table = Table("Watches in which the reading changed", WATCH_HEAD, _watched(watches))
    return Section("watches", "What was watched", (table,) if watches else ())


def _in_a_sentence(watches: Sequence[Item[Watch]]) -> str:
    counting = [item for item in watches if item.counts]
    length, changes = seconds(sum(watched_s(item.entry) for item in counting)), sum(map(changes_of, counting))
    several = f"{len(counting)} watches" if len(counting) != 1 else "1 watch"
    return (
        f"Without a prompt, in {several} that count: {length} watched, {counted(changes, 'change')} nobody asked for."
    )


def _kind(trial: Trial) -> _Kind:
    return trial.instruction.value, trial.presence.value


def _read_as(trial: Trial) -> str:
    return majority(readings_of(trial.dwell)).value if trial.dwell else "none"


def _by_kind(trials: Sequence[Item[Trial]]) -> tuple[tuple[str, ...], ...]:
    rows = []
    for kind in dict.fromkeys(_kind(item.entry) for item in trials):
        alike = [item for item in trials if _kind(item.entry) == kind]
        counting = [item for item in alike if item.counts]
        read = Counter(_read_as(item.entry) for item in counting)
        said = ", ".join(f"{word} in {count} of {len(counting)}" for word, count in read.items()) or "none counted"
        changes = sum(map(changes_of, counting))
        rows.append((*kind, str(len(alike)), said, str(changes), str(len(alike) - len(counting))))
    return tuple(rows)


def _standing_out(trials: Sequence[Item[Trial]]) -> list[Block]:
    read: dict[_Kind, Counter[str]] = {}
    for item in trials:
        read.setdefault(_kind(item.entry), Counter()).update([_read_as(item.entry)] if item.counts else [])
    usual = {kind: next((word for word, _ in counts.most_common(1)), "") for kind, counts in read.items()}
    unlike = [item for item in trials if changes_of(item) or _read_as(item.entry) != usual[_kind(item.entry)]]
    rows = [row for item in trials if (row := trial_row(item))[-1] or item in unlike]
    if not rows:
        return []
    more = f", the first {MOST_ROWS} of {len(rows)}" if len(rows) > MOST_ROWS else ""
    return [Table(f"Prompts that stand out{more}", TRIAL_HEAD, tuple(rows[:MOST_ROWS]))]


def _watched(watches: Sequence[Item[Watch]]) -> tuple[tuple[str, ...], ...]:
    rows = []
    for title, declared, counts in dict.fromkeys(map(_watch_kind, watches)):
        alike = [item for item in watches if _watch_kind(item) == (title, declared, counts)]
        read = Counter(majority(readings_of(each.entry.readings)).value for each in alike if each.entry.readings)
        said = ", ".join(f"{word} x{count}" if len(read) > 1 else word for word, count in read.items()) or "none"
        length = seconds(sum(watched_s(item.entry) for item in alike))
        changes = str(sum(map(changes_of, alike))) if counts else NOT_COUNTED
        rows.append((title, declared, str(len(alike)), said, length, changes))
    return tuple(rows)


def _watch_kind(item: Item[Watch]) -> tuple[str, str, bool]:
    presence = item.entry.presence
    return item.entry.title, "not declared" if presence is None else presence.value, item.counts
