"""The trials and watches of a run as tables: declared, seen, what changed without being asked to, and what counts."""

from collections.abc import Sequence
from itertools import groupby

from commission.evidence.entry import Entry
from commission.evidence.measured import Moves, Readings, TimedReading, Trial, TrialBegan, Watch, WatchBegan, samples_of
from commission.evidence.stands import Item, Why
from commission.judge.exposure import exposure_s
from commission.judge.polarity import majority
from commission.judge.stability import unwanted_changes
from commission.judge.wording import counted
from commission.report.document import Block, Paragraph, Section, Table
from commission.report.record import RunFacts, clock_of
from commission.vocabulary import Reading, Slowed

TRIAL_HEAD = ("Trial", "Cycle", "Time", "Prompt", "Declared", "Readings in the dwell", "Majority", "Changes", "Remark")
WATCH_HEAD = ("Watch", "Time", "Declared", "Readings", "Over", "Watched", "Largest gap", "Changes")
MOST_RUNS = 24
"""Any dwell of the usual length is shown whole."""
_WORDS = {Reading.ACTIVE: "active", Reading.INACTIVE: "inactive", Reading.UNKNOWN: "not read"}
NOT_COUNTED = "not counted"
TEST_MOVES = "Test moves."


def run_length(readings: Sequence[Reading]) -> str:
    """Readings in order, equal neighbours counted, as in `inactive x3, active x18`."""
    runs = [(_WORDS[reading], len(list(alike))) for reading, alike in groupby(readings)]
    said = [f"{word} x{count}" for word, count in runs[:MOST_RUNS]]
    more = [f"and {len(runs) - MOST_RUNS} more such runs"] if len(runs) > MOST_RUNS else []
    return ", ".join([*said, *more]) or "none"


def readings_of(readings: Readings) -> list[Reading]:
    """The readings of an entry, without their moments."""
    return [each.reading for each in readings]


def watched_s(watch: Watch) -> float:
    """How much of a watch was watched, in seconds: see `exposure_s`."""
    return exposure_s(samples_of(watch.readings))


def unasked(item: Item[Entry]) -> Sequence[TimedReading]:
    """The readings in which a change is one nobody asked for; none in a watch that does not count, or in moves."""
    match item.entry:
        case Watch(readings=readings) if item.counts:
            return readings
        case Trial() as trial:
            return trial.dwell if trial.timed.moved else (*trial.before, *trial.dwell)
    return ()


def changes_of(item: Item[Entry]) -> int:
    """How many changes nobody asked for."""
    return unwanted_changes([each.reading for each in unasked(item)])


def trials_section(run: RunFacts) -> Section:
    """Every prompt with what was declared and read; every watch."""
    blocks: list[Block] = []
    trials, watches = run.stands.of(Trial), run.stands.of(Watch)
    if trials:
        caption = "Every prompt in order, with what was declared and what was read"
        blocks += [Table(caption, TRIAL_HEAD, tuple(map(trial_row, trials))), Paragraph(set_aside(trials), "quiet")]
    if watches:
        blocks.append(Table("Readings watched without a prompt", WATCH_HEAD, tuple(map(_watch_row, watches))))
    blocks += [Paragraph(each, "quiet") for each in slowed(run)]
    blocks += begun_only(run)
    if not blocks:
        blocks.append(Paragraph("No trial was taken in this run."))
    return Section("trials", "Trials and readings", tuple(blocks))


def begun_only(run: RunFacts) -> list[Block]:
    """What is said of trials and watches that were begun and not finished; nothing where there are none."""
    begun, ended = len(run.of(TrialBegan)) + len(run.of(WatchBegan)), len(run.of(Trial)) + len(run.of(Watch))
    said = f"Begun and not finished: {begun - ended}. Nothing is concluded from what was not finished."
    return [Paragraph(said)] if begun != ended else []


def set_aside(trials: Sequence[Item[Trial]]) -> str:
    """How many prompts there were, and how many of them do not count and why."""
    number = {why: sum(trial.why is why for trial in trials) for why in Why}
    again = f", {number[Why.DONE_AGAIN]} in a phase that was carried out again" if number[Why.DONE_AGAIN] else ""
    late = f", {number[Why.LATE]} late" if number[Why.LATE] else ""
    said = (
        f"{counted(len(trials), 'prompt')}, {number[Why.VOIDED]} set aside, {number[Why.UNREAD]} unread{late}{again}."
    )
    if not any(number[why] for why in Why):
        return said
    if again:
        return f"{said} What is set aside, unread or done again stays in the record; {COUNTED_STILL}"
    return f"{said} A trial that is set aside or unread stays in the record; {COUNTED_STILL}"


COUNTED_STILL = (
    "its readings are not counted. That it was set aside before its dwell is counted beside the misreads of the series."
)


def trial_row(item: Item[Trial]) -> tuple[str, ...]:
    """The cells under `TRIAL_HEAD`."""
    trial = item.entry
    dwell = readings_of(trial.dwell)
    when = "Voided" if trial.spoken is None else f"Set aside {trial.spoken.value}"
    remarks = [f"{when}: {trial.void_reason}"] if trial.void_reason else []
    remarks += [f"the one before it set aside later: {trial.void_before}"] if trial.void_before else []
    remarks += [trial.remark] if trial.remark else []
    remarks += [f"{trial.unread} not read"] if trial.unread else []
    remarks += [] if item.why in (None, Why.VOIDED) else [f"{item.why.value}: {NOT_COUNTED}"]
    return (
        str(trial.number),
        str(trial.cycle),
        clock_of(item.record),
        trial.instruction.value,
        trial.presence.value,
        run_length(dwell),
        majority(dwell).value if dwell else "none",
        str(changes_of(item)),
        "; ".join(remarks),
    )


def slowed(run: RunFacts) -> list[str]:
    """Why it was not read as fast as the wire allows, each reason once with the watches it holds for."""
    why: dict[Slowed, list[str]] = {}
    watches = [(each.entry.title, each.entry.slowed) for each in run.stands.of(Watch)]
    for title, reason in (*watches, *((TEST_MOVES, each.entry.slowed) for each in run.stands.of(Moves))):
        if reason is not None and title not in why.setdefault(reason, []):
            why[reason].append(title)
    return [f"{' '.join(titles)} {reason.sentence}" for reason, titles in why.items()]


def _watch_row(item: Item[Watch]) -> tuple[str, ...]:
    watch = item.entry
    return (
        watch.title,
        clock_of(item.record),
        "not declared" if watch.presence is None else watch.presence.value,
        f"void: {watch.void_reason}" if watch.void_reason else run_length(readings_of(watch.readings)),
        f"{watch.taken_s:.1f} s",
        f"{watched_s(watch):.1f} s",
        f"{1000 * watch.largest_gap_s:.0f} ms",
        str(changes_of(item)) if item.counts else NOT_COUNTED,
    )
