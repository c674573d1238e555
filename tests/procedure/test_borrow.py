"""A borrowed socket, on the simulated printer: from the endstop in its socket to the endstop in its socket."""

from pathlib import Path

import pytest

from commission.evidence.findings.borrow import AsPredicted, BorrowPredicted, SocketBorrowed, SocketHandedBack
from commission.evidence.findings.pull import PullProof
from commission.evidence.findings.wiring import Wiring
from commission.evidence.series import AllSeries
from commission.jobs.install import JobResult
from commission.judge.borrowed import ContactSeen
from commission.procedure.borrow.prediction import held_against_prediction
from commission.procedure.settings.firmware_files import listed_conditions
from commission.vocabulary import (
    FailSafe,
    Level,
    Outcome,
    Pull,
    PunchClass,
    Reading,
    SwitchBehaviour,
    Verdict,
)
from tests.procedure.borrow_bench import HANDS, SOCKET, BorrowBench
from tests.support.scripted_phase import ScriptedPhase


async def test_a_sound_sensor_predicts_its_build(tmp_path: Path) -> None:
    """A normally open contact to ground: no filament is high, pull up; the endstop reads as before at the end."""
    bench = BorrowBench(tmp_path)
    ended = await bench.borrowed()
    found, own = bench.desk.findings[BorrowPredicted], bench.desk.findings[SocketBorrowed]

    assert (Outcome.COMPLETE, JobResult(Verdict.PASS)) == (ended.outcome, ended.result)
    assert (Reading.ACTIVE, Reading.INACTIVE, Reading.ACTIVE) == (found.empty, found.filament_in, found.filament_out)
    assert (ContactSeen.CLOSED_IN, True, True) == (found.seen, found.fail_safe, found.as_declared)
    assert (Level.HIGH, Pull.UP, True) == (found.absent, found.pull, found.pull_shown)
    assert (Reading.ACTIVE, Reading.INACTIVE) == (own.pressed, own.free)
    assert bench.desk.findings[SocketHandedBack].proven
    assert [] == bench.desk.items
    assert [] == bench.book.verify()


async def test_only_questions_are_sent(tmp_path: Path) -> None:
    """Who it is, what its card does, and the switch report; nothing moves, homes or is set."""
    bench = BorrowBench(tmp_path)
    await bench.borrowed()

    assert {"M115", "M27", "M119"} >= {
        line.split("*")[0].split(" ")[-1] for line in bench.received if "M110" not in line
    }


async def test_nothing_of_it_counts_for_the_sensors_own_input(tmp_path: Path) -> None:
    """No trial of it stands in a series, and neither wiring nor pull is on record as of its own input."""
    bench = BorrowBench(tmp_path)
    await bench.borrowed()

    assert () == AllSeries(bench.book.records()).of("bench-3").trials
    assert None is bench.desk.findings.get(Wiring)
    assert None is bench.desk.findings.get(PullProof)


async def test_a_declared_pull_makes_it_a_conditional_pass(tmp_path: Path) -> None:
    """Without 1 kilohm an empty socket may rest at its level by chance: an open item says so."""
    bench = BorrowBench(tmp_path)
    bench.said["borrow.small.now"] = False
    ended = await bench.borrowed()

    assert JobResult(Verdict.CONDITIONAL) == ended.result
    assert not bench.desk.findings[BorrowPredicted].pull_shown
    assert ["It rests on the declared pull of the socket: 1 kΩ was not laid, or did not show its direction."] == [
        item.text for item in bench.desk.items
    ]


async def test_a_contact_that_fails_to_danger_leads_to_no_build(tmp_path: Path) -> None:
    """A normally closed contact that filament opens: no build makes it safe, and the socket is handed back."""
    bench = BorrowBench(tmp_path, "inverted-by-contact", name=SOCKET)
    ended = await bench.borrowed()
    found = bench.desk.findings[BorrowPredicted]

    assert JobResult(Verdict.NOT_JUDGED) == ended.result
    assert (ContactSeen.CLOSED_OUT, False, False, None) == (
        found.seen,
        found.fail_safe,
        found.as_declared,
        found.absent,
    )
    assert "Move the signal wire to the other contact" in found.why_not
    assert bench.desk.findings[SocketHandedBack].proven


