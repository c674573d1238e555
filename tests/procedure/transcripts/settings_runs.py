"""Backup, reflash, restore and watching on simulated printers, each as it usually goes."""

from collections.abc import Callable, Mapping

from commission.asking.steps import Steps, establish
from commission.dialect.identity import Identity, identity_of
from commission.evidence.findings.function import Reserve
from commission.jobs.settings_share import keep_settings, offered_reflash, settings_as_left
from commission.judge import reserve as lengths
from commission.procedure.settings.record import SettingsRecord
from commission.procedure.settings.restore import restore
from commission.procedure.settings.watching import watching
from tests.procedure.settings_bench import SHEET, Answers, FakePrinter, FakeStore, FakeUnit, SettingsBench
from tests.procedure.transcripts.recorder import OFTEN, Recorder, Scene
from tests.settings.reports import NEWER

STAYS = {"reflash.stays": False, "way_back.*": False}
DEFAULTS = NEWER.replace("E97.50", "E93.00").replace("Y9.00", "Y8.00").replace("Z-1.85", "Z0.00").replace("U90", "U50")
RECORD = SettingsRecord(tuple(NEWER.splitlines()), "printer", "2026-01-02", "ExampleFW 102.1.1", 2, complete=True)


def reflashed(identity: Identity | None) -> Steps[None]:
    """The settings' share of an installation, from the record to what was left."""
    kept = yield from keep_settings(SHEET, identity, None)
    yield from offered_reflash(SHEET, kept, identity)
    yield from settings_as_left(SHEET, kept)


def reflash_on(old: str, new: str, answers: Answers | None = None, often: int = OFTEN) -> Scene:
    """That share on a unit that becomes another one by the reflash."""

    def run(recorder: Recorder) -> object:
        unit = FakeUnit(old, new)
        bench = SettingsBench(unit, STAYS | dict(answers or {}))
        return bench.play(recorder.of(reflashed(identity_of(unit.ask("M115")))))

    return Scene(run, often)


def played(
    printer: Callable[[], FakePrinter], steps: Callable[[], Steps[object]], answers: Answers | None = None
) -> Scene:
    """Steps on a printer."""
    return Scene(lambda recorder: SettingsBench(printer(), answers).play(recorder.of(steps())))


def watched() -> Steps[object]:
    """Watching set where the path was worked out."""
    path = lengths.Path(50.0)
    yield from establish(Reserve.of(path, lengths.reserve(path), ()))
    return (yield from watching())


def store(faults: Mapping[int, str] | None = None) -> Callable[[], FakePrinter]:
    """A printer that is nothing but its settings."""
    return lambda: FakeStore(DEFAULTS, DEFAULTS, faults)


def put_back() -> Steps[object]:
    """The restore alone."""
    return (yield from restore(RECORD, SHEET, "ExampleFW 102.1.2"))


DISTANCE = {"watching.distance": "18"}
SETTINGS_RUNS: Mapping[str, Scene] = {
    "reflash to another layout": reflash_on("tuned", "new-layout"),
    "reflash that keeps everything": reflash_on("tuned", "tuned"),
    "reflash without a word": reflash_on("tuned", "new-silent", often=0),
    "reflash to no storage": reflash_on("tuned", "new-no-storage"),
    "reflash whose save fails": reflash_on("tuned", "new-save-fails"),
    "reflash with a mesh": reflash_on("tuned-mesh", "new-mesh"),
    "restore": played(store(), put_back),
    "restore with a line ignored": played(store({1: "ignored"}), put_back),
    "restore with a restart": played(store({2: "restart"}), put_back),
    "watching": played(lambda: FakeUnit("tuned"), watched, DISTANCE),
    "watching that is forgotten": played(lambda: FakeUnit("forgets-watching"), watched, DISTANCE),
}
