"""Values that look wrong: by themselves, against each other, and against the last record.

A store that was written by another build reads back as rubbish that has a look of its own: no number, zero, the
greatest integer there is. A value can also be sound in itself and wrong here: twice what it was, or the other hotend's.
"""

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import Enum
from typing import Literal

from commission.settings.entries import entries_of
from commission.settings.entry import Entry, Key, selectors_of
from commission.settings.meaning import LetterMeaning, Span
from commission.settings.mesh import Grid, meshes
from commission.settings.printed import agree
from commission.settings.snapshot import Snapshot
from commission.settings.table import SettingsTable
from commission.settings.table_reader import standard_table
from commission.settings.unit_mode import UnitMode

ReportSide = Literal["before", "after"]

EMPTY_STORE = (4294967295.0, 4294967.295, 65535.0)
"""All bits of an erased cell set, read as an integer, or as one with three decimals."""

MOST_TOOLS = 16
"""More hotends than any printer has; beyond this a report is not searched for exchanged ones."""


class Suspicion(Enum):
    """Why a value looks wrong."""

    NOT_A_NUMBER = "not a number"
    ERASED = "erased store"
    ZERO = "zero"
    OUT_OF_RANGE = "out of range"
    JUMP = "jump"
    SIGN = "changed sign"
    EXCHANGED = "exchanged between hotends"
    MESH = "mesh"
    CONTRADICTION = "contradiction"


@dataclass(frozen=True)
class Finding:
    """One value that looks wrong.

    Attributes:
        side: the report it stands in.
        suspicion: why it looks wrong.
        entry: the value, with its line.
        recorded: the same value in the last record, if that is what it is held against.
        plausible: the range it is held against, in the unit of the table, if any.
        unit: the unit as the report writes it.
        sentence: what is wrong and what to do, for a person.
    """

    side: ReportSide
    suspicion: Suspicion
    entry: Entry
    recorded: Entry | None
    plausible: Span | None
    unit: str
    sentence: str


def findings_of(
    snapshot: Snapshot,
    *,
    side: ReportSide = "after",
    record: Snapshot | None = None,
    table: SettingsTable | None = None,
) -> tuple[Finding, ...]:
    """Every value of a report that looks wrong.

    Args:
        snapshot: the report.
        side: how the findings name it.
        record: the last record of the same printer, to find jumps; none looks at the report alone.
        table: what the commands mean; the standard one when left out.
    """
    table = table or standard_table()
    recorded = entries_of(record, table) if record is not None else {}
    return findings_among(
        entries_of(snapshot, table), recorded, (snapshot.units, (record or snapshot).units), side, table
    )


def findings_among(
    entries: Mapping[Key, Entry],
    recorded: Mapping[Key, Entry],
    units: tuple[UnitMode, UnitMode],
    side: ReportSide,
    table: SettingsTable,
) -> tuple[Finding, ...]:
    """As `findings_of`, for reports whose values are known already.

    Args:
        entries: the values of the report.
        recorded: those of the record; none where there is no record.
        units: of the report, and of the record.
        side: how the findings name the report.
        table: what the commands mean.
    """
    judge = _Judge(units[0], side, table, units[1])
    found = [finding for entry in entries.values() for finding in judge.alone(entry)]
    wrong = {id(finding.entry) for finding in found}
    for key, entry in entries.items():
        earlier = recorded.get(key)
        if earlier is not None and id(entry) not in wrong:
            found += judge.against(entry, earlier)
    found += judge.exchanged(entries, recorded)
    found += judge.mesh(entries)
    found += judge.probe_and_home(entries)
    return tuple(found)


