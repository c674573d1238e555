"""The trials and watches of a run as tables: declared, seen, and what changed without being asked to."""

from collections.abc import Sequence
from itertools import groupby
from typing import Any

from commission.judge.polarity import majority
from commission.judge.stability import unwanted_changes
from commission.judge.wording import counted
from commission.report.document import Block, Paragraph, Section, Table
from commission.report.record import Event, RunFacts
from commission.vocabulary import Instruction, Reading

TRIAL_HEAD = ("Trial", "Cycle", "Time", "Prompt", "Declared", "Readings in the dwell", "Majority", "Changes", "Remark")
MOST_RUNS = 24
"""Any dwell of the usual length is shown whole."""
_WORDS = {Reading.ACTIVE: "active", Reading.INACTIVE: "inactive", Reading.UNKNOWN: "not read"}


def run_length(readings: Sequence[Reading]) -> str:
    """Readings in order, equal neighbours counted, as in `inactive x3, active x18`."""
    runs = [(_WORDS[reading], len(list(alike))) for reading, alike in groupby(readings)]
    said = [f"{word} x{count}" for word, count in runs[:MOST_RUNS]]
    more = [f"and {len(runs) - MOST_RUNS} more such runs"] if len(runs) > MOST_RUNS else []
    return ", ".join([*said, *more]) or "none"


def readings_of(rows: Sequence[Sequence[Any]]) -> list[Reading]:
    """The readings of a record's rows."""
    return [Reading(row[1]) for row in rows]


def counted_rows(taken: Event) -> Sequence[Sequence[Any]]:
    """The readings in which a change is one nobody asked for: the dwell, a leave-it prompt, a watch that is no look."""
    facts = taken.facts
    if taken.kind == "watch":
        return [] if is_look(taken) else list(facts["readings"])
    if facts["instruction"] == Instruction.LEAVE.value:
        return [*facts["before"], *facts["dwell"]]
    return list(facts["dwell"])


def is_look(watch: Event) -> bool:
    """Whether it only looks before something is begun; what changes in it is asked about, and begun anew."""
    return str(watch.facts.get("key", "")).endswith(".before")


def changes_of(taken: Event) -> int:
    """How many changes nobody asked for."""
    return unwanted_changes(readings_of(counted_rows(taken)))


def trials_section(run: RunFacts) -> Section:
    """Every prompt with what was declared and read; every watch."""
    blocks: list[Block] = []
    trials, watches = run.of("trial"), run.of("watch")
    if trials:
        blocks.append(
            Table(
                "Every prompt in order, with what was declared and what was read",
                TRIAL_HEAD,
                tuple(map(_trial_row, trials)),
            )
        )
        voided = sum(bool(trial.facts["void_reason"]) for trial in trials)
        blocks.append(Paragraph(_voided(len(trials), voided), "quiet"))
    if watches:
        head = ("Watch", "Time", "Declared", "Readings", "Over", "Largest gap", "Changes")
        blocks.append(Table("Readings watched without a prompt", head, tuple(map(_watch_row, watches))))
    begun = len(run.of("trial_began")) - len(trials) + len(run.of("watch_began")) - len(watches)
    if begun:
        blocks.append(Paragraph(f"Begun and not finished: {begun}. Nothing is concluded from what was not finished."))
    if not blocks:
        blocks.append(Paragraph("No trial was taken in this run."))
    return Section("trials", "Trials and readings", tuple(blocks))


def _voided(trials: int, voided: int) -> str:
    return f"{counted(trials, 'prompt')}, {voided} voided. A voided trial stays in the record and is not counted."


def _trial_row(trial: Event) -> tuple[str, ...]:
    facts = trial.facts
    dwell = readings_of(facts["dwell"])
    remarks = [f"Voided: {facts['void_reason']}"] if facts["void_reason"] else []
    remarks += [facts["remark"]] if facts["remark"] else []
    remarks += [f"{facts['unread']} not read"] if facts["unread"] else []
    return (
        str(facts["number"]),
        str(facts["cycle"]),
        trial.clock,
        facts["instruction"],
        facts["presence"],
        run_length(dwell),
        majority(dwell).value if dwell else "none",
        str(changes_of(trial)),
        "; ".join(remarks),
    )


def _watch_row(watch: Event) -> tuple[str, ...]:
    facts = watch.facts
    readings = readings_of(facts["readings"])
    return (
        facts["title"],
        watch.clock,
        facts["presence"] or "not declared",
        f"void: {facts['void_reason']}" if facts.get("void_reason") else run_length(readings),
        f"{facts['taken_s']:.1f} s",
        f"{1000 * facts['largest_gap_s']:.0f} ms",
        "not counted" if is_look(watch) else str(changes_of(watch)),
    )
