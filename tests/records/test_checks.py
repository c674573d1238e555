"""What the runs of a printer measured, and the run that can be taken up again."""

from pathlib import Path

import pytest

from commission.dialect.commands import Effect
from commission.evidence.entry import Entry
from commission.evidence.findings.base import Finding
from commission.evidence.findings.function import Pause
from commission.evidence.findings.loop import Polarity, Wiggle, WiggleLeftOut, WiggleSetAside
from commission.evidence.findings.meeting import PrinterIdentity, Repair
from commission.evidence.findings.reported import SwitchesAsFound
from commission.evidence.findings.settings import SettingsAsFound
from commission.evidence.measured import Trial
from commission.evidence.runs import REWIRING, RunResumed
from commission.evidence.soaked import Changed, SoakStretch
from commission.evidence.talk import HoldReleased, Punched
from commission.evidence.wire import Intent
from commission.judge.nuisance import Around
from commission.records.checks import check_records, exposed_now, history_before, last_switch, wiring_now
from commission.records.continuation import broken_off
from commission.records.history import runs
from commission.records.notes import add_note
from commission.records.open_items import open_items, still_open
from commission.records.trend import trends
from commission.vocabulary import Outcome, Presence, PunchClass, Reading, SwitchBehaviour
from tests.records.books import Workshop
from tests.support.made import made, on_record

RUN = "bench-3/2031-03-14/1"


@pytest.fixture
def workshop(tmp_path: Path) -> Workshop:
    """An empty book."""
    return Workshop(tmp_path)


def test_trials_are_counted_from_their_readings(workshop: Workshop) -> None:
    """Misreads, settle times and unwanted changes come from the readings; a voided trial is left out."""
    workshop.begin(RUN)
    workshop.find(RUN, Polarity, behaviour=SwitchBehaviour.DIRECT)
    workshop.find(RUN, PrinterIdentity, firmware_name="ExampleFW 102.1")
    chatter = ["inactive", "active", "inactive", "active"] + ["active"] * 5
    workshop.trial(RUN, Presence.IN, chatter)
    workshop.trial(RUN, Presence.OUT, ["active"] * 3 + ["inactive"] * 6)
    workshop.trial(RUN, Presence.OUT, ["active"] * 9)
    workshop.trial(RUN, Presence.OUT, ["active"] * 9, void="the filament slipped")
    workshop.trial(RUN, Presence.OUT, ["inactive"] * 3 + ["active"] + ["inactive"] * 5, moved=False)
    workshop.end(RUN)

    (record,) = check_records(workshop.book, "bench-3")
    measured = record.measured

    assert SwitchBehaviour.DIRECT is record.behaviour
    assert (1, 0, 2, 1) == (measured.in_trials, measured.in_misreads, measured.out_trials, measured.out_misreads)
    assert [0.2, 0.0] == pytest.approx(measured.settle_s)
    assert 2 == measured.unwanted_changes
    assert "ExampleFW 102.1" == measured.firmware
    assert pytest.approx(0.1) == measured.poll_gap_s
    assert "filament" == last_switch(workshop.book, "bench-3")


def test_a_phase_carried_out_twice_counts_as_it_was_the_second_time(workshop: Workshop) -> None:
    """Trials of a phase that was broken off and carried out again are not pooled with those that were judged."""
    workshop.begin(RUN)
    workshop.find(RUN, Polarity, behaviour=SwitchBehaviour.DIRECT)
    workshop.phase(RUN, "proof_test", ended=False)
    workshop.trial(RUN, Presence.IN, ["inactive"] * 9)
    workshop.trial(RUN, Presence.OUT, ["inactive"] * 9)
    workshop.phase(RUN, "proof_test", ended=False)
    workshop.trial(RUN, Presence.IN, ["active"] * 9)
    workshop.end(RUN)
    (record,) = check_records(workshop.book, "bench-3")

    assert (1, 0) == (record.measured.in_trials, record.measured.in_misreads)
    assert 0 == record.measured.out_trials


