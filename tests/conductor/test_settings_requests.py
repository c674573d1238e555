"""What the settings procedures ask of the conductor: earlier records, a file's digest, another firmware, no printer."""

import sys
from pathlib import Path

import pytest

from commission.asking.request import Confirm, Hold
from commission.asking.response import HoldReleased
from commission.asking.steps import Steps, confirm, establish, hold, keep, recall
from commission.conductor.keeping import fingerprint
from commission.conductor.on_paper import NeedsAPrinter, OnPaper
from commission.conductor.scribe import Scribe
from commission.desk.choosing import silent_desk
from commission.evidence.findings.function import CardJob
from commission.evidence.findings.meeting import Repair
from commission.evidence.findings.settings import NoStorage, SettingsAsFound
from commission.evidence.talk import FileKept
from commission.procedure.settings.backup import backup_of_capture
from commission.procedure.settings.record import Sheet
from commission.records.book import Book
from commission.records.settings_history import settings_reports
from commission.vocabulary import Outcome
from tests.settings.reports import OLDER
from tests.support.fake_bench import FakeBench
from tests.support.fake_time import FakeClock
from tests.support.made import begun, found


def test_a_file_is_named_by_its_digest(tmp_path: Path) -> None:
    """A file's fingerprint is its name, its folder, its size and its SHA-256."""
    (tmp_path / "old.bin").write_bytes(b"abc")

    assert {
        "name": "old.bin",
        "place": str(tmp_path.resolve()),
        # FIPS 180-4, example of SHA-256 on the message "abc"
        "sha256": "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad",
        "bytes": 3,
    } == fingerprint(str(tmp_path / "old.bin"))


@pytest.mark.parametrize("path", ["missing.bin", "", ".", "/dev/zero", "a\0b"])
def test_what_is_no_file_has_no_fingerprint(path: str) -> None:
    """A missing file, a folder, an endless device or a name that can be none gives nothing, and does not hang."""
    assert fingerprint(path) is None


async def test_earlier_findings_are_those_of_the_same_printer(tmp_path: Path) -> None:
    """The newest finding of the printer's other runs is recalled; not this run's, and not another printer's."""
    with Book(tmp_path / "book.sqlite3", FakeClock()) as book:
        for number, tag, value in (("1", "bench-3", 1), ("2", "bench-3", 2), ("3", "bench-4", 3), ("4", "bench-3", 4)):
            book.append(number, begun(number, "backup", tag=tag))
            book.append(number, found(CardJob, path="runout.gcode", moves=value))
        scribe = Scribe(book, "4")
        try:
            assert CardJob(path="runout.gcode", moves=2) == await scribe.recall(CardJob, earlier=True)
            assert CardJob(path="runout.gcode", moves=4) == await scribe.recall(CardJob)
            assert await scribe.recall(Repair, earlier=True) is None
        finally:
            scribe.close()


@pytest.mark.parametrize(("reflash", "second"), [(True, True), (False, False)])
async def test_after_a_reflash_the_new_announcement_is_the_printer(tmp_path: Path, reflash: bool, second: bool) -> None:
    """After the reflash hold point the new announcement is this printer's; after any other hold it is not."""
    bench = FakeBench(tmp_path)

    def steps() -> Steps[tuple[HoldReleased, HoldReleased]]:
        bench.identity = bench.identity.replace("102.1.2", "102.1.3")
        one = yield from hold(Hold("one", "Reflash", ("flash it",), "Done?", power=True, reflash=reflash))
        other = yield from hold(Hold("two", "Power off", ("off and on",), "Done?", power=True))
        return one, other

    # The conductor remembers who answered when the port was opened, before the first step.
    ended = await bench.run(steps())

    assert ended.result is not None
    assert not ended.result[0].same_identity
    assert second is ended.result[1].same_identity


async def test_a_port_that_cannot_be_followed_is_named_by_the_operator(tmp_path: Path) -> None:
    """When the printer is not found where it was, the operator may name another port, and it is looked for there."""
    bench = FakeBench(tmp_path)

    def steps() -> Steps[HoldReleased]:
        bench.port = "fake-2"
        return (yield from hold(Hold("one", "Reflash", ("flash it",), "Done?", power=True, reflash=True)))

    answers: dict[str, bool | str] = {"hold.same_port": False, "hold.port": "fake-2"}
    bench.answers = answers.get
    ended = await bench.run(steps())

    assert ended.result is not None
    assert ("fake-2", True) == (ended.result.port, ended.result.same_identity)
    assert ["one", "hold.look_again", "hold.same_port", "hold.port"] == bench.desk.asked


async def test_a_port_that_is_not_named_is_looked_for_where_it_was(tmp_path: Path) -> None:
    """When the operator says that the port name is the same, it is looked for there again, and none is asked for."""
    bench = FakeBench(tmp_path)

    def steps() -> Steps[HoldReleased]:
        bench.port = "nowhere"
        return (yield from hold(Hold("one", "Reflash", ("flash it",), "Done?", power=True, reflash=True)))

    def plugged_in(key: str) -> None:
        bench.port = "fake" if key == "hold.same_port" else bench.port

    bench.answers = plugged_in
    ended = await bench.run(steps())

    assert ended.result is not None
    assert "fake" == ended.result.port
    assert ["one", "hold.look_again", "hold.same_port"] == bench.desk.asked


async def test_a_capture_is_recorded_without_a_printer(tmp_path: Path) -> None:
    """On paper a capture goes into the book as a record, with its files in the folder."""
    with Book(tmp_path / "book.sqlite3", FakeClock()) as book:
        book.append("r1", begun("r1", "backup", tag="bench-3"))
        scribe = Scribe(book, "r1")
        try:
            steps = backup_of_capture(tuple(OLDER.splitlines()), "console.txt", Sheet("bench-3", "2031-03-14"), "")
            ended = await OnPaper(silent_desk(sys.stdout), scribe, tmp_path / "files").run(steps)
        finally:
            scribe.close()
        reports = settings_reports(book, "bench-3", (SettingsAsFound,))

        assert Outcome.COMPLETE is ended.outcome
        assert [("r1", "console.txt")] == [(record.run, report.source) for record, report in reports]
        assert [] == book.verify()
    assert 2 == len(list((tmp_path / "files").iterdir()))


async def test_on_paper_nobody_is_asked(tmp_path: Path) -> None:
    """A procedure that asks a person is refused where there is none."""

    def steps() -> Steps[bool]:
        yield from establish(NoStorage(sentences=("It has begun.",)))
        yield from keep("a.txt", "text", "a file")
        assert (yield from recall(NoStorage)) is not None
        return (yield from confirm(Confirm("really", "Really?")))

    with Book(tmp_path / "book.sqlite3", FakeClock()) as book:
        book.append("r1", begun("r1", "backup", tag="bench-3"))
        scribe = Scribe(book, "r1")
        try:
            with pytest.raises(NeedsAPrinter, match="Confirm"):
                await OnPaper(silent_desk(sys.stdout), scribe, tmp_path).run(steps())
        finally:
            scribe.close()


async def test_a_kept_file_is_on_record_with_its_digest(tmp_path: Path) -> None:
    """Where it lies, what it is for, how large it is and its SHA-256 stand in the book: by them it is known again."""
    bench = FakeBench(tmp_path)

    def steps() -> Steps[str]:
        return (yield from keep("a.txt", "abc", "a file"))

    path = (await bench.run(steps())).result

    # FIPS 180-4, example of SHA-256 on the message "abc"
    digest = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert [FileKept(path=str(path), purpose="a file", sha256=digest, bytes=3)] == bench.entries(FileKept)
