"""What a periodic check judges, and what it must leave open."""

from dataclasses import replace
from datetime import date

import pytest

from commission.asking.response import TimedReading, TrialTaken, WatchTaken
from commission.dialect.identity import Identity
from commission.dialect.runout import RunoutControl
from commission.jobs.check import kind_of, missing_of_full
from commission.judge.acceptance import Criterion
from commission.judge.condition import Measured
from commission.judge.failsafe import UnpluggedResult
from commission.judge.plan import Plan
from commission.judge.polarity import look
from commission.judge.power import PowerSeen
from commission.judge.schedule import Prompt
from commission.judge.trial import TimedTrial
from commission.judge.trial_series import SeriesSoFar
from commission.link.identity import PortIdentity
from commission.procedure.check.condition import (
    Condition,
    Subject,
    firmware_criterion,
    identity_criterion,
    open_items,
    restart_criterion,
    watching_criterion,
)
from commission.procedure.check.criteria import Worked, criteria_of
from commission.procedure.loop.trials import Series
from commission.procedure.meeting.identity import Match, PrinterMarks, SamePrinter, Surroundings
from commission.vocabulary import Instruction, Presence, PunchClass, Reading, Verdict
from tests.support.scripted_phase import ScriptedPhase

PORT = PortIdentity("", "", "", "socket://127.0.0.1:7000")
SUBJECT = Subject(Surroundings("bench-3", PORT), "R. Okafor", date(2031, 3, 14), Plan(seed=1, cycles=6))
ON = RunoutControl(supported=True, enabled=True, host_handling=False)
OFF = replace(ON, enabled=False)
TO_HOST = replace(ON, host_handling=True)
SILENT = RunoutControl()


def readings(reading: Reading, count: int = 21) -> tuple[TimedReading, ...]:
    """So many readings, ten a second."""
    return tuple(TimedReading(0.1 * i, reading, "word") for i in range(count))