async def test_a_dead_contact_is_not_judged(tmp_path: Path) -> None:
    """The socket reads as when it is empty, whatever the filament does."""
    bench = BorrowBench(tmp_path)
    bench.hands["borrow.plug"] = [("lay-at", SOCKET, "nothing"), ("plug-into", SOCKET), ("break-wire", "signal")]
    ended = await bench.borrowed()

    assert JobResult(Verdict.NOT_JUDGED) == ended.result
    assert ContactSeen.NEVER_CLOSED is bench.desk.findings[BorrowPredicted].seen


@pytest.mark.parametrize("seed", range(6))
async def test_a_socket_that_nothing_holds_never_passes_a_wrong_contact(tmp_path: Path, seed: int) -> None:
    """It rests at another level after each power-up by chance, which could make a contact look safe that is not."""
    wrong = {"pull": "none", "own": "closes", "sticks_per_power_up": 1.0}
    bench = BorrowBench(tmp_path, "inverted-by-contact", seed=seed, **wrong)
    ended = await bench.borrowed()

    assert JobResult(Verdict.NOT_JUDGED) == ended.result


async def test_a_socket_that_still_follows_its_switch_is_not_empty(tmp_path: Path) -> None:
    """Another plug was pulled first: what was read then does not count, and the right one is asked for."""
    bench = BorrowBench(tmp_path)
    pulled: list[tuple[str, ...]] = []
    bench.hands["borrow.empty"], bench.hands["borrow.meter.hold"] = pulled, []
    asked = 0

    def person(key: str) -> bool | str | None:
        nonlocal asked
        asked += key == "borrow.empty"
        if asked == 2:
            pulled[:] = HANDS["borrow.empty"]
        return bench.answered(key)

    bench.answers = person
    ended = await bench.borrowed()

    assert (2, JobResult(Verdict.PASS)) == (asked, ended.result)
    assert "Not empty" in bench.desk.told


async def test_an_endstop_that_is_not_back_leaves_an_item_of_class_a(tmp_path: Path) -> None:
    """Its plug was left out: the prediction stands in the record, and the run is no pass."""
    bench = BorrowBench(tmp_path)
    bench.hands["borrow.back"] = [("plug-into", "runout")]
    ended = await bench.borrowed()

    assert JobResult(Verdict.NOT_JUDGED) == ended.result
    assert not bench.desk.findings[SocketHandedBack].proven
    assert ["The endstop x_max is not proven to work again. Nobody may home or move the printer."] == bench.unsafe


@pytest.mark.parametrize("at", ["borrow.rest", "borrow.lay", "borrow.ready", "trial.insert", "borrow.back"])
async def test_whatever_breaks_it_off_warns_of_the_endstop(tmp_path: Path, at: str) -> None:
    """A stop while the endstop is away leaves an item of class A that only its hold point settles."""
    bench = BorrowBench(tmp_path)
    bench.desk.stop_at = at
    ended = await bench.borrowed()

    assert Outcome.STOPPED is ended.outcome
    assert ["borrow.back"] == [item.settled_by for item in bench.desk.items if item.grade is PunchClass.UNSAFE]
    assert "Plug the endstop's cable into it as it sat before." in bench.desk.items[-1].cure


async def test_a_stop_at_the_last_press_leaves_it_unproven(tmp_path: Path) -> None:
    """The endstop is back, and nobody has seen it work."""
    bench = BorrowBench(tmp_path)

    def person(key: str) -> bool | str | None:
        if key == "borrow.back":
            bench.desk.stop_at = "borrow.press"
        return bench.answered(key)

    bench.answers = person
    ended = await bench.borrowed()

    assert Outcome.STOPPED is ended.outcome
    assert ["The endstop x_max is not proven to work again. Nobody may home or move the printer."] == bench.unsafe


async def test_a_supply_that_the_switch_shorts_is_said_to_be_one(tmp_path: Path) -> None:
    """The board goes down while the sensor is in the socket: stop, unplug, and the endstop is still away."""
    bench = BorrowBench(tmp_path, "supply-short", name=SOCKET)
    ended = await bench.borrowed()

    assert Outcome.COMPLETE is not ended.outcome
    assert any("may be unplugged. Nobody may home" in text for text in bench.unsafe)