def test_an_unplugged_input_may_change(workshop: Workshop) -> None:
    """Readings of an unplugged sensor, or of a look before the wiggle, are no unwanted changes; a wiggle's are."""
    workshop.begin(RUN)
    chatter = ["active" if i % 2 else "inactive" for i in range(11)]
    workshop.watch(RUN, "unplugged.1", chatter, 2.0)
    workshop.watch(RUN, "wiggle.before", chatter)
    workshop.watch(RUN, "wiggle", chatter[:3], 0.2)
    workshop.end(RUN)

    (record,) = check_records(workshop.book, "bench-3")

    assert (2, pytest.approx(0.2)) == (record.measured.unwanted_changes, record.measured.watched_s)


def test_rewiring_makes_another_wiring(workshop: Workshop) -> None:
    """A noted rewiring and a recorded repair each begin another wiring; of another printer they do not matter."""
    workshop.whole_run(RUN)
    add_note(workshop.book, "bench-4", REWIRING, "another printer")
    before = wiring_now(workshop.book, "bench-3")
    add_note(workshop.book, "bench-3", REWIRING, "new cable")
    workshop.whole_run("bench-3/2031-03-14/2")
    workshop.find("bench-3/2031-03-14/3", Repair, repair="change the contact")
    workshop.whole_run("bench-3/2031-03-14/3")
    first, second, third = (record.measured.wiring for record in check_records(workshop.book, "bench-3"))

    assert before == first
    assert wiring_now(workshop.book, "bench-3") == third
    assert 3 == len({first, second, third})


def test_the_history_ends_before_the_run(workshop: Workshop) -> None:
    """Only completed runs before the one named count as its history."""
    workshop.whole_run(RUN)
    workshop.begin("bench-3/2031-03-14/2")
    workshop.trial("bench-3/2031-03-14/2", Presence.IN, ["active"] * 9)
    workshop.end("bench-3/2031-03-14/2", outcome="link lost")
    workshop.whole_run("bench-3/2031-03-14/3")

    assert 1 == len(history_before(workshop.book, "bench-3", "bench-3/2031-03-14/3"))
    assert 2 == len(history_before(workshop.book, "bench-3"))


def test_a_later_check_changes_no_earlier_trend(workshop: Workshop) -> None:
    """The trend drawn up to a run is the same after more runs."""
    workshop.whole_run(RUN)
    before = trends(workshop.book, "bench-3", RUN)
    workshop.whole_run("bench-3/2031-03-14/2")

    assert before == trends(workshop.book, "bench-3", RUN)
    assert ("2031-03-14", "2031-03-14 (2)") == trends(workshop.book, "bench-3")[0].labels


def test_a_trend_tells_each_condition_for_itself(workshop: Workshop) -> None:
    """Soaks at rest, moving and in a print: each bound from its own exposure, and a run without one leaves a gap.

    Values: chi-square of 2 (c + 1) degrees at 95 %, halved, for an hour: 2.996 without a change, 4.744 with one.
    """
    workshop.whole_run(RUN)
    soaked = {Around.AT_REST: 0, Around.MOVING: 0, Around.PRINTING: 1}
    run = "bench-3/2031-03-14/2"
    workshop.begin(run, "soak")
    for around, changes in soaked.items():
        changed = (Changed(1.0, 1.1, Reading.INACTIVE),) * changes
        stretch = SoakStretch(
            began_s=0.0, ended_s=3600.0, around=around, repeated=(), changes=changed, exposure_s=3600.0
        )
        workshop.book.append(run, stretch)
    workshop.end(run)

    found = {trend.title: trend.values for trend in trends(workshop.book, "bench-3")}

    assert pytest.approx(2.996, abs=0.001) == found["Unwanted changes, at most"][-1]
    assert [None, pytest.approx(2.996, abs=0.001)] == list(found["Unwanted changes beside moving motors, at most"])
    assert [None, pytest.approx(4.744, abs=0.001)] == list(found["Unwanted changes in a print, at most"])


