"""A settings report as a dated text for a person, with the report as printed at its end.

The text can be read back: `snapshot_of_capture` finds in it what it found in the report, because only the last part
holds lines that look like settings.
"""

import textwrap
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby

from commission.dialect.sanitise import clean_text
from commission.settings.entries import entries_of
from commission.settings.entry import Entry, selectors_of
from commission.settings.plausibility import Finding
from commission.settings.snapshot import Snapshot
from commission.settings.table import SettingsTable
from commission.settings.table_reader import standard_table

WIDTH = 100
AS_PRINTED = "The report as the printer printed it"


def readable_file(
    snapshot: Snapshot,
    printed: Sequence[str],
    heading: Sequence[str],
    *,
    sections: Mapping[str, Sequence[str]],
    findings: Sequence[Finding] = (),
    table: SettingsTable | None = None,
) -> str:
    """The file's text.

    Args:
        snapshot: the settings.
        printed: the lines of the report, verbatim.
        heading: what stands at the top, such as the printer's tag, the date and the firmware.
        sections: what else was found at the same time, by title, as the switch states.
        findings: values that look wrong.
        table: what the commands mean; the standard one when left out.
    """
    lines = list(heading)
    for title, said in sections.items():
        lines += _section(title, [item for text in said for item in _item(text)])
    lines += _section("What looks wrong", [item for finding in findings for item in _item(finding.sentence)])
    lines += _section("What the settings are", list(_meanings(snapshot, table or standard_table())))
    lines += _section("What is not understood, kept as it came", [f"  | {text}" for text in snapshot.kept])
    lines += _section(AS_PRINTED, printed)
    return "\n".join(map(clean_text, lines)) + "\n"


def printed_part(lines: Sequence[str]) -> tuple[str, ...]:
    """The report inside such a text, so that it can be recorded again; of any other text all of it."""
    heading = [AS_PRINTED, "=" * len(AS_PRINTED)]
    begins = [at + 2 for at in range(len(lines) - 1) if list(lines[at : at + 2]) == heading]
    return tuple(lines[begins[-1] :] if begins else lines)


def _section(title: str, lines: Sequence[str]) -> Iterator[str]:
    if lines:
        yield from ("", title, "=" * len(title), *lines)


def _item(text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent="- ", subsequent_indent="  > ", break_on_hyphens=False)


def _meanings(snapshot: Snapshot, table: SettingsTable) -> Iterator[str]:
    """One line for each command and each of its values; a line begins with a dash, so it is never read as a setting."""
    entries = entries_of(snapshot, table).values()
    for command, group in groupby(entries, key=lambda entry: entry.command):
        values = list(group)
        known = values[0].command_meaning
        yield f"- {known.purpose if known else 'not known here, kept as text'} ({command})"
        yield from (f"  - {_value(entry, snapshot)}" for entry in values)


def _value(entry: Entry, snapshot: Snapshot) -> str:
    which = " ".join(f"{letter}{number}" for letter, number in selectors_of(entry.line).items())
    if entry.letter is None:
        return entry.text
    meaning = entry.meaning
    unit = snapshot.units.name(meaning.unit, meaning.dimension) if meaning else ""
    name = meaning.of if meaning else "not described"
    return f"{' '.join(filter(None, (which, entry.letter)))}: {entry.text} {unit}".rstrip() + f", {name}"
