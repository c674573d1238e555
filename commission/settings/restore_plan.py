"""What may be put back after a reflash: decided here, shown whole, and sent by somebody else.

A value is put back only where the new firmware itself prints the same value, in the same units, and only as a line
built anew from it. Everything of the as-found report lands in exactly one place of the plan: to be sent, to be asked,
already as found, or not put back, with the reason.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping

from commission.settings import consequence
from commission.settings.entries import entries_of
from commission.settings.entry import Entry, lost_numbers, no_numbers, selectors_of, torn, unreadable
from commission.settings.meaning import CommandMeaning, Dimension, RestoreClass
from commission.settings.mesh import is_point, same_grids
from commission.settings.pairing import replacement_between
from commission.settings.plan_items import Decision, LetterChange, PlanItem, RestorePlan
from commission.settings.plausibility import findings_among
from commission.settings.printed import Printed, agree, agree_across_units
from commission.settings.restore_line import NotSendable, RestoreLine, check_number
from commission.settings.snapshot import Snapshot
from commission.settings.table import SettingsTable
from commission.settings.table_reader import standard_table
from commission.settings.unit_mode import UnitMode

UNKNOWN = "Its meaning is not known here: it is kept in the record and never sent by itself."
NOT_PRINTED = "The firmware at hand does not print it, so it could not be read back and proven."
OTHER_FORM = "The firmware at hand writes it in another form; enter it by hand."
OTHER_UNIT = "It was read in another unit; set the printer to the same unit first, then plan again."
OTHER_GRID = "The mesh of the firmware at hand has another grid, or one of the two is incomplete: probe it anew."
TORN = (
    "A letter is missing from the line that every build prints in it: it may be damaged, and nothing of it is put back."
)
UNREADABLE = "The line has words that cannot be read, or none: nothing of it is put back."


def plan_restore(as_found: Snapshot, current: Snapshot, table: SettingsTable | None = None) -> RestorePlan:
    """Decide what may be put back.

    Args:
        as_found: the report before the reflash.
        current: the report of the firmware at hand, in the unit mode in which the lines will be sent.
        table: what the commands mean; the standard one when left out.
    """
    table = table or standard_table()
    planner = _Planner(as_found, current, table, everything=False)
    return planner.plan()


def restorable_lines(as_found: Snapshot, table: SettingsTable | None = None) -> RestorePlan:
    """What could be put back into the very firmware that printed the report: every value, whether changed or not."""
    return _Planner(as_found, as_found, table or standard_table(), everything=True).plan()


class _Planner:
    def __init__(self, as_found: Snapshot, current: Snapshot, table: SettingsTable, *, everything: bool) -> None:
        self._table = table
        self._everything = everything
        self._units = current.units
        self._units_found = as_found.units
        self._unclear = as_found.units.unclear or current.units.unclear
        self._found = entries_of(as_found, table)
        self._now = entries_of(current, table)
        doubts = findings_among(self._found, {}, (as_found.units, as_found.units), side="before", table=table)
        self._doubts = {finding.entry.key: finding.sentence for finding in doubts}
        self._replaced = replacement_between(self._found, self._now, table)
        self._grids = same_grids(self._found.values(), self._now.values())

    def plan(self) -> RestorePlan:
        """Everything of the as-found report: what is sent or asked first, then what is not, then what needs nothing."""
        refused: list[tuple[Entry, str]] = []
        by_line: dict[int, list[tuple[Entry, Entry]]] = defaultdict(list)
        already: dict[int, list[tuple[Entry, Entry]]] = defaultdict(list)
        for key, entry in self._found.items():
            now = self._now.get(key)
            reason = self._refusal(entry, now)
            if now is not None and not self._everything and self._as_found(entry, now):
                already[id(now.line)].append((entry, now))
            elif now is None or reason:
                refused.append((entry, reason))
            else:
                by_line[id(now.line)].append((entry, now))
        items = [item for line, pairs in by_line.items() for item in self._line(pairs, already[line], refused)]
        items.sort(key=lambda item: item.command in self._late)
        done = [_item(Decision.ALREADY, pairs, "", pairs[0][0].command_meaning) for pairs in already.values() if pairs]
        return RestorePlan((*items, *self._refused(refused), *done))

    def _as_found(self, entry: Entry, now: Entry) -> bool:
        """Whether the firmware at hand already has the value, as far as both are printed."""
        if entry.base is None or now.base is None:
            return entry.text == now.text
        same_units = self._units_found.agrees(self._units, entry.meaning.dimension if entry.meaning else Dimension.NONE)
        return (agree if same_units else agree_across_units)(entry.base, now.base)

    @property
    def _late(self) -> set[str]:
        return {name for name, meaning in self._table.commands.items() if meaning.last}

    def _refusal(self, entry: Entry, now: Entry | None) -> str:
        """Why a value is not put back, whatever it is; empty when it may be."""
        meaning = entry.command_meaning
        if meaning is None:
            return UNKNOWN
        if meaning.restore is RestoreClass.REFUSE or entry.letter is None:
            return meaning.reason or UNREADABLE
        if now is None:
            return self._replaced(entry) or NOT_PRINTED
        return self._unsendable(entry, now, meaning)

    def _unsendable(self, entry: Entry, now: Entry, meaning: CommandMeaning) -> str:
        if entry.number is None or now.number is None or entry.letter is None:
            return UNKNOWN
        dimension = entry.meaning.dimension if entry.meaning else Dimension.NONE
        checks = (
            (now.letter != now.written, now.note or OTHER_FORM),
            (unreadable(entry.line) or unreadable(now.line), UNREADABLE),
            (bool(lost_numbers(entry.line, meaning)), UNREADABLE),
            (torn(entry.line, meaning) or torn(now.line, meaning), TORN),
            (bool(self._unclear), f"The units of the report are not clear: {self._unclear}."),
            (not self._units_found.agrees(self._units, dimension), OTHER_UNIT),
            (is_point(entry) and entry.command not in self._grids, OTHER_GRID),
            (entry.index_base != now.index_base, f"{consequence.changed_meaning(entry, now)} Probe it anew."),
            (True, consequence.changed_band(entry, now)),
        )
        refusals = [reason for broken, reason in checks if broken and reason]
        return refusals[0] if refusals else _number_refused(meaning, entry.letter, entry.number, self._units)

    def _line(
        self,
        wanted: list[tuple[Entry, Entry]],
        already: list[tuple[Entry, Entry]],
        refused: list[tuple[Entry, str]],
    ) -> Iterator[PlanItem]:
        """The item for one line of the firmware at hand; what turns out not to be sendable joins the refused.

        Letters that go together are sent together, those that already are as found with the others.
        """
        first, now = wanted[0]
        meaning = first.command_meaning
        assert meaning is not None  # noqa: S101 - unknown commands were refused before
        letters = {entry.letter for entry, _ in wanted}
        groups = [set(group) for group in meaning.together if letters & set(group)]
        companions = [pair for pair in already if pair[0].letter in set().union(*groups) and not self._refusal(*pair)]
        sent = [*wanted, *companions]
        try:
            _check_whole(groups, sent)
            line = RestoreLine(meaning, _numbers(now.line.selectors), now.line.flags, _sent(sent), self._units)
        except NotSendable as refusal:
            refused += [(entry, str(refusal)) for entry, _ in wanted]
            return
        doubts = list(dict.fromkeys(filter(None, (self._doubt(entry, now) for entry, now in sent))))
        asked = meaning.restore is RestoreClass.REVIEW or bool(doubts)
        reasons = ([meaning.reason] if meaning.restore is RestoreClass.REVIEW else []) + doubts
        told = " ".join(reasons) if asked else _sentence(meaning.trap)
        yield _item(Decision.ASK if asked else Decision.SEND, sent, told, meaning, line)

    def _doubt(self, entry: Entry, now: Entry) -> str:
        damaged = "Another value of the same line is damaged." if no_numbers(entry.line) else ""
        said = (self._doubts.get(entry.key, ""), consequence.changed_meaning(entry, now), damaged)
        return " ".join(filter(None, said))

    def _refused(self, refused: Iterable[tuple[Entry, str]]) -> Iterator[PlanItem]:
        """One item for each line and reason."""
        grouped: dict[tuple[int, str], list[Entry]] = defaultdict(list)
        for entry, reason in refused:
            grouped[id(entry.line), reason].append(entry)
        for (_, reason), entries in grouped.items():
            pairs = [(entry, self._now.get(entry.key)) for entry in entries]
            yield _item(Decision.REFUSE, pairs, reason, entries[0].command_meaning)


def _item(
    decision: Decision,
    pairs: Iterable[tuple[Entry, Entry | None]],
    reason: str,
    meaning: CommandMeaning | None,
    line: RestoreLine | None = None,
) -> PlanItem:
    pairs = list(pairs)
    first, now = pairs[0]
    return PlanItem(
        decision=decision,
        command=first.command,
        selectors=selectors_of((now or first).line),
        changes=tuple(LetterChange(entry.letter, entry.text, now.text if now else "") for entry, now in pairs),
        line=line,
        reason=reason,
        purpose=meaning.purpose if meaning else "",
    )


def _check_whole(groups: Iterable[set[str]], sent: Iterable[tuple[Entry, Entry]]) -> None:
    """Refuse a line that lacks a letter it must not go without.

    Raises:
        NotSendable: it lacks one.
    """
    lacking = set().union(*groups) - {entry.letter for entry, _ in sent}
    if lacking:
        raise NotSendable(f"It is sent whole or not at all, and {', '.join(sorted(map(str, lacking)))} is not at hand.")


def _number_refused(meaning: CommandMeaning, letter: str, number: Printed, units: UnitMode) -> str:
    try:
        check_number(meaning, letter, number, units)
    except NotSendable as refusal:
        return str(refusal)
    return ""


def _sent(pairs: Iterable[tuple[Entry, Entry]]) -> dict[str, Printed]:
    return {entry.letter: entry.number for entry, _ in pairs if entry.letter is not None and entry.number is not None}


def _numbers(selectors: Mapping[str, str | float]) -> dict[str, int]:
    """The selectors as integers.

    Raises:
        NotSendable: one of them is none.
    """
    if not all(isinstance(value, (int, float)) and float(value).is_integer() for value in selectors.values()):
        raise NotSendable("It is told apart by a word that is no number.")
    return {letter: int(value) for letter, value in selectors.items()}


def _sentence(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}." if words else ""
