"""What begins and ends runs, by their lines and by their entries; and which runs decide how a printer stands."""

from contextlib import nullcontext

from sqlalchemy import Connection

from commission.evidence.entry import Entry
from commission.evidence.findings.several import SensorsToTest
from commission.evidence.runs import RunResumed
from commission.evidence.talk import Punched
from commission.records.chain import Row, link_row
from commission.records.chains import numbering_of
from commission.records.facts import Fact, Line
from commission.records.look import Looks
from commission.records.reader import Reader
from commission.records.run_marks import RunMarks
from commission.vocabulary import PunchClass
from tests.records.memory import chain_of, in_memory
from tests.support.made import begun, ended, found, made

RUNS = [f"bench-1/2031-03-14/{count}" for count in range(1, 6)]
OTHERS = [f"bench-2/2031-03-14/{count}" for count in range(1, 6)]


def marks_of(connection: Connection) -> RunMarks:
    """The marks of these tables."""
    numbering = numbering_of(connection, indexed=True)
    reader = Reader(lambda: nullcontext(connection), indexed=True, numbering=numbering, looks=Looks())
    return RunMarks(lambda: nullcontext(connection), numbering, reader.rows)


def numbers(told: list[Line | list[Fact]]) -> set[str]:
    """The runs of these marks."""
    return {each.run if isinstance(each, Line) else each[0].run for each in told}


def deciding(rows: list[Row]) -> set[str]:
    """The runs that decide, by their numbers."""
    with in_memory(rows) as connection:
        return numbers(list(marks_of(connection).deciding([SensorsToTest.name()], PunchClass.UNSAFE.value)))


def whole(number: str, verdict: str = "pass") -> list[tuple[str, Entry]]:
    """A run with its beginning and its end."""
    return [(number, begun(number)), (number, ended(verdict))]


def test_of_runs_that_came_to_the_same_the_newest_decides() -> None:
    """Of each verdict one; those in which an unsafe item was opened, and those taken up again, come besides."""
    told = [*whole(RUNS[0]), *whole(RUNS[1], "fail"), *whole(RUNS[2]), *whole(RUNS[3])]
    unsafe = (RUNS[0], made(Punched, grade=PunchClass.UNSAFE))
    minor = (RUNS[2], made(Punched, grade=PunchClass.MINOR))
    resumed = (RUNS[2], made(RunResumed, number=RUNS[2], tag="bench-1", purpose="install"))

    assert {RUNS[1], RUNS[3]} == deciding(chain_of(*told))
    assert {RUNS[0], RUNS[1], RUNS[3]} == deciding(chain_of(*told, unsafe, minor))
    assert {RUNS[1], RUNS[2], RUNS[3]} == deciding(chain_of(*told, resumed))


def test_all_runs_come_where_one_is_compared_with_the_next() -> None:
    """Of the printer that has several sensors, also where the run that says so was taken up again; of no other one."""
    told = [*whole(RUNS[0]), *whole(RUNS[1]), *whole(OTHERS[0]), *whole(OTHERS[1]), *whole(RUNS[2])]
    several: tuple[str, Entry] = (RUNS[0], found(SensorsToTest, sensors=("one", "two")))
    resumed = (RUNS[0], made(RunResumed, number=RUNS[0], tag="bench-1", purpose="install"))
    other = (OTHERS[0], made(RunResumed, number=OTHERS[0], tag="bench-2", purpose="install"))

    assert {RUNS[2], OTHERS[1]} == deciding(chain_of(*told))
    assert {*RUNS[:3], OTHERS[1]} == deciding(chain_of(*told, several))
    assert {*RUNS[:3], OTHERS[1]} == deciding(chain_of(*told, several, resumed))
    assert {*RUNS[:3], OTHERS[0], OTHERS[1]} == deciding(chain_of(*told, several, resumed, other))
    assert {RUNS[2], OTHERS[0], OTHERS[1]} == deciding(chain_of(*told, other))


def test_runs_within_one_another_all_come() -> None:
    """One that began before another and ended behind it may have been the later one."""
    told: list[tuple[str, Entry]] = [(RUNS[0], begun(RUNS[0])), *whole(RUNS[1]), (RUNS[0], ended())]

    assert set(RUNS[:2]) == deciding(chain_of(*told))


def test_a_line_that_tells_nothing_sends_to_the_entry() -> None:
    """A run whose lines lack a word is read; the marks are then those of its entries."""
    with in_memory(chain_of(*whole(RUNS[0]), *whole(RUNS[1]))) as connection:
        told = {each.run: each for each in marks_of(connection).of(None) if isinstance(each, Line)}
        connection.exec_driver_sql("UPDATE facts SET word = NULL, tag = NULL WHERE sequence = 1")
        lines = [each for each in marks_of(connection).of(None) if isinstance(each, Line)]
        (read,) = [each for each in marks_of(connection).of(None) if not isinstance(each, Line)]
        one_by_one = [each for each in marks_of(connection).of("bench-1") if not isinstance(each, Line)]
        printer = marks_of(connection).read_printer(RUNS[0])

    assert set(RUNS[:2]) == set(told)
    assert [told[RUNS[1]]] == lines
    assert [("run_started", "install", "bench-1"), ("run_ended", "complete", None)] == [
        (mark.kind, mark.word, mark.tag) for mark in read
    ]
    assert [read] == [each for each in one_by_one if each[0].run == RUNS[0]]
    assert 2 == len(one_by_one)
    assert "bench-1" == printer


def test_a_printer_is_as_the_beginning_says() -> None:
    """Else as the number of the run does, whether its beginning cannot be read or is not there."""
    number = "bench-9/2031-03-14/1"
    altered = link_row(None, run=number, kind="run_started", at="x", elapsed_us=0, payload="{}")
    with in_memory([altered]) as connection:
        marks = marks_of(connection)
        ((unread,),) = marks.read(None)
        told = Fact(1, number, "run_started", "x", tag="renamed", word="install")

        assert "bench-9" == marks.printer_of([unread]) == marks.printer_of([], number) == marks.read_printer(number)
        assert "bench-7" == marks.printer_of([unread], "bench-7/2031-03-14/1")
        assert "renamed" == marks.printer_of([told]) == marks.printer_of([told, unread], number)
        assert "bench-8" == marks.read_printer("bench-8/2031-03-14/1")
