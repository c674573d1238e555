"""Power-ups with the sensor unplugged that were broken off: stopping and taking up deletes no bad reading."""

import pytest

from commission.evidence.entry import Entry
from commission.evidence.findings.cause import CheckJudged
from commission.evidence.findings.loop import Acceptance, UnpluggedAtBoard, UnpluggedAtSensor, UnpluggedSetAside
from commission.evidence.findings.series import ChangeMade
from commission.evidence.measured import Watch, WatchBrokenOff
from commission.evidence.runs import PhaseAbandoned, PhaseEnded, PhaseStarted, RunResumed
from commission.judge.power import PowerSeen
from commission.judge.trial_series import SeriesSoFar
from commission.vocabulary import Presence, Reading, Verdict
from tests.evidence.test_series import TAG, Record, in_phase, readings
from tests.support.made import found, made

A, N, U = Reading.ACTIVE, Reading.INACTIVE, Reading.UNKNOWN


def rest(*seen: Reading, key: str = "unplugged.1", broken_off: bool = False) -> Entry:
    """What was read hands off; twenty readings of one kind, or these."""
    kind = WatchBrokenOff if broken_off else Watch
    return made(kind, key=key, readings=readings(seen * 20 if len(seen) == 1 else seen), presence=None)


def moves(*seen: Reading) -> list[Entry]:
    """What was read while the filament was moved in, out, in, out, as far as that went."""
    order = (Presence.IN, Presence.OUT, Presence.IN, Presence.OUT)
    key = {Presence.IN: "still_plugged.insert", Presence.OUT: "still_plugged.withdraw"}
    return [
        made(Watch, key=key[presence], presence=presence, readings=readings([read] * 20))
        for presence, read in zip(order, seen, strict=False)
    ]


def concluded(reading: Reading, *, watched: bool = True) -> Entry:
    """The power-up's finding."""
    return found(UnpluggedAtBoard, readings=(reading,), power=(PowerSeen.POWER_OFF,), watched=(watched,))


def stands(series: SeriesSoFar) -> tuple[int, int]:
    """How many bad power-ups it holds, and how many that were left open."""
    return series.unplugged_bad, series.unplugged_open


@pytest.mark.parametrize(
    ("read", "bad", "left_open"),
    [
        ([rest(N), *moves(N, N, N, N), concluded(N)], 0, 0),
        ([rest(A), *moves(A, A, A, A), concluded(A)], 1, 0),
        ([rest(N), *moves(N, A, N, A), concluded(U)], 1, 0),
        ([rest(U), *moves(N, U, N, U), concluded(U, watched=False)], 0, 0),
        ([rest(N, N, A), *moves(N, U, N, U), concluded(U, watched=False)], 0, 1),
        ([rest(A), *moves(A, A)], 1, 0),
        ([rest(A)], 0, 1),
        ([rest(A, broken_off=True)], 0, 1),
        ([rest(N, N, A)], 0, 1),
        ([rest(N)], 0, 0),
        ([rest(A), *moves(A, N)], 0, 1),
        ([rest(A), *moves(A, N, A, N), found(UnpluggedSetAside, key="unplugged.1")], 0, 0),
        ([rest(A, key="far_end"), *moves(A, A, A, A), found(UnpluggedAtSensor, reading=A)], 1, 0),
        ([rest(A), *moves(A, A, A, A), concluded(A), rest(A, key="unplugged.2")], 1, 1),
        ([rest(A, key="wiggle")], 0, 0),
        ([rest(U), *moves(U, A)], 1, 0),
        ([rest(A), *moves(A)], 0, 1),
        ([rest(A), *moves(A, A, A, A), rest(A), *moves(A, N, A, N), found(UnpluggedSetAside, key="unplugged.1")], 1, 0),
        ([rest(A, key="far_end"), *moves(A, N), found(UnpluggedAtSensor, reading=U)], 1, 0),
        ([rest(A), made(Watch, key="wiggle", presence=Presence.OUT, readings=readings([A] * 20))], 0, 1),
        ([*moves(A, A)], 0, 0),
        ([rest(A), found(UnpluggedAtBoard, readings=(N,), power=(), watched=())], 0, 1),
    ],
    ids=[
        "steadily out",
        "steadily in",
        "unsteady",
        "hardly read",
        "hardly read, and once in",
        "in with filament out",
        "in, and not moved",
        "in, and broken off in it",
        "once in",
        "out, and not moved",
        "in so far as filament is",
        "set aside",
        "in, at the sensor",
        "in, and again",
        "no power-up",
        "in with filament out, and else unread",
        "in, and filament moved in alone",
        "in, and the next one set aside",
        "unsteady, at the sensor",
        "in, and a watch that is no move",
        "a move without a power-up",
        "in, and concluded without saying from how much",
    ],
)
def test_a_power_up_that_was_broken_off_counts(read: list[Entry], bad: int, left_open: int) -> None:
    """A bad reading stays; one that a sensor still plugged in may have given stays open; a good one proves nothing."""
    assert (bad, left_open) == stands(Record().run(*in_phase(*read, ended=False)))