def worked(*, misreads: int = 0, wiggle: Reading = Reading.ACTIVE, **more: object) -> Worked:
    """Six cycles and a wiggle; so many of the last withdrawals are misread."""
    series = Series()
    for move in range(12):
        presence = Presence.OUT if move % 2 else Presence.IN
        reading = (
            Reading.ACTIVE if presence is Presence.IN or (misreads and move >= 12 - 2 * misreads) else Reading.INACTIVE
        )
        instruction = Instruction.INSERT if presence is Presence.IN else Instruction.WITHDRAW
        taken = TrialTaken((), readings(reading))
        series.taken.append((Prompt(instruction, presence, 1 + move // 2), taken))
        series.tally.add(TimedTrial(presence, True, (), taken.dwell))
    series.cycles = 6
    series.finding = look(series.results, cycles_done=6)
    watched = WatchTaken(readings(wiggle, 601), 60.0, 0.1)
    return Worked(series, watched, **more)  # type: ignore[arg-type]


def power_up(reading: Reading) -> UnpluggedResult:
    """One power-up with the sensor unplugged, after a power-off that was seen."""
    return UnpluggedResult((reading,) * 105, watched=True, power=PowerSeen.POWER_OFF)


CONDITION = Condition(Identity(firmware_name="ExampleFW"), "filament", ON)


def verdicts(subject: Subject = SUBJECT, hands: Worked | None = None) -> dict[str, Verdict]:
    """The verdict of each criterion."""
    return {each.name: each.verdict for each in criteria_of(subject, CONDITION, hands or Worked())}


def test_a_clean_brief_check_leaves_open_what_it_cannot_know() -> None:
    """Six clean cycles and a steady wiggle pass; restart, unplugged wire and pause are not judged."""
    found = verdicts(hands=worked())

    passed = {"polarity", "wiggle", "misreads", "steadiness", "trials set aside"}
    assert passed == {name for name, verdict in found.items() if verdict is Verdict.PASS}
    assert {"runout detection after a restart", "unplugged", "pause", "time to pause"} <= {
        name for name, verdict in found.items() if verdict is Verdict.NOT_JUDGED
    }


def test_without_hands_nothing_of_the_switch_is_judged() -> None:
    """An unattended check says nothing of misreads, polarity or wiggle."""
    assert {Verdict.NOT_JUDGED} == set(verdicts().values())


@pytest.mark.parametrize(("misreads", "verdict"), [(1, Verdict.NOT_JUDGED), (2, Verdict.FAIL)])
def test_the_second_misread_fails_the_check(misreads: int, verdict: Verdict) -> None:
    """One misread withdrawal may be a slip, and takes more trials than six; the second is a fail."""
    assert verdict is verdicts(hands=worked(misreads=misreads))["misreads"]


def test_a_series_that_failed_already_fails_the_check() -> None:
    """Without a change on record the fail of an earlier run stands, however clean this one is."""
    hands = worked()
    assert hands.series is not None
    hands.series.tally.so_far = SeriesSoFar(runs=("bench-3/2031-03-01/1",), came_to=Verdict.FAIL)

    assert Verdict.FAIL is verdicts(hands=hands)["series of trials"]


def test_a_steady_wrong_wiggle_fails() -> None:
    """A wiggle that reads out all the time although the filament is in is no pass."""
    found = verdicts(hands=worked(wiggle=Reading.INACTIVE))

    assert (Verdict.FAIL, Verdict.PASS) == (found["wiggle"], found["steadiness"])


@pytest.mark.parametrize(("reading", "verdict"), [(Reading.INACTIVE, Verdict.PASS), (Reading.ACTIVE, Verdict.FAIL)])
def test_an_unplugged_input_reads_out(reading: Reading, verdict: Verdict) -> None:
    """In a full check the unplugged input must read out in both power-ups."""
    unplugged = (power_up(reading),) * 2

    assert verdict is verdicts(hands=worked(unplugged=unplugged))["unplugged"]


@pytest.mark.parametrize(("reading", "verdict"), [(Reading.INACTIVE, Verdict.PASS), (Reading.ACTIVE, Verdict.FAIL)])
def test_a_plug_pulled_at_the_sensor_is_judged_where_it_was_pulled(reading: Reading, verdict: Verdict) -> None:
    """A cable that holds the line by itself fails a check; where nobody pulled that plug there is no such criterion."""
    found = verdicts(hands=worked(at_sensor=power_up(reading)))

    assert verdict is found["unplugged at the sensor"]
    assert "unplugged at the sensor" not in verdicts(hands=worked())


@pytest.mark.parametrize(
    ("runout", "verdict"),
    [(ON, Verdict.PASS), (OFF, Verdict.FAIL), (TO_HOST, Verdict.FAIL), (SILENT, Verdict.NOT_JUDGED)],
)
def test_watching_must_be_on(runout: RunoutControl, verdict: Verdict) -> None:
    """Off, or left to a host, is a fail; unsaid is not judged; after a restart the same holds."""
    assert verdict is watching_criterion(runout).verdict
    assert verdict is restart_criterion(runout, seen=True).verdict


def test_what_is_stored_is_known_after_a_restart_only() -> None:
    """Without a restart it is not judged, and the reason is said."""
    criterion = restart_criterion(None, seen=True)

    assert Verdict.NOT_JUDGED is criterion.verdict
    assert "not restarted" in criterion.observed


@pytest.mark.parametrize(("runout", "verdict"), [(ON, Verdict.NOT_JUDGED), (OFF, Verdict.FAIL)])
def test_a_restart_that_nobody_saw_shows_nothing_stored(runout: RunoutControl, verdict: Verdict) -> None:
    """That it is on then tells nothing of the memory; that it is off is a fail all the same."""
    criterion = restart_criterion(runout, seen=False)

    assert verdict is criterion.verdict
    assert ("not seen to begin anew" in criterion.observed) is (verdict is Verdict.NOT_JUDGED)


@pytest.mark.parametrize(
    ("match", "verdict"),
    [
        (Match.FIRST, Verdict.NOT_JUDGED),
        (Match.SAME, Verdict.PASS),
        (Match.SAME_PLACE, Verdict.PASS),
        (Match.UNCLEAR, Verdict.CONDITIONAL),
        (Match.DIFFERENT, Verdict.CONDITIONAL),
    ],
)
def test_identity_counts_as_far_as_it_is_told(match: Match, verdict: Verdict) -> None:
    """What only the operator vouches for is conditional."""
    assert verdict is identity_criterion(SamePrinter(PrinterMarks(PORT), match)).verdict


def test_another_firmware_calls_for_a_full_check() -> None:
    """In a brief check it is conditional, a full check tests it anew, and without a record it is not judged."""
    changed = SamePrinter(PrinterMarks(PORT, firmware="ExampleFW 3"), Match.SAME, firmware_changed=True)

    assert Verdict.CONDITIONAL is firmware_criterion(SUBJECT, changed).verdict
    assert Verdict.PASS is firmware_criterion(replace(SUBJECT, full=True), changed).verdict
    assert Verdict.NOT_JUDGED is firmware_criterion(SUBJECT, SamePrinter(PrinterMarks(PORT), Match.FIRST)).verdict


def test_a_run_that_only_met_the_new_firmware_has_not_tested_it() -> None:
    """After a reflash and a backup the marks on record are the new ones; the last trials were made on the old one."""
    met = SamePrinter(PrinterMarks(PORT, firmware="ExampleFW 3"), Match.SAME, firmware_changed=False)
    tested = replace(SUBJECT, history=(Measured("2031-01-01", firmware="ExampleFW 2"),))
    again = replace(SUBJECT, history=(*tested.history, Measured("2031-02-01", firmware="ExampleFW 3")))

    assert Verdict.CONDITIONAL is firmware_criterion(tested, met).verdict
    assert Verdict.PASS is firmware_criterion(again, met).verdict


def test_a_full_check_is_none_without_its_parts() -> None:
    """What a full check adds and did not judge is named; a brief check is not held to it."""
    criteria = [Criterion(name, "", "", Verdict.NOT_JUDGED) for name in ("pause", "misreads", "unplugged")]

    assert ("unplugged", "pause") == missing_of_full(replace(SUBJECT, full=True), criteria)
    assert () == missing_of_full(SUBJECT, criteria)


def test_open_items_follow_the_verdicts() -> None:
    """A fail is an item of class A, a conditional one of class B, each with a cure; the others leave none."""
    criteria = [Criterion(str(verdict), "rule", "seen", verdict) for verdict in Verdict]
    played = ScriptedPhase().play(open_items(criteria))

    assert {PunchClass.UNSAFE, PunchClass.INCOMPLETE} == {item.grade for item in played.items}
    assert all(item.cure for item in played.items)


def test_a_power_off_that_was_not_seen_leaves_an_item_of_its_own() -> None:
    """The unplug test is then conditional, and the item says how to have it seen; a fail keeps the usual cure."""
    told = replace(power_up(Reading.INACTIVE), power=PowerSeen.WORD)
    found = criteria_of(SUBJECT, CONDITION, worked(unplugged=(told, told)))
    items = {item.text.partition(":")[0]: item for item in ScriptedPhase().play(open_items(found)).items}

    assert PunchClass.INCOMPLETE is items["Unplugged"].grade
    assert "its lights go out" in items["Unplugged"].cure


def test_each_kind_of_check_has_its_name() -> None:
    """The name in the record says what was part of it."""
    assert "brief check" == kind_of(SUBJECT)
    assert "full check" == kind_of(replace(SUBJECT, full=True))
    assert "condition check" == kind_of(replace(SUBJECT, unattended=True))