def test_a_broken_off_run_keeps_its_done_phases(workshop: Workshop) -> None:
    """The phases that ended count; the one inside which it broke off, and those done each time, do not."""
    workshop.begin(RUN)
    workshop.phase(RUN, "identify")
    workshop.phase(RUN, "as_found", switch="filament")
    workshop.find(RUN, SwitchesAsFound, switches=())
    workshop.phase(RUN, "loop_check", ended=False)
    workshop.end(RUN, "not judged", "link lost", "Not finished: the link was lost")
    found = broken_off(workshop.book, "bench-3", "install")

    assert found is not None
    assert ("as_found",) == tuple(found.done)
    assert (RUN, "Not finished: the link was lost") == (found.number, found.why)
    assert found.newest(SwitchesAsFound) == (6, SwitchesAsFound(sentences=("Found.",), switches=()))


def test_a_killed_run_is_broken_off_too(workshop: Workshop) -> None:
    """A run without a last entry is offered as well, with the plain reason."""
    workshop.begin(RUN)
    workshop.phase(RUN, "as_found")
    found = broken_off(workshop.book, "bench-3", "install")

    assert found is not None
    assert "stopped" in found.why


@pytest.mark.parametrize("done", [(), ("identify", "same_printer")])
def test_a_run_without_a_done_phase_is_not_offered(workshop: Workshop, done: tuple[str, ...]) -> None:
    """There is nothing to go on from where only what is done each time was done."""
    workshop.begin(RUN)
    for name in done:
        workshop.phase(RUN, name)

    assert broken_off(workshop.book, "bench-3", "install") is None


def test_only_the_newest_run_of_the_purpose_is_offered(workshop: Workshop) -> None:
    """A complete run after it ends the offer; a check of another purpose does not."""
    workshop.begin(RUN)
    workshop.phase(RUN, "as_found")
    workshop.whole_run("bench-3/2031-03-14/2", "brief check")

    assert broken_off(workshop.book, "bench-3", "install") is not None
    workshop.whole_run("bench-3/2031-03-14/3", "install")
    assert broken_off(workshop.book, "bench-3", "install") is None


@pytest.mark.parametrize("later", ["install", "brief check", "full check"])
@pytest.mark.parametrize("purpose", ["brief check", "full check"])
def test_a_broken_off_check_is_past_once_the_printer_was_tested_since(
    workshop: Workshop, purpose: str, later: str
) -> None:
    """What a check showed is how the printer was then; after a later test with hands it is not taken up again."""
    workshop.begin(RUN, purpose)
    workshop.phase(RUN, "proof_test", switch="filament")
    workshop.whole_run("bench-3/2031-03-14/2", "condition check")
    before = broken_off(workshop.book, "bench-3", purpose)
    workshop.whole_run("bench-3/2031-03-14/3", later)

    assert before is not None
    assert broken_off(workshop.book, "bench-3", purpose) is None


@pytest.mark.parametrize("done", ["condition_check", "judgement"])
def test_what_a_check_does_each_time_is_nothing_to_go_on_from(workshop: Workshop, done: str) -> None:
    """A check that only looked, or only judged, begins from the start."""
    workshop.begin(RUN, "brief check")
    workshop.phase(RUN, done)

    assert broken_off(workshop.book, "bench-3", "brief check") is None


def test_a_run_that_never_reached_the_printer_hides_none(workshop: Workshop) -> None:
    """An attempt on a port that could not be opened leaves the broken-off run before it on offer."""
    workshop.begin(RUN)
    workshop.phase(RUN, "as_found")
    workshop.begin("bench-3/2031-03-14/2")
    workshop.end("bench-3/2031-03-14/2", "not judged", "not connected", "Not finished: the printer was not reached")
    found = broken_off(workshop.book, "bench-3", "install")

    assert found is not None
    assert RUN == found.number