async def test_a_meter_that_finds_a_short_plugs_nothing_in(tmp_path: Path) -> None:
    """The endstop goes back at once; the socket is not borrowed."""
    bench = BorrowBench(tmp_path)
    bench.said |= {"meter.supply_ground_in": "joined", "meter.again": "stands"}
    ended = await bench.borrowed()

    assert Verdict.NOT_JUDGED is (ended.result and ended.result.verdict)
    assert "borrow.plug" not in bench.desk.asked
    assert bench.desk.findings[SocketHandedBack].proven


@pytest.mark.parametrize("what", ["probe", "driver", "unknown"])
async def test_what_is_no_plain_end_switch_is_never_borrowed(tmp_path: Path, what: str) -> None:
    """Nothing is unplugged for it."""
    bench = BorrowBench(tmp_path)
    bench.said["borrow.on_it"] = what
    ended = await bench.borrowed()

    assert JobResult(Verdict.NOT_JUDGED) == ended.result
    assert [] == [key for key in bench.desk.asked if key in HANDS and not key.startswith("trial")]


@pytest.mark.parametrize(
    ("key", "answer"),
    [
        ("borrow.socket", "none"),
        ("borrow.nobody_homes", False),
        ("wiring.contact", "unknown"),
        ("wiring.sensor", "push-pull"),
    ],
)
async def test_without_what_it_takes_nothing_is_unplugged(tmp_path: Path, key: str, answer: bool | str) -> None:
    """No socket, a printer that may be moved, a wiring nobody knows, a sensor that drives both ways."""
    bench = BorrowBench(tmp_path)
    bench.said |= {key: answer, "wiring.output-when-in": "low"}
    ended = await bench.borrowed()

    assert JobResult(Verdict.NOT_JUDGED) == ended.result
    assert "borrow.empty" not in bench.desk.asked
    assert [PunchClass.INCOMPLETE] == [item.grade for item in bench.desk.items]


@pytest.mark.parametrize(
    ("behaviour", "fail_safe", "said"),
    [
        (SwitchBehaviour.DIRECT, FailSafe.SAFE, "As predicted on the borrowed socket x_max: direct, and fail-safe."),
        (
            SwitchBehaviour.INVERTED,
            FailSafe.DANGER,
            "Not as predicted on the borrowed socket x_max: the check came out inverted and fail-to-danger. Look first "
            "at the level at no filament (high) and at the pull of the input in the build.",
        ),
        (SwitchBehaviour.DIRECT, FailSafe.NOT_TESTED, None),
        (SwitchBehaviour.UNDECIDED, FailSafe.SAFE, None),
    ],
)
async def test_an_installation_is_held_against_the_prediction(
    tmp_path: Path, behaviour: SwitchBehaviour, fail_safe: FailSafe, said: str | None
) -> None:
    """One sentence, where both the polarity and the unplugged input were tested; none else."""
    bench = BorrowBench(tmp_path)
    await bench.borrowed()
    phase = ScriptedPhase(recalled=[bench.desk.findings[BorrowPredicted]])
    found = phase.play(held_against_prediction(behaviour, fail_safe)).findings.get(AsPredicted)

    assert said == (found and found.sentences[0])


def test_without_a_prediction_nothing_is_held_against_it() -> None:
    """Most printers never had a socket borrowed."""
    played = ScriptedPhase().play(held_against_prediction(SwitchBehaviour.DIRECT, FailSafe.SAFE))

    assert None is played.findings.get(AsPredicted)


async def test_conditions_shown_stand_among_those_of_the_reflash(tmp_path: Path) -> None:
    """The hold point of a reflash lists what the borrowed socket showed behind the usual conditions."""
    bench = BorrowBench(tmp_path)
    await bench.borrowed()
    phase = ScriptedPhase(recalled=[bench.desk.findings[BorrowPredicted]])
    lines = phase.play(listed_conditions(("the usual one",))).result

    assert "- the usual one" == lines[1]
    assert lines[2].startswith("- shown on the borrowed socket: Level at no filament: high, because")
    assert 5 == len(lines)
