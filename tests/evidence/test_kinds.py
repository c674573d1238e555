"""Every kind of entry and finding that there is stands in its union, under a name of its own."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import TypeVar, get_args

from msgspec import NODEFAULT, Struct, structs
from msgspec.structs import FieldInfo, fields

from commission.dialect.sources.report import SourceKind, SourceReport
from commission.dialect.sources.search import Found
from commission.dialect.sources.source import Source
from commission.evidence.entries import AnyEntry
from commission.evidence.entry import NOTHING_TOLD, About, Entry
from commission.evidence.exposed import MOVING, STEADY, WIGGLE
from commission.evidence.findings import KINDS, AnyFinding
from commission.evidence.findings.base import Finding
from commission.evidence.findings.function import Reserve
from commission.evidence.findings.reported import SourceLine
from commission.evidence.findings.several import PathsSeen, SensorBegun
from commission.evidence.findings.wiring import Wiring
from commission.evidence.measured import Moves, Watch
from commission.evidence.runs import WayOut
from commission.evidence.standing import AT_BOARD, AT_SENSOR, LOOK, MOVED
from commission.evidence.talk import Punched
from commission.jobs.check import periodic_check
from commission.judge.plan import Plan
from commission.vocabulary import PunchClass, Reading, Verdict
from tests.support.fake_bench import FakeBench
from tests.support.installed import installation
from tests.support.made import made
from tests.support.unread_bench import SUBJECT

NOTHING: tuple[object, ...] = (None, 0, "", b"", (), {}, NOTHING_TOLD)
_T = TypeVar("_T", Entry, Finding, Struct)
PLAN = Plan(seed=20, cycles=6, countdown_s=1.0, readings_per_dwell=5, dwell_s=0.5, wiggle_s=1, wiggle_readings=10)


def below(kind: type[_T]) -> Iterator[type[_T]]:
    """Every kind below this one."""
    for each in kind.__subclasses__():
        yield each
        yield from below(each)


def test_the_unions_hold_every_kind() -> None:
    """One that was given a name and forgotten there could be written by nobody."""
    entries = {each for each in below(Entry) if each.kind() != each.__name__}
    findings = {each for each in below(Finding) if each.name() != each.__name__}

    assert entries == set(get_args(AnyEntry))
    assert findings == set(get_args(AnyFinding)) == set(KINDS.values())


def test_every_kind_has_a_name_of_its_own() -> None:
    """Two kinds under one name could not be told apart in a book."""
    tags = [kind.kind() for kind in get_args(AnyEntry)]
    names = [kind.name() for kind in get_args(AnyFinding)]

    assert sorted(set(tags)) == sorted(tags)
    assert sorted(set(names)) == sorted(names)


NEWEST_STANDS = {
    *("as_predicted", "changes_since", "check", "diagnosis", "motion_checked", "movement_sensed", "paths_seen"),
    *("polarity", "predicted_and_measured", "reserve_recalled", "runout_control_after_restart", "runout_control_now"),
    *("sensors_judged", "sensors_to_test", "settings_at_check", "settings_drift", "sources_found", "steady"),
    *("switch_name", "switches_now", "unsafe_open", "wiggle", "wiring"),
}


def test_of_some_kinds_the_newest_stands() -> None:
    """What is said again in one run replaces what was said before; of all other kinds each finding stands."""
    assert {kind.name() for kind in KINDS.values() if kind.newest_stands} == NEWEST_STANDS


def test_what_an_entry_leaves_out_says_nothing() -> None:
    """An older book that lacks a field is read as if nothing was told: none, zero, no, empty. The rest is listed."""
    told = {(kind.__name__, each.name): default_of(each) for kind in structs_of_the_room() for each in fields(kind)}

    assert About("", "", "", "") == NOTHING_TOLD
    assert {
        ("RunEnded", "way_out"): WayOut(),
        ("WayOut", "complete"): True,
        ("Told", "weight"): "note",
        ("HoldReleased", "same_identity"): True,
        ("MovesBegan", "sends"): True,
        ("NoMeter", "sentences"): ("No meter is at hand in this run.",),
    } == {place: default for place, default in told.items() if default not in NOTHING}


def structs_of_the_room() -> list[type[Struct]]:
    """Entries, findings, and what stands in them."""
    return [each for each in below(Struct) if each.__module__.startswith("commission.evidence.")]


def default_of(each: FieldInfo) -> object:
    """What the field is where an entry leaves it out; none where it may not."""
    if each.default_factory is not NODEFAULT:
        return each.default_factory()
    return None if each.default is NODEFAULT else each.default


async def test_the_keys_that_count_are_those_the_procedures_use(tmp_path: Path) -> None:
    """Each key by which a watch or moves count, or do not, is one that an installation or a check really asks by."""
    bench = FakeBench(tmp_path)
    told: dict[str, bool | str] = {"moving.how": "motors", "far_end.now": True, "walk.repair": "later"}
    bench.answers = told.get
    await bench.run(installation(PLAN))
    await bench.run(periodic_check(replace(SUBJECT, steady_s=1.0)))
    used = {watch.key for watch in bench.entries(Watch)} | {moves.key for moves in bench.entries(Moves)}

    assert {WIGGLE, STEADY, MOVING, WIGGLE + LOOK} <= used
    assert [] == [begins for begins in (AT_BOARD, AT_SENSOR, MOVED) if not any(key.startswith(begins) for key in used)]


def test_a_source_is_told_as_it_was_found() -> None:
    """The line of the record has what the printer said and what that can prove."""
    source = Source(None, SourceKind.SWITCH_LINE, "filament")
    report = SourceReport(SourceKind.SWITCH_LINE, "filament", Reading.ACTIVE, "TRIGGERED")
    line = SourceLine.of(Found(source, report))

    assert ("filament", "switch_line", Reading.ACTIVE, "TRIGGERED") == (
        line.name,
        line.kind,
        line.reading,
        line.wire_word,
    )
    assert (None, False, None) == (line.watched, line.moving, line.error)


def test_a_declaration_without_a_run_says_whose_it_is() -> None:
    """One that was declared in a run is that run's, and names nobody."""
    in_a_run = made(Wiring)
    noted = structs.replace(in_a_run, declared_on="2031-03-14", declared_by="R. Okafor")

    assert "" == in_a_run.source
    assert "declared on 2031-03-14 by R. Okafor, without a run" == noted.source