def test_what_a_phase_judged_is_its_own() -> None:
    """A loop check that came to its verdict, and a check that did, have counted their power-ups themselves."""
    read = [rest(A), *moves(A, A, A, A), concluded(A)]
    check = [
        *(PhaseStarted(name="power_off_test", title=""), *read, PhaseEnded(name="power_off_test")),
        PhaseStarted(name="judgement", title=""),
        found(CheckJudged, unattended=False, criteria=(), verdict=Verdict.FAIL),
    ]

    assert (0, 0) == stands(Record().run(*in_phase(*read, found(Acceptance, verdict=Verdict.FAIL))))
    assert (0, 0) == stands(Record().run(*check))


def test_a_done_power_off_test_without_a_judgement_counts() -> None:
    """The full check was broken off after it: a new one does not begin as though nothing had been read."""
    read = [rest(A), *moves(A, A, A, A), concluded(A)]
    done = [PhaseStarted(name="power_off_test", title=""), *read, PhaseEnded(name="power_off_test")]

    assert (1, 0) == stands(Record().run(*done, PhaseAbandoned(name="judgement", why="a stop")))
    assert (1, 0) == stands(Record().run(*done, RunResumed(number="bench-3/1", tag="bench-3", purpose="full check")))


@pytest.mark.parametrize("name", ["power_off_test", "loop_check", "loop_check of filament2"])
def test_what_a_phase_read_before_it_was_done_again_counts(name: str) -> None:
    """The verdict is on what was read last; a bad reading before it stays in the series."""
    again = [rest(N), *moves(N, N, N, N), concluded(N)]
    entries = [
        *(PhaseStarted(name=name, title=""), rest(A), *moves(A, A, A, A), concluded(A), PhaseEnded(name=name)),
        *(PhaseStarted(name=name, title=""), *again, found(Acceptance, verdict=Verdict.CONDITIONAL)),
    ]

    assert (1, 0) == stands(Record().run(*entries, PhaseEnded(name=name)))


def test_stopping_again_and_again_adds_up() -> None:
    """Each is counted once, over all runs; a recorded change begins a series without them."""
    record = Record()
    for _ in range(3):
        series = record.run(*in_phase(rest(A), *moves(A, A), ended=False))
    changed = record.run(found(ChangeMade, what="cable repaired", by="R. Okafor"))

    assert (3, 0) == stands(series)
    assert series.blemished
    assert (0, 0) == stands(changed)


def test_a_kill_leaves_a_power_up_that_read_in() -> None:
    """A run without any end on record is settled when it is taken up again; once more changes nothing."""
    record = Record()
    record.run(PhaseStarted(name="loop_check", title=""), rest(A), *moves(A, A), ended=False)
    before = stands(record.series.of(TAG))
    for _ in range(2):
        record.series.settle(record.run_number)

    assert ((0, 0), (1, 0)) == (before, stands(record.series.of(TAG)))
