"""Phase: which sensor belongs to which filament path, shown by moving one filament after the other.

A reading that follows its filament in the trials proves nothing of a second one: two plugs that are swapped read right,
each with the other's filament, and the printer pauses for the wrong drive.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from commission.asking.cautions import BY_HAND
from commission.asking.message import Punch, Tell, Weight
from commission.asking.phase import Phase, Voiding, steps_of
from commission.asking.request import Confirm, Enter, Watch
from commission.asking.steps import Steps, confirm, enter, establish, watch
from commission.dialect.sources.report import SourceKind
from commission.dialect.sources.search import Found
from commission.dialect.sources.source import Source
from commission.evidence.findings.several import PathsSeen, SeenOfPath
from commission.judge.paths import PathMoved, Readings, paths_verdict
from commission.vocabulary import PunchClass, Reading, Verdict

PATHS = Phase(
    "paths",
    "Which sensor belongs to which filament path",
    "which sensor belongs to which path",
    frozenset({Voiding.FIRMWARE, Voiding.WIRING}),
)
LOOK, LOOK_S, LOOK_READINGS = "paths.before", 1.5, 15
"""A look at one sensor: its key, how long it is read, and how often."""
STEADY_READINGS = 8
"""A reading stands when so many at the end of a look agree: a hand that is just let go may still move it at first."""
TRIES = 2
"""A path that shows nothing clear is moved once more: a hand may have forgotten it, or moved two."""
SWAPPED = (
    "Switch the printer off, pull mains and USB, and exchange the plugs of these sensors; or have the firmware take "
    "each input for the drive it belongs to. Then run this again."
)
AGAIN = (
    "Look whether filament reaches each sensor, and whether two cables share an input. Then run this again and move "
    "one filament at a time."
)


@dataclass(frozen=True)
class PathsShown:
    """What moving the filaments showed: the verdict, and the path of each sensor."""

    verdict: Verdict
    paths: dict[str, str]


@steps_of(PATHS)
def which_paths(sensors: Sequence[Found]) -> Steps[PathsShown]:
    """Have each filament moved by itself, and see which reading follows."""
    yield Tell(BY_HAND, heading="Before you start", weight=Weight.CAUTION)
    sources = [each.source for each in sensors]
    paths = {}
    for number, source in enumerate(sources, start=1):
        paths[source.text] = yield from _path_of(number, source)
    said = (f"Sensors: {', '.join(f'{name} ({path})' for name, path in paths.items())}.", "Keep it out of all of them.")
    while not (yield from confirm(Confirm("paths.out", "Is the filament out of every one of these sensors?", said))):
        yield Tell(("Take it out of each of them, so that their switches are free; then say yes.",))
    moved = []
    for number, (name, path) in enumerate(paths.items(), start=1):
        moved.append((yield from _moved(number, path, name, sources)))
    verdict = paths_verdict(moved)
    yield from establish(
        PathsSeen(sentences=tuple(each.sentence for each in moved), verdict=verdict, paths=tuple(map(_seen, moved)))
    )
    yield from _left_open(moved, verdict)
    return PathsShown(verdict, paths)


def _path_of(number: int, source: Source) -> Steps[str]:
    """Which path it watches: by the printer's own numbering, else as the operator calls it."""
    drive = drive_of(source)
    if drive is not None:
        return f"drive {drive}"
    lines = ("The console does not say which filament it watches.",)
    question = f"Which filament path does {source.text} belong to? (a word or two, as in: left spool)"
    return (yield from enter(Enter(f"paths.{number}.name", question, lines=lines))).strip()


def drive_of(source: Source) -> int | None:
    """The drive that the printer takes a sensor for, counted from 0; None where its name does not tell."""
    if source.kind in (SourceKind.MONITOR, SourceKind.MONITOR_STATUS) and source.name.isdigit():
        return int(source.name)
    if source.kind is not SourceKind.SWITCH_LINE or not source.name.startswith("filament"):
        return None
    number = source.name.removeprefix("filament").strip(" _")
    if not number:
        return 0
    return int(number) - 1 if number.isdigit() and int(number) > 0 else None


def _moved(number: int, path: str, name: str, sources: Sequence[Source]) -> Steps[PathMoved]:
    """One path, moved in and out again; a second time where nothing clear was seen."""
    before = yield from _read(sources)
    for left in reversed(range(TRIES)):
        yield from _done(
            f"paths.{number}.insert", f"Push filament into {path}, past its sensor, and into no other one."
        )
        inside = yield from _read(sources)
        yield from _done(f"paths.{number}.withdraw", f"Pull it out of {path} again, so that its switch is free.")
        after = yield from _read(sources)
        moved = PathMoved(path, name, before, inside, after)
        if moved.proven or not left:
            break
        yield Tell((moved.sentence, "The same once more, to be sure."))
        before = after
    return moved


def _done(key: str, what: str) -> Steps[None]:
    while not (yield from confirm(Confirm(key, "Done?", (what,)))):
        yield Tell((what, "Take your time, then say yes. Ctrl-C ends the run."))


def _read(sources: Sequence[Source]) -> Steps[Readings]:
    """What each reads once the hands are off; unknown where it is not steady, or cannot be read."""
    seen = {}
    for source in sources:
        taken = yield from watch(
            Watch(
                key=LOOK,
                title=f"Hands off: what does {source.text} read?",
                lines=("Leave every filament alone.",),
                switch=source.text,
                presence=None,
                seconds=LOOK_S,
                readings=LOOK_READINGS,
                interval_s=LOOK_S / LOOK_READINGS,
            )
        )
        settled = {each.reading for each in taken.readings[-STEADY_READINGS:]}
        seen[source.text] = settled.pop() if len(settled) == 1 else Reading.UNKNOWN
    return seen


def _seen(moved: PathMoved) -> SeenOfPath:
    return SeenOfPath(path=moved.path, sensor=moved.sensor, followed=moved.followed, unread=moved.unread)


def _left_open(moved: Sequence[PathMoved], verdict: Verdict) -> Steps[None]:
    for each in moved:
        if each.crossed:
            yield Punch(PunchClass.UNSAFE, each.sentence, SWAPPED)
    if verdict is Verdict.NOT_JUDGED:
        unclear = [each.sentence for each in moved if not each.proven]
        yield Punch(PunchClass.INCOMPLETE, f"Which sensor belongs to which path is not proven. {unclear[0]}", AGAIN)