def test_an_open_item_keeps_its_grade_with_another_cure() -> None:
    """Only the words of the cure are others."""
    item = Punched(grade=PunchClass.UNSAFE, text="It reads in.", cure="Mend it.", settled_by="unplug.1")

    assert structs.replace(item, cure="Run `install` again.") == item.cured_by("Run `install` again.")


def test_a_reserve_of_an_earlier_release_lacks_what_it_did_not_know() -> None:
    """It worked out no latest pause: the judge's object has none, whatever else the record says."""
    names = ("leftover_max_mm", "leftover_mm", "margin_mm", "pause_after_mm", "pause_after_s", "time_limit_s", "air_mm")
    found = made(Reserve, done=True, refused=False, **dict.fromkeys(names, 7.0)).found

    assert found is not None
    assert (7.0, 0.0) == (found.pause_after_mm, found.latest_mm)


def test_a_findings_values_are_what_it_tells() -> None:
    """A value that must be given stands there, empty or not; one that may be left out stands there where it says more.

    The sentences stand elsewhere.
    """
    judged = made(PathsSeen, sentences=("Seen.",), verdict=Verdict.FAIL, paths=())
    identity = made(SensorBegun, sensor="filament", number=1, sensors=2)

    assert {"verdict": "fail", "paths": []} == judged.values
    assert {"sensor": "filament", "number": 1, "sensors": 2} == identity.values
    assert "tool 1" == structs.replace(identity, path="tool 1").values["path"]