def test_a_run_taken_up_again_is_open_until_it_ends(workshop: Workshop) -> None:
    """What it came to the first time no longer counts once it is taken up again; its own end does."""
    workshop.begin(RUN)
    workshop.phase(RUN, "as_found")
    workshop.end(RUN, "not judged", "stopped by the operator")
    outcomes = [runs(workshop.book)[0].outcome]
    workshop.book.append(RUN, RunResumed(number=RUN, tag="bench-3", purpose="install"))
    outcomes.append(runs(workshop.book)[0].outcome)
    workshop.end(RUN)
    outcomes.append(runs(workshop.book)[0].outcome)

    assert [Outcome.STOPPED, Outcome.BROKEN_OFF, Outcome.COMPLETE] == outcomes


def test_what_a_run_changed_itself_is_told_from_what_it_read(workshop: Workshop) -> None:
    """The place of the last command that did more than ask, and of each finding, are known."""
    workshop.begin(RUN)
    workshop.phase(RUN, "as_found")
    workshop.find(RUN, SettingsAsFound, digest="d")
    workshop.book.append(RUN, Intent(command="x", purpose="", effect=Effect.SETTING))
    workshop.book.append(RUN, Intent(command="y", purpose="", effect=Effect.READ_ONLY))
    found = broken_off(workshop.book, "bench-3", "install")

    assert found is not None
    newest = found.newest(SettingsAsFound)
    assert newest is not None
    assert (5, 4) == (found.last_change, newest[0])


def test_what_is_open_is_what_nothing_since_has_looked_at(workshop: Workshop) -> None:
    """Its items, those of brief checks since and those of the newest installation stand, each once; others do not."""

    def run_with(number: str, purpose: str, *texts: str, outcome: str = "complete") -> None:
        workshop.begin(number, purpose)
        for text in texts:
            workshop.book.append(number, Punched(grade=PunchClass.INCOMPLETE, text=text, cure="Mend it."))
        workshop.end(number, outcome=outcome)

    run_with("bench-3/2031-03-13/1", "install", "long ago")
    run_with("bench-3/2031-03-14/1", "install", "no strain relief")
    run_with("bench-3/2031-03-14/9", "full check", "put right since")
    run_with("bench-3/2031-03-14/2", "full check", "a plug is not tied down")
    run_with("bench-3/2031-03-14/3", "brief check", "a plug is not tied down", "a worn lever")
    run_with("bench-3/2031-03-14/4", "brief check", "never finished", outcome="stopped by the operator")

    assert [
        "2031-03-14, class B: no strain relief",
        "2031-03-14, class B: a plug is not tied down",
        "2031-03-14, class B: a worn lever",
    ] == open_items(workshop.book, "bench-3")
    assert [] == open_items(workshop.book, "bench-9")


def test_what_was_found_before_the_first_test_is_open(workshop: Workshop) -> None:
    """A printer that was never tested has its items too: those of its first backup as well as of the next."""
    for number, text in (("bench-4/2031-03-14/1", "a backup with gaps"), ("bench-4/2031-03-14/2", "another one")):
        workshop.begin(number, "backup", "bench-4")
        workshop.book.append(number, Punched(grade=PunchClass.INCOMPLETE, text=text, cure="Back it up again."))
        workshop.end(number)

    assert [
        "2031-03-14, class B: a backup with gaps",
        "2031-03-14, class B: another one",
    ] == open_items(workshop.book, "bench-4")


def test_an_item_is_settled_by_the_hold_point_it_names_and_by_no_other() -> None:
    """What an unplug test left open is settled once the sensor is plugged in again; a later break opens it anew."""
    left = Punched(grade=PunchClass.UNSAFE, text="unplugged", settled_by="unplug.reconnect")
    other = Punched(grade=PunchClass.INCOMPLETE, text="label")
    told: list[Entry] = [other, left, HoldReleased(key="unplug.1"), HoldReleased(key="unplug.reconnect"), left]
    records = [on_record(entry, place) for place, entry in enumerate(told, 1)]

    assert [other, left] == [item.entry for item in still_open(records[:3])]
    assert [other] == [item.entry for item in still_open(records[:4])]
    assert [other, left] == [item.entry for item in still_open(records)]


