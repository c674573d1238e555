"""Every value of a report, each under a key that is the same in every generation of reply.

The same value is written in many ways: with or without a tool, with old or new letters, one letter for two axes, an
extra line with zero for "off", mesh points counted from 0 or from 1. Each way is brought to one key here, so that two
reports can be laid side by side; how it was written is kept for the sentence that a person reads.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import replace

from commission.dialect.settings_lines import SettingsLine
from commission.settings.entry import (
    Entry,
    Key,
    no_numbers,
    renaming_of,
    selectors_of,
    stands_for_both,
    unreadable,
)
from commission.settings.meaning import CommandMeaning, Dimension
from commission.settings.mesh import from_zero
from commission.settings.printed import Printed
from commission.settings.snapshot import Snapshot
from commission.settings.table import SettingsTable
from commission.settings.unit_mode import UnitMode


def entries_of(snapshot: Snapshot, table: SettingsTable) -> dict[Key, Entry]:
    """Every value of a report by its key, in the order of the report; the lines that state the units are left out."""
    lines: dict[str, list[SettingsLine]] = defaultdict(list)
    for line in snapshot.lines:
        if line.command not in table.report_units:
            lines[line.command].append(line)
    found: list[Entry] = []
    for command, group in lines.items():
        meaning = table.commands.get(command)
        entries = list(_as_text(group) if meaning is None else _values(group, meaning, snapshot.units))
        found += from_zero(entries) if meaning is not None and meaning.mesh else entries
    return _numbered(found)


def _as_text(lines: Iterable[SettingsLine], meaning: CommandMeaning | None = None) -> Iterator[Entry]:
    for line in lines:
        yield Entry(line, None, selectors_of(line), command_meaning=meaning)


def _values(lines: list[SettingsLine], meaning: CommandMeaning, units: UnitMode) -> Iterator[Entry]:
    order: Counter[tuple[str, str]] = Counter()
    native = [line for line in lines if not foreign(line, meaning)]
    for entry in _as_text((line for line in lines if foreign(line, meaning)), meaning):
        yield replace(entry, foreign=True)
    switch, markers = _zero_switch(native, meaning)
    for line in native:
        entries = [] if id(line) in markers else list(_letters(line, meaning, units))
        entries += [switch] if switch is not None and switch.line is line else []
        # A word that cannot be read is shown with its whole line beside the values that can.
        nothing_read = not entries and id(line) not in markers
        entries += _as_text([line], meaning) if nothing_read or unreadable(line) else ()
        for entry in entries:
            yield from _per_axis(_with_tool(entry, meaning, order), meaning)


def foreign(line: SettingsLine, meaning: CommandMeaning) -> bool:
    """Whether the line is another command of the same name: a probing form, or another family's."""
    words = {*line.values, *line.selectors, *line.flags}
    return bool(words & set(meaning.alien)) or (meaning.needs_flag is not None and meaning.needs_flag not in line.flags)


def _letters(line: SettingsLine, meaning: CommandMeaning, units: UnitMode) -> Iterator[Entry]:
    renaming = renaming_of(line, meaning)
    for written in line.values:
        letter = renaming.letters.get(written, written) if renaming else written
        note = renaming.note if renaming and letter != written else ""
        yield _entry(line, letter, written, meaning, units, note)
    for form in meaning.fallback:
        if stands_for_both(line, form, meaning):
            note = f"Where {form.letter} is not printed, {form.by} stands for both."
            yield replace(_entry(line, form.letter, form.by, meaning, units, note), stand_in=True)
    for letter, number in no_numbers(line).items():
        yield _numbered_entry(line, letter, letter, number, meaning, units)


def _entry(line: SettingsLine, letter: str, written: str, meaning: CommandMeaning, units: UnitMode, note: str) -> Entry:
    return _numbered_entry(line, letter, written, _number(line, written), meaning, units, note)


def _numbered_entry(
    line: SettingsLine,
    letter: str,
    written: str,
    number: Printed,
    meaning: CommandMeaning,
    units: UnitMode,
    note: str = "",
) -> Entry:
    known = meaning.letters.get(letter)
    return Entry(
        line,
        letter,
        selectors_of(line),
        written=written,
        number=number,
        base=units.in_base(number, known.dimension if known else Dimension.NONE),
        meaning=known,
        command_meaning=meaning,
        note=note,
    )


def _zero_switch(lines: list[SettingsLine], meaning: CommandMeaning) -> tuple[Entry | None, set[int]]:
    """The switch that the older form expresses by a further line with zero, and the identities of such lines."""
    form = meaning.zero_switch
    if form is None or any(form.switch in line.values for line in lines):
        return None, set()
    off = [line for line in lines if line.values.get(form.letter) == 0]
    told = off[-1] if off else next((line for line in lines if form.letter in line.values), None)
    if told is None:
        return None, set()
    number = Printed.of("0" if off else "1")
    switch = Entry(
        told,
        form.switch,
        {},
        written=form.letter,
        number=number,
        base=number,
        meaning=meaning.letters[form.switch],
        command_meaning=meaning,
        note=form.note,
    )
    return switch, {id(line) for line in off}


def _with_tool(entry: Entry, meaning: CommandMeaning, order: Counter[tuple[str, str]]) -> Entry:
    """The entry with its tool filled in: the first line without one is tool 0, the next tool 1."""
    tool, letter = meaning.tool, entry.letter
    if tool is None or letter is None or tool in entry.selectors or not meaning.belongs_to_tool(letter):
        return entry
    place = (entry.command, letter)
    order[place] += 1
    return replace(entry, selectors={**entry.selectors, tool: order[place] - 1})


def _per_axis(entry: Entry, meaning: CommandMeaning) -> Iterator[Entry]:
    if not meaning.axis_flags or not entry.line.flags or entry.letter is None:
        yield entry
        return
    for axis in entry.line.flags:
        yield replace(entry, selectors={**entry.selectors, "axis": axis})


def _numbered(entries: Iterable[Entry]) -> dict[Key, Entry]:
    found: dict[Key, Entry] = {}
    orders: Counter[Key] = Counter()
    for entry in entries:
        first = entry.key
        numbered = replace(entry, order=orders[first]) if orders[first] else entry
        orders[first] += 1
        found[numbered.key] = numbered
    return found


def _number(line: SettingsLine, letter: str) -> Printed:
    """The number with the digits it was printed with, where these are known and are decimal."""
    try:
        return Printed.of(line.number_texts[letter])
    except (KeyError, ValueError):
        return Printed.of(repr(line.values[letter]))
