"""The name of the filament switch is settled over several replies and the record; one damaged reply settles nothing."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from commission.dialect.switches import SwitchState, switches_of
from commission.evidence.findings.cause import CheckJudged
from commission.evidence.findings.loop import SwitchNamed
from commission.procedure.as_found import as_found
from commission.procedure.proof_test import periodic_check
from commission.procedure.switch_name import REPLIES, settled
from commission.vocabulary import Outcome
from tests.support.fake_bench import FakeBench
from tests.support.made import begun
from tests.support.unread_bench import MISSING, RENAMED, SUBJECT

UNATTENDED = replace(SUBJECT, unattended=True, steady_s=2.0)


def replies(*texts: str) -> list[tuple[SwitchState, ...]]:
    """What each reply reports."""
    return [switches_of(text.splitlines()) for text in texts]


GOOD, BAD, NONE = "x_min: open\nfilament: TRIGGERED", "x_min: open\nfilAment: TRIGGERED", "x_min: open"


@pytest.mark.parametrize(
    ("texts", "filament", "strays"),
    [
        ([GOOD] * 5, ("filament",), ()),
        ([BAD, GOOD, GOOD, GOOD, GOOD], ("filament",), ("filAment",)),
        ([GOOD, GOOD, GOOD, BAD, NONE], ("filament",), ("filAment",)),
        ([GOOD, NONE, NONE, NONE, NONE], (), ("filament",)),
        ([GOOD, GOOD, BAD, BAD, NONE], (), ("filament", "filAment")),
        ([NONE] * 5, (), ()),
        (["filament: open\nfilament2: open"] * 5, ("filament", "filament2"), ()),
    ],
)
def test_a_name_stands_when_most_replies_have_it(
    texts: list[str], filament: tuple[str, ...], strays: tuple[str, ...]
) -> None:
    """More than half of the replies settle a name; any other is set aside and named."""
    reported = settled(replies(*texts))

    assert (filament, strays) == (reported.filament, reported.strays)


def test_the_newest_reading_of_a_settled_name_counts() -> None:
    """A switch that changes between the replies reads as it read last."""
    reported = settled(replies("filament: open", "filament: open", "filament: TRIGGERED"))

    assert ["TRIGGERED"] == [state.wire_word for state in reported.states]


def bench_with(folder: Path, surprise: Callable[[int], bytes | None]) -> FakeBench:
    """A bench whose answers of these numbers are damaged."""
    bench = FakeBench(folder)
    bench.surprise = surprise
    return bench


def verdicts(bench: FakeBench) -> dict[str, str]:
    """The verdict of each criterion of the check, and of the whole."""
    found = bench.desk.findings[CheckJudged]
    return {each.name: each.verdict.value for each in found.criteria} | {"whole": found.verdict.value}


@pytest.mark.parametrize("on_record", ["", "filament"])
async def test_a_damaged_first_reply_does_not_settle_a_name(tmp_path: Path, on_record: str) -> None:
    """With a record and without, the right name is read, and the person is told of the other one."""
    bench = bench_with(tmp_path, lambda queries: RENAMED if queries == 1 else None)
    await bench.run(periodic_check(replace(UNATTENDED, switch=on_record)))

    assert "filament" == bench.desk.findings[SwitchNamed].switch
    assert "The name filAment stands in 1 of 5 replies only: it is not read by that name." in (
        bench.desk.findings[SwitchNamed].sentences
    )
    assert ("pass", "pass") == (verdicts(bench)["switch reported"], verdicts(bench)["steadiness"])


async def test_an_installation_settles_the_name_as_well(tmp_path: Path) -> None:
    """What is found before any change is asked for as often, so that the trials ask for the right switch."""
    bench = bench_with(tmp_path, lambda queries: RENAMED if queries == 1 else None)
    ended = await bench.run(as_found())

    assert ended.result is not None
    assert "filament" == ended.result.switch
    assert REPLIES == bench.queries


@pytest.mark.parametrize(
    ("whole", "later"), [(1, MISSING), (3, MISSING), (5, MISSING), (8, MISSING), (3, RENAMED), (8, RENAMED)]
)
async def test_a_line_that_vanishes_is_no_pass(tmp_path: Path, later: bytes, whole: int) -> None:
    """However many replies have it at first, a line that is gone when it is watched leaves no verdict, so no pass."""
    bench = bench_with(tmp_path, lambda queries: later if queries > whole else None)
    ended = await bench.run(periodic_check(UNATTENDED))

    assert Outcome.COMPLETE is ended.outcome
    assert verdicts(bench)["whole"] == "not judged"
    assert "pass" not in verdicts(bench)["steadiness"]


async def test_a_name_that_changes_for_good_is_told_and_no_pass(tmp_path: Path) -> None:
    """One reply by the name on record and all later ones by another: that one is read, and makes it conditional."""
    bench = bench_with(tmp_path, lambda queries: RENAMED if queries > 1 else None)
    await bench.run(periodic_check(UNATTENDED))

    assert "filAment" == bench.desk.findings[SwitchNamed].switch
    assert ("conditional pass", "conditional pass") == (verdicts(bench)["switch reported"], verdicts(bench)["whole"])


async def test_a_line_that_one_reply_had_is_said_to_be_just_that(tmp_path: Path) -> None:
    """It is neither reported nor missing for good: the criterion says in how many replies it was."""
    bench = bench_with(tmp_path, lambda queries: MISSING if queries > 1 else None)
    await bench.run(periodic_check(UNATTENDED))

    said = [each.observed for each in bench.desk.findings[CheckJudged].criteria]
    assert "The filament switch is reported in 1 of 5 replies only: nothing can be read of it." in said


@pytest.mark.parametrize(("full", "verdict"), [(False, "conditional pass"), (True, "pass")])
async def test_another_name_than_on_record_is_told(tmp_path: Path, verdict: str, *, full: bool) -> None:
    """The person sees both names; only a full check may call it the same switch."""
    bench = FakeBench(tmp_path)
    bench.switch = "filament_2"
    await bench.run(periodic_check(replace(SUBJECT, full=full, steady_s=2.0)))

    said = "On record the filament switch is called filament; the printer calls it filament_2 now."
    assert any(said in sentence for sentence in bench.desk.findings[SwitchNamed].sentences)
    assert verdict == verdicts(bench)["switch reported"]


async def test_the_name_of_the_run_before_is_the_record(tmp_path: Path) -> None:
    """An installation that finds another name than the run before it did says so."""
    bench = FakeBench(tmp_path)
    for number, name in enumerate(("filament", "filament_2"), 1):
        bench.book.append(f"bench-3/2031-03-13/{number}", begun(f"bench-3/2031-03-13/{number}"))
        bench.switch = name
        await bench.run(as_found(), number=f"bench-3/2031-03-13/{number}")

    found = bench.desk.findings[SwitchNamed]
    assert ("filament_2", "filament") == (found.switch, found.on_record)