@pytest.mark.parametrize("taken_back", [WiggleSetAside, WiggleLeftOut])
def test_a_wiggle_that_was_set_aside_is_no_part_of_the_history(workshop: Workshop, taken_back: type[Finding]) -> None:
    """What was read while the filament had slipped out is on record, and not held against later checks."""
    changing, steady = ["active"] * 30 + ["inactive"] * 30, ["active"] * 60
    workshop.begin(RUN)
    workshop.phase(RUN, "loop_check", ended=False)
    for readings, finding in ((changing, taken_back), (steady, Wiggle)):
        workshop.watch(RUN, "wiggle", readings, 5.0)
        workshop.find(RUN, finding)
    workshop.end(RUN)
    (record,) = check_records(workshop.book, "bench-3")

    assert (0, pytest.approx(5.9)) == (record.measured.unwanted_changes, record.measured.watched_s)


def test_the_last_switch_is_that_of_the_newest_trial(workshop: Workshop) -> None:
    """Whatever was tested before it; none where nothing was."""
    assert "" == last_switch(workshop.book, "bench-3")
    for number, switch in ((RUN, "left"), ("bench-3/2031-03-14/2", "right"), ("bench-3/2031-03-14/3", "middle")):
        workshop.begin(number)
        workshop.book.append(number, made(Trial, switch=switch))

    assert "middle" == last_switch(workshop.book, "bench-3")


@pytest.mark.parametrize(
    ("verdict", "passed"), [("pass", True), ("conditional pass", True), ("fail", False), ("not judged", False)]
)
def test_a_measurement_says_whether_its_run_passed(workshop: Workshop, verdict: str, *, passed: bool) -> None:
    """With or without a condition."""
    workshop.whole_run(RUN, verdict=verdict)
    (record,) = check_records(workshop.book, "bench-3")

    assert passed is record.measured.passed


def test_a_soak_counts_by_its_surroundings(workshop: Workshop) -> None:
    """At rest its time and changes are added to what was watched; moving or printing each stands apart."""
    changed = (Changed(1.0, 1.1, Reading.INACTIVE),)
    workshop.begin(RUN, "soak")
    for around, seconds in ((Around.AT_REST, 60.0), (Around.MOVING, 30.0), (Around.PRINTING, 15.0)):
        stretch = SoakStretch(
            began_s=0.0, ended_s=90.0, around=around, repeated=(), changes=changed, exposure_s=seconds
        )
        workshop.book.append(RUN, stretch)
    workshop.watch(RUN, "wiggle", ["active"] * 3, 0.2)
    workshop.end(RUN)
    (record,) = check_records(workshop.book, "bench-3")

    assert (1, pytest.approx(60.2)) == (record.measured.unwanted_changes, record.measured.watched_s)
    apart = [(each.around, each.seconds, each.changes) for each in record.measured.apart]
    assert [(Around.MOVING, 30.0, 1), (Around.PRINTING, 15.0, 1)] == apart
    told = {(each.around, each.seconds) for each in exposed_now(workshop.book, "bench-3")}
    assert {(Around.AT_REST, 60.0), (Around.MOVING, 30.0), (Around.PRINTING, 15.0)} <= told


def test_a_pause_alone_is_a_history_too(workshop: Workshop) -> None:
    """A completed run that measured the time to the pause and no trial; one that measured nothing is none."""
    workshop.begin(RUN, "function")
    workshop.find(RUN, Pause, announced_after_s=1.5)
    workshop.end(RUN)
    workshop.begin("bench-3/2031-03-14/2")
    workshop.end("bench-3/2031-03-14/2")

    assert [1.5] == [each.time_to_pause_s for each in history_before(workshop.book, "bench-3")]
