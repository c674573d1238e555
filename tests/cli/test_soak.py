"""The soak as a command: real process and port, and time simulated, see tests/support/stepped_time.py."""

import json
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from msgspec import structs

from commission.clock import SystemClock
from commission.evidence.runs import REWIRING, Note
from commission.evidence.soaked import Changed, Repeated, SoakBegan, SoakStretch
from commission.judge.nuisance import Around
from commission.records.book import Book
from commission.vocabulary import Reading
from tests.cli.bench import Folder
from tests.support.fake_process import FakeProcess, running_printer
from tests.support.loaded_tool import carried_out
from tests.support.made import begun
from tests.support.stepped_time import stepped


@pytest.fixture(name="printer")
def _printer() -> Iterator[FakeProcess]:
    """A sound printer whose time passes as it is told to, with filament in."""
    with running_printer("sound", "--tcp", "0", "--unpaced", "--stepped") as printer:
        printer.do("insert")
        printer.pass_time(5.0)
        yield printer


@pytest.fixture(name="folder")
def _folder(tmp_path: Path) -> Folder:
    """A folder whose printer passed, with the owner's consent on record."""
    folder = Folder(tmp_path)
    folder.on_record("install: pass", consent=True)
    return folder


def soak(folder: Folder, printer: FakeProcess, *words: str) -> "subprocess.CompletedProcess[str]":
    """An unattended soak of a minute."""
    command = ["soak", "bench-3", "--unattended", "--port", printer.link, "--for", "1m", "--book", str(folder.book)]
    line = stepped(printer.control, *command, "--reports", str(folder.place), *words)
    return carried_out(line)


def test_an_unattended_soak_asks_only_questions(folder: Folder, printer: FakeProcess) -> None:
    """It passes, its report draws it on one line, and the printer was only asked."""
    done = soak(folder, printer)

    assert 0 == done.returncode, done.stdout + done.stderr
    assert {"M115", "M119", "M27", "M412"} >= {line.split("*")[0] for line in printer.received()}
    (report,) = folder.place.glob("*.md")
    text = report.read_text(encoding="utf-8")
    assert "# Soak test report" in text
    assert "=" * 72 in text
    assert "Not shown yet: how rarely the reading changes by itself" in text


def test_json_is_one_object_a_line(folder: Folder, printer: FakeProcess) -> None:
    """Progress has its values, and what was found its sentences."""
    done = soak(folder, printer, "--json")

    assert 0 == done.returncode, done.stdout + done.stderr
    events = [json.loads(line) for line in done.stdout.splitlines()]
    progress = [each for each in events if each["event"] == "progress"]
    assert 5 <= len(progress) <= 8
    assert ["at rest"] * len(progress) == [each["around"] for each in progress]
    left_s = [each["left_s"] for each in progress]
    assert sorted(left_s, reverse=True) == left_s
    assert ["soaked"] == [
        each["name"] for each in events if each["event"] == "established" and each["name"] == "soaked"
    ]


def test_without_consent_nothing_is_opened(tmp_path: Path, printer: FakeProcess) -> None:
    """As for an unattended check."""
    folder = Folder(tmp_path)
    folder.on_record("install: pass")

    assert 7 == soak(folder, printer).returncode
    assert [] == printer.received()


BROKEN_OFF = "bench-3/2031-03-15/1"


def _held_a_print(folder: Folder) -> None:
    """A soak that was broken off beside a print from the card."""
    _broken_off(folder, SoakStretch(began_s=0.0, ended_s=10.0, around=Around.PRINTING, repeated=(), exposure_s=9.0))


def _broken_off(folder: Folder, read: SoakStretch) -> None:
    """A soak of a minute that was broken off when this had been read."""
    with Book(folder.book, SystemClock()) as book:
        book.append(BROKEN_OFF, begun(BROKEN_OFF, "soak"))
        book.append(BROKEN_OFF, SoakBegan(switch="filament", seconds=60.0))
        book.append(BROKEN_OFF, read)


def test_a_person_says_that_the_print_is_over_before_the_port_is_opened(folder: Folder, printer: FakeProcess) -> None:
    """With no, nothing is opened, and what may still run is named."""
    _held_a_print(folder)
    script = folder.script("soak.print_over", "no")

    done = folder.call("soak", "bench-3", "--port", printer.link, "--for", "1m", *script)

    said = " ".join((done.output + done.error).split())
    assert 6 == done.code, said
    assert "A print may still run: the port was not opened." in said
    assert "When the soak bench-3/2031-03-15/1 was broken off a print from the card was under way." in said
    assert [] == printer.received()


def test_a_soak_that_held_a_print_is_not_taken_up_alone(folder: Folder, printer: FakeProcess) -> None:
    """The print may still run, and opening the port can kill it."""
    _held_a_print(folder)

    done = soak(folder, printer)

    assert 6 == done.returncode, done.stdout + done.stderr
    assert "begin the soak by hand" in " ".join(done.stderr.split())
    assert [] == printer.received()


AT_REST = SoakStretch(began_s=0.0, ended_s=40.0, around=Around.AT_REST, repeated=(), exposure_s=40.0)
CHANGED = structs.replace(AT_REST, changes=(Changed(9.9, 10.0, Reading.INACTIVE),))
READ_OUT = structs.replace(AT_REST, repeated=(Repeated(0.0, 40.0, Reading.INACTIVE, "open", 400),))
REWIRED = Note(tag_of_printer="bench-3", what=REWIRING, text="a new cable")


def test_a_soak_that_was_broken_off_is_taken_up(folder: Folder, printer: FakeProcess) -> None:
    """What is left of it is watched, and not the whole anew."""
    _broken_off(folder, AT_REST)

    done = soak(folder, printer)

    assert 0 == done.returncode, done.stdout + done.stderr
    assert f"Taking up the soak {BROKEN_OFF}: 20.0 s are left." in " ".join(done.stdout.split())
    asked = [line for line in printer.received() if line.startswith("M119")]
    assert 190 <= len(asked) <= 230, "ten questions a second for what was left"


@pytest.mark.parametrize(
    ("read", "since"),
    [(CHANGED, None), (READ_OUT, None), (AT_REST, REWIRED)],
    ids=["it changed unasked", "it read out", "the wiring was changed since"],
)
def test_a_soak_is_not_taken_up_past_what_it_showed(
    folder: Folder, printer: FakeProcess, read: SoakStretch, since: Note | None
) -> None:
    """Its rest alone would pass, and nothing would tell of what came before: the whole is watched anew."""
    _broken_off(folder, read)
    if since is not None:
        with Book(folder.book, SystemClock()) as book:
            book.append("bench-3/notes", since)

    done = soak(folder, printer)

    assert "Taking up the soak" not in " ".join(done.stdout.split())
    asked = [line for line in printer.received() if line.startswith("M119")]
    assert len(asked) >= 590, "ten questions a second for the whole minute"


@pytest.mark.parametrize("words", [("--for", "2"), ("--for", "10s"), ("--for", "nan"), ("--for", "30d")])
def test_a_length_that_is_none_is_wrong_usage(folder: Folder, words: tuple[str, ...]) -> None:
    """A soak takes a minute to a week."""
    said = folder.call("soak", "bench-3", "--port", "socket://127.0.0.1:9", *words)

    assert 2 == said.code
    assert "1m to 7d" in " ".join(said.error.split())


def test_json_with_a_person_is_wrong_usage(folder: Folder) -> None:
    """Nobody can be asked between objects."""
    said = folder.call("soak", "bench-3", "--port", "socket://127.0.0.1:9", "--json")

    assert 2 == said.code