@dataclass(frozen=True)
class _Judge:
    units: UnitMode
    side: ReportSide
    table: SettingsTable
    units_recorded: UnitMode

    def finding(self, suspicion: Suspicion, entry: Entry, sentence: str, recorded: Entry | None = None) -> Finding:
        meaning = entry.meaning
        unit = self.units.name(meaning.unit, meaning.dimension) if meaning else ""
        plausible = meaning.plausible if meaning else None
        return Finding(self.side, suspicion, entry, recorded, plausible, unit, sentence)

    def alone(self, entry: Entry) -> Iterator[Finding]:
        """What is wrong with a value by itself: at most one finding, the most telling."""
        if entry.base is None:
            return
        value, meaning = entry.value, entry.meaning
        if value is None:
            said = f"{_name(entry)} is {entry.text}: the stored settings are damaged or of another build."
            yield self.finding(Suspicion.NOT_A_NUMBER, entry, said)
        elif entry.number is not None and float(entry.number.value) in EMPTY_STORE and not _plausible(meaning, entry):
            said = f"{_name(entry)} is {entry.text}, what an erased store reads as: load defaults, then restore."
            yield self.finding(Suspicion.ERASED, entry, said)
        elif meaning is not None and not _plausible(meaning, entry):
            zero = value == 0
            said = f"{_name(entry)} is {_with_unit(entry, self.units)}; sound machines lie at {self._range(meaning)}."
            band = meaning.band(value)
            said += f" The number looks like {band.name}." if band and band != _usual(meaning) else ""
            yield self.finding(Suspicion.ZERO if zero else Suspicion.OUT_OF_RANGE, entry, said)

    def against(self, entry: Entry, recorded: Entry) -> Iterator[Finding]:
        """What is wrong with a value when the last record is held beside it."""
        meaning, now, then = entry.meaning, entry.value, recorded.value
        if meaning is None or now is None or then is None or entry.base is None or recorded.base is None:
            return
        was = f"was {recorded.text}, is {entry.text}"
        if not self.units.agrees(self.units_recorded, meaning.dimension):
            was = f"was {_with_unit(recorded, self.units_recorded)}, is {_with_unit(entry, self.units)}"
        if meaning.sign and now * then < 0:
            yield self.finding(Suspicion.SIGN, entry, f"{_name(entry)} {was}: the sign has changed.", recorded)
        elif meaning.jump_step is not None and abs(now - then) > meaning.jump_step + entry.slack + recorded.slack:
            said = f"{_name(entry)} {was}: more than {meaning.jump_step:g} {meaning.unit} away from the last record."
            yield self.finding(Suspicion.JUMP, entry, said, recorded)
        elif meaning.jump_factor is not None and _jumps(entry, recorded, meaning.jump_factor):
            said = f"{_name(entry)} {was}: a factor of {_ratio(now, then):.2g} against the last record."
            yield self.finding(Suspicion.JUMP, entry, said, recorded)

    def exchanged(self, entries: Mapping[Key, Entry], recorded: Mapping[Key, Entry]) -> Iterator[Finding]:
        """Values that one hotend had in the last record and another has now."""
        alike: dict[tuple[str, str | None], list[Entry]] = defaultdict(list)
        for then in recorded.values():
            alike[then.command, then.letter].append(then)
        for key, entry in entries.items():
            earlier, tools = recorded.get(key), alike[entry.command, entry.letter]
            if earlier is None or not _of_a_tool(entry) or len(tools) > MOST_TOOLS:
                continue
            for other_then in tools:
                other_now = entries.get(other_then.key)
                if other_now is None or other_then is earlier or _equal(earlier, other_then):
                    continue
                if _equal(entry, other_then) and not _equal(other_now, other_then):
                    said = f"{_name(entry)} is now {entry.text}, which the last record gives to another hotend."
                    yield self.finding(Suspicion.EXCHANGED, entry, said, earlier)
                elif _equal(entry, other_then) and not _equal(entry, earlier):
                    said = f"{_name(entry)} has become {entry.text}, the same as another hotend; it was {earlier.text}."
                    yield self.finding(Suspicion.EXCHANGED, entry, said, earlier)

    def mesh(self, entries: Mapping[Key, Entry]) -> Iterator[Finding]:
        """A mesh with a gap, or one that is too uneven to be a bed."""
        for points in meshes(entries.values()).values():
            heights = [point.value for point in points if point.value is not None]
            if Grid.of(points) is None:
                said = f"The {len(points)} points of the mesh fill no whole grid: the report or the mesh is incomplete."
                yield self.finding(Suspicion.MESH, points[-1], said)
            if heights and max(heights) - min(heights) > self.table.checks.mesh_spread_mm:
                highest = max(points, key=lambda point: point.value if point.value is not None else -math.inf)
                said = (
                    f"The mesh spreads over {max(heights) - min(heights):.2f} mm; "
                    f"more than {self.table.checks.mesh_spread_mm:g} mm is a loose bed or a stray probing."
                )
                yield self.finding(Suspicion.MESH, highest, said)

    def probe_and_home(self, entries: Mapping[Key, Entry]) -> Iterator[Finding]:
        """A home offset in the direction that the probe already takes care of."""
        check = self.table.checks
        probed = any(entry.command == check.probe for entry in entries.values())
        for entry in entries.values():
            if probed and entry.command == check.home and entry.letter == check.letter and entry.value:
                yield self.finding(Suspicion.CONTRADICTION, entry, check.probe_and_home_note)

    def _range(self, meaning: LetterMeaning) -> str:
        return f"{meaning.plausible} {meaning.unit}".rstrip()


def _with_unit(entry: Entry, units: UnitMode) -> str:
    meaning = entry.meaning
    unit = units.name(meaning.unit, meaning.dimension) if meaning else ""
    shown = f"{entry.text} {unit}".rstrip()
    converted = meaning is not None and unit != meaning.unit and entry.value is not None
    return f"{shown} ({entry.value:.4g} {meaning.unit})" if converted and meaning else shown


def _plausible(meaning: LetterMeaning | None, entry: Entry) -> bool:
    if meaning is None or meaning.plausible is None or entry.value is None:
        return meaning is not None and entry.value is not None
    return meaning.plausible.holds(entry.value, entry.slack)


def _usual(meaning: LetterMeaning) -> object:
    middle = (meaning.plausible.low + meaning.plausible.high) / 2 if meaning.plausible else math.nan
    return meaning.band(middle)


def _ratio(one: float, other: float) -> float:
    """How many times the greater is the smaller, by size; 1 where one of them is zero and no ratio exists."""
    small, great = sorted((abs(one), abs(other)))
    return great / small if small > 0 else 1.0


def _jumps(now: Entry, then: Entry, factor: float) -> bool:
    """Whether the ratio reaches the factor, and would not vanish if both were rounded as unluckily as can be."""
    if now.value is None or then.value is None or _ratio(now.value, then.value) < factor:
        return False
    small, great = sorted((now, then), key=lambda entry: abs(entry.value or 0.0))
    worst = (abs(great.value or 0.0) - great.slack) / (abs(small.value or 0.0) + small.slack)
    return worst > (1 + factor) / 2


def _equal(one: Entry, other: Entry) -> bool:
    return one.base is not None and other.base is not None and agree(one.base, other.base)


def _of_a_tool(entry: Entry) -> bool:
    tool = entry.command_meaning.tool if entry.command_meaning else None
    return tool is not None and tool in entry.selectors


def _name(entry: Entry) -> str:
    which = " ".join(f"{letter}{value}" for letter, value in selectors_of(entry.line).items())
    place = " ".join(part for part in (entry.command, which, entry.letter or "") if part)
    return f"{place} ({entry.meaning.of})" if entry.meaning else place
