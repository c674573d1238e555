"""The function test on the simulated units: each gets its verdict and its gate, by the bytes on its line."""

from pathlib import Path

import pytest

from commission.asking.replay import played_back
from commission.asking.response import InterruptionKind
from commission.asking.steps import Steps
from commission.conductor.conductor import Ended
from commission.conductor.made_safe import Doing
from commission.dialect.identity import Identity
from commission.evidence.findings.function import (
    EnabledAfterPower,
    FilamentChanged,
    FunctionTest,
    LongWait,
    Pause,
    PowerCycle,
    RealRunout,
    WireWord,
)
from commission.evidence.findings.gates import Gates
from commission.evidence.measured import Moves
from commission.evidence.talk import ReleaseAsked
from commission.jobs.function import function_run
from commission.jobs.install import JobResult
from commission.judge.volume import cross_section_mm2
from commission.link.identity import PortIdentity
from commission.procedure.function.change_over import ANSWERS_WITHIN_S
from commission.procedure.function.function_test import FUNCTION_TEST, function_test
from commission.procedure.function.plan import BLOCK_S, FunctionPlan, Mode
from commission.procedure.function.verdict import FunctionTested
from commission.procedure.meeting.identify import identify
from commission.procedure.meeting.identity import PrinterMarks, Surroundings
from commission.records.answers import given_in
from commission.vocabulary import Outcome, PunchClass, Reading, Verdict
from fake_printer.printer import Printer
from fake_printer.profile import load_profile
from tests.support.device_bench import RUN, DeviceBench
from tests.support.installed import UNKNOWN
from tests.support.made import begun
from tests.support.sweeps import a_part, a_part_of_pairs

MOTION = ("G0", "G1", "G28", "M600")
HEAT = ("M104 S2", "M109", "M140 S6", "M190")
SAVE = ("M500", "M501", "M502")


async def function_job(bench: DeviceBench, mode: Mode = Mode.DRY, **plan: object) -> Ended[JobResult]:
    """The whole job on this bench."""
    return await bench.run(
        function_run(FunctionPlan(mode=mode, leftover_max_mm=22, **plan), "R. Okafor", UNKNOWN.surroundings)  # type: ignore[arg-type]
    )


def bench_of(unit: str, folder: Path, *, gear_free: bool = True) -> DeviceBench:
    """A bench with this unit; in a cold test its drive gear is free."""
    bench = DeviceBench(Printer(load_profile(unit)), folder)
    if gear_free:
        bench.printer.perform("free-gear")
    return bench


def shut_gate(bench: DeviceBench) -> str:
    """The gate that the record names as the finding."""
    return bench.desk.findings[Gates].first_shut


JUDGED = [
    ("sound", Verdict.CONDITIONAL, ""),
    ("not-compiled-in", Verdict.FAIL, "support"),
    ("watching-off", Verdict.FAIL, "watching"),
    ("off-after-power-up", Verdict.FAIL, "after_power"),
    ("host-alone", Verdict.FAIL, "not_host_alone"),
    ("leftover-too-long", Verdict.FAIL, "leftover"),
    ("heats-by-itself", Verdict.CONDITIONAL, ""),
    ("double-change", Verdict.FAIL, ""),
    ("second-trip-silent", Verdict.CONDITIONAL, ""),
    ("latch-stays", Verdict.FAIL, "not_latched"),
    ("starts-empty", Verdict.FAIL, ""),
    ("checks-at-start", Verdict.CONDITIONAL, ""),
    ("display-only", Verdict.CONDITIONAL, ""),
    ("keepalives-silenced", Verdict.CONDITIONAL, ""),
    ("inverted-right-contact", Verdict.FAIL, ""),
]
"""The unit, what a cold test of it comes to, and the first gate that is shut."""


@pytest.mark.swept
@pytest.mark.parametrize(("unit", "verdict", "gate"), a_part(JUDGED, one_in=3))
async def test_each_unit_gets_its_verdict_and_its_gate(tmp_path: Path, unit: str, verdict: Verdict, gate: str) -> None:
    """A cold test names the first shut gate, or what failed; without a real runout the best is a conditional pass."""
    bench = bench_of(unit, tmp_path)

    ended = await function_job(bench)

    assert Outcome.COMPLETE is ended.outcome
    assert ended.result is not None
    assert (verdict, gate) == (ended.result.verdict, shut_gate(bench))
    assert (verdict is Verdict.FAIL) == any(item.grade is PunchClass.UNSAFE for item in bench.desk.items)


@pytest.mark.parametrize(
    ("unit", "said"),
    [
        ("host-alone", "The first shut gate: 'the board itself pauses'."),
        ("sound", "No gate is shut; 5 of 11 not known."),
    ],
)
async def test_the_gates_are_summed_up_first(tmp_path: Path, unit: str, said: str) -> None:
    """The finding on the gates begins with the first shut one, or with how many are not known."""
    bench = bench_of(unit, tmp_path)
    bench.answers = lambda key: False if key in ("function.release", "function.power.now") else None

    await function_job(bench)

    assert bench.desk.findings[Gates].sentences[0].startswith(said)


async def test_a_printer_that_cannot_be_answered_is_not_moved(tmp_path: Path) -> None:
    """Without display and emergency words it would wait for ever: the gate is shut and nothing moves."""
    bench = bench_of("no-way-to-continue", tmp_path)
    bench.answers = lambda key: False if key == "gates.display" else None

    ended = await function_job(bench)

    assert ended.result is not None
    assert (Verdict.FAIL, "answer") == (ended.result.verdict, shut_gate(bench))
    assert [] == [line for line in bench.received if line.startswith(MOTION)]


async def test_a_host_job_that_the_board_knows_nothing_of_does_not_pause(tmp_path: Path) -> None:
    """Moves streamed without the job timer run on: the gate is that the board knows of no job."""
    bench = bench_of("sound", tmp_path)

    ended = await function_job(bench, Mode.HOST)

    assert ended.result is not None
    assert (Verdict.FAIL, "job") == (ended.result.verdict, shut_gate(bench))
    assert "No runout was announced either." in bench.desk.findings[Pause].sentences
    assert "M75" not in bench.received


async def test_a_warm_test_with_everything_in_it_passes(tmp_path: Path) -> None:
    """Three pauses, a real runout, an empty start, a long wait and a power cycle are a pass."""
    bench = bench_of("nozzle-cools", tmp_path, gear_free=False)

    ended = await function_job(bench, Mode.WARM)

    assert ended.result is not None
    assert Verdict.PASS is ended.result.verdict
    assert ["C"] == [item.grade.value for item in bench.desk.items]  # a real print was not looked at
    assert bench.desk.findings[LongWait].reason == "the nozzle was left to cool and heated again."
    assert bench.received.index("M155 S5") < bench.received.index("M104 S200")


async def test_fewer_pauses_than_three_are_no_pass(tmp_path: Path) -> None:
    """A pass takes three provoked pauses and a real runout (common practice, no source); a shorter plan limits it."""
    bench = bench_of("nozzle-cools", tmp_path, gear_free=False)

    ended = await function_job(bench, Mode.WARM, pauses=2)

    assert ended.result is not None
    assert Verdict.CONDITIONAL is ended.result.verdict
    assert "2 pauses planned: a pass takes 3 and a real runout." in bench.desk.findings[FunctionTest].sentences


async def test_the_release_of_heat_names_the_material(tmp_path: Path) -> None:
    """A warm test without a named material asks for it; its release names both, the fumes, and to stay until cool."""
    bench = bench_of("sound", tmp_path)
    given: dict[str, bool | str] = {"function.material": "PETG", "function.release": False}
    bench.answers = lambda key: given.get(key)  # noqa: PLW0108 - the type of the answers

    await function_job(bench, Mode.WARM, celsius=235.0)

    (asked,) = bench.entries(ReleaseAsked)
    assert "The nozzle is heated to 235 °C and PETG is extruded." in asked.lines
    assert "Hot plastic gives off fumes: ventilate. Stay with the printer until it is cool." in asked.lines


async def test_the_length_is_the_predicted_one_within_a_block_and_a_gap(tmp_path: Path) -> None:
    """Each measured length is D + Q of the test within one block plus speed times the gap around the trip."""
    bench = bench_of("sound", tmp_path)
    await function_job(bench)
    speed_mm_s = 5.0 / cross_section_mm2(1.75)

    pauses = bench.desk.findings.of(Pause)

    assert 4 == len(pauses)
    for pause in pauses:
        assert pause.agrees
        assert pause.gap_s is not None
        assert pause.length_mm is not None
        assert pause.queue_mm is not None
        allowed_mm = speed_mm_s * BLOCK_S + speed_mm_s * pause.gap_s
        assert abs(pause.length_mm - (20.0 + pause.queue_mm)) <= allowed_mm


async def test_nothing_moves_heats_or_permits_without_its_release(tmp_path: Path) -> None:
    """With the release refused the printer receives questions only, and the verdict is not judged."""
    bench = bench_of("sound", tmp_path)
    bench.answers = lambda key: False if key == "function.release" else None

    ended = await function_job(bench, Mode.WARM)

    assert ended.result is not None
    assert Verdict.NOT_JUDGED is ended.result.verdict
    assert ["Not tested: whether the printer pauses at all."] == [item.text for item in bench.desk.items]
    assert {"M115", "M119", "M412", "M27", "M302", "M105"} == set(bench.received)
    assert Doing.NOTHING_SENT is ended.made_safe.doing


async def test_another_printer_on_the_port_is_asked_nothing_but_who_it_is(tmp_path: Path) -> None:
    """A port that is on record as another printer's ends the run, on the operator's no, before any other question."""
    bench = bench_of("sound", tmp_path)
    bench.answers = lambda key: False if key == "identity.same" else None
    port = PortIdentity("fffe:0002", "SN-0001", "1-2", "/dev/ttyUSB0")
    here = Surroundings("bench-3", port, others={"bench-4": PrinterMarks(port)})
    bench.book.append(RUN, begun(RUN, "function"))

    ended = await bench.run(function_run(FunctionPlan(leftover_max_mm=22), "R. Okafor", here))

    assert InterruptionKind.OTHER_PRINTER is (ended.interruption.kind if ended.interruption else None)
    assert {"M115"} == set(bench.received)
    assert Doing.NOTHING_SENT is ended.made_safe.doing


async def test_a_cold_test_heats_nothing_and_saves_nothing(tmp_path: Path) -> None:
    """Of all bytes a cold test sends, none heats or saves, and cold extrusion is forbidden again."""
    bench = bench_of("sound", tmp_path)
    bench.answers = lambda key: False if key == "function.power.now" else None

    ended = await function_job(bench, pauses=1)

    assert [] == [line for line in bench.received if line.startswith(HEAT + SAVE)]
    assert ["M302 P1", "M302 P0"] == [line for line in bench.received if line.startswith("M302 P")]
    assert not bench.printer.state()["cold_extrusion_allowed"]
    assert not bench.printer.state()["job_running"]
    assert ended.made_safe.complete


async def test_what_is_left_out_stands_with_its_reason(tmp_path: Path) -> None:
    """A test that is left out limits the verdict, and its reason is in the record."""
    bench = bench_of("sound", tmp_path)
    said: dict[str, bool | str] = {"function.power.now": False, "function.power.reason": "no switch in reach"}
    bench.answers = lambda key: said.get(key)  # noqa: PLW0108 - the type of the answers

    ended = await function_job(bench, pauses=1)

    assert ended.result is not None
    assert Verdict.CONDITIONAL is ended.result.verdict
    assert "left out: no switch in reach." == bench.desk.findings[PowerCycle].reason


async def test_a_lost_count_of_lines_shows_it_enabled(tmp_path: Path) -> None:
    """A port that is no bridge says nothing of the start; that the board lost its count shows that it began anew."""
    bench = bench_of("native-port", tmp_path)
    await function_job(bench, pauses=1)

    assert bench.desk.findings[EnabledAfterPower].enabled is True
    assert Verdict.PASS is bench.desk.findings[PowerCycle].verdict


async def test_a_power_cycle_nobody_saw_does_not_show_it_enabled(tmp_path: Path) -> None:
    """Released without one, nothing is seen: detection is on, and whether it is stored stays unknown."""
    bench = bench_of("native-port", tmp_path)
    bench.answers = lambda key: True if key == "function.power" else None
    await function_job(bench, pauses=1)

    assert bench.desk.findings[EnabledAfterPower].enabled is None
    assert Verdict.NOT_JUDGED is bench.desk.findings[PowerCycle].verdict
    assert "not seen to begin anew" in bench.desk.findings[PowerCycle].reason


async def test_the_choice_that_disables_the_sensor_is_never_made(tmp_path: Path) -> None:
    """Where the only way on would switch the sensor off, nothing is pressed: the firmware still sees no filament."""
    bench = bench_of("sound", tmp_path)
    bench.answers = lambda key: True if key in ("change.inserted", "change.seated") else None

    ended = await function_job(bench, pauses=1)

    assert InterruptionKind.NO_ANSWER is (ended.interruption.kind if ended.interruption else None)
    assert any("never by switching the sensor off" in item.cure for item in bench.desk.items)
    runout = bench.printer.state()["runout"]
    assert isinstance(runout, dict)
    assert runout["enabled"]
    assert "M876 S1" not in bench.received


async def test_filament_pushed_in_late_is_seen_on_the_second_look(tmp_path: Path) -> None:
    """After more purging the printer looks again, offers to continue, and goes on."""
    bench = bench_of("sound", tmp_path)
    held = iter([True])
    bench.answers = lambda key: next(held, None) if key == "change.inserted" else None

    ended = await function_job(bench, pauses=1)

    assert Outcome.COMPLETE is ended.outcome
    assert bench.desk.findings[FilamentChanged].resumed
    assert not bench.desk.findings[FilamentChanged].blind


async def test_what_the_printer_asks_after_a_runout_in_the_change_is_answered_at_once(tmp_path: Path) -> None:
    """After the pull the tool waits for the purge alone, not once more for an answer that has come already."""
    bench = bench_of("sound", tmp_path)
    asked_at_s: dict[str, float] = {}

    def noted(key: str) -> None:
        asked_at_s.setdefault(key, bench.clock.elapsed_s)

    bench.answers = noted

    await function_job(bench, pauses=1)

    assert asked_at_s["change.seated"] - asked_at_s["change.pulled"] < ANSWERS_WITHIN_S / 2


async def test_a_pull_before_the_moves_is_no_fault_of_the_printer(tmp_path: Path) -> None:
    """A pause on a path that was empty, by the operator's word, is not judged; the pause is provoked once more."""
    bench = bench_of("sound", tmp_path)
    early = iter([True])

    def pulled_early(key: str) -> bool | None:
        if key == "pause.pull" and next(early, False):
            bench.printer.perform("withdraw")
            bench.clock.pass_time(1.0)
        return False if key in ("pause.was_in", "function.power.now") else None

    bench.answers = pulled_early

    ended = await function_job(bench)

    assert ended.result is not None
    assert Verdict.CONDITIONAL is ended.result.verdict
    pauses = [pause.verdict for pause in bench.desk.findings.of(Pause)]
    assert [Verdict.NOT_JUDGED, *4 * [Verdict.PASS]] == pauses  # the last is the one with a runout in the change
    assert 1 == bench.desk.asked.count("pause.was_in")
    assert [] == [item for item in bench.desk.items if item.grade is PunchClass.UNSAFE]


async def test_a_pause_with_filament_in_is_a_fault_of_the_logic(tmp_path: Path) -> None:
    """A pause while the operator left filament in is a fail, and its cure points to the loop check."""
    bench = bench_of("inverted-right-contact", tmp_path)
    bench.pull_after_s = 30.0

    ended = await function_job(bench)

    early = "It paused before the switch changed, with filament in: it takes filament in for filament out."
    assert Verdict.FAIL is (ended.result.verdict if ended.result else None)
    (cure,) = [item.cure for item in bench.desk.items if item.text == early]
    assert cure.startswith("Run the loop check")


@pytest.mark.parametrize(
    ("unit", "text", "cure"),
    [
        ("starts-empty", "Start with no filament: it was not noticed", "See that filament is in before every job"),
        ("double-change", "A second change began by itself", "Have one thing only begin the change"),
    ],
)
async def test_what_failed_has_a_cure_of_its_own(tmp_path: Path, unit: str, text: str, cure: str) -> None:
    """The open item of a test that failed says what to do about that very thing."""
    bench = bench_of(unit, tmp_path)

    await function_job(bench)

    (item,) = [item for item in bench.desk.items if item.grade is PunchClass.UNSAFE]
    assert item.text.startswith(text)
    assert item.cure.startswith(cure)


async def test_what_a_mode_cannot_show_stands_as_left_out(tmp_path: Path) -> None:
    """A cold test has no real runout and no heater to time out; both stand in the record with that reason."""
    bench = bench_of("sound", tmp_path)

    await function_job(bench)

    said = "left out: a cold test extrudes and heats nothing."
    assert (said, said) == (bench.desk.findings[RealRunout].reason, bench.desk.findings[LongWait].reason)


async def test_the_pause_settles_the_wording(tmp_path: Path) -> None:
    """The word that was read before the pause is the one this build takes for filament in."""
    bench = bench_of("sound", tmp_path)
    await function_job(bench, pauses=1)

    found = bench.desk.findings[WireWord]
    assert (Reading.ACTIVE, "TRIGGERED") == (found.reading, found.word)


async def test_a_card_job_is_written_and_watched(tmp_path: Path) -> None:
    """The small job stands in a file, one command a line; it is started at the printer, and the tool sends no move."""
    bench = bench_of("sound", tmp_path)
    bench.answers = lambda key: False if key.endswith(".now") else None

    ended = await function_job(bench, Mode.CARD)

    job = (tmp_path / "runout-test.gcode").read_text().splitlines()
    assert ["G28", "G91", "M83"] == job[1:4]
    assert [] == [line for line in bench.received if line.startswith(MOTION)]
    assert ended.result is not None
    assert Verdict.CONDITIONAL is ended.result.verdict
    assert 3 == bench.desk.findings[FunctionTest].pauses


async def test_a_card_job_that_has_ended_is_started_once_more(tmp_path: Path) -> None:
    """While the operator was away the job came to its end: that is no missed pause, and the job is asked for again."""
    bench = bench_of("sound", tmp_path)
    readied: list[str] = []

    def away(key: str) -> bool | None:
        if key == "pause.ready":
            readied.append(key)
            bench.clock.pass_time(900.0 if len(readied) == 2 else 0.0)
        return False if key.endswith(".now") else None

    bench.answers = away

    await function_job(bench, Mode.CARD)

    assert 2 == bench.desk.asked.count("function.card_started")
    assert 3 == bench.desk.findings[FunctionTest].pauses
    assert [] == [item for item in bench.desk.items if item.grade is PunchClass.UNSAFE]


async def test_a_card_job_is_stopped_after_its_test(tmp_path: Path) -> None:
    """Once the pauses are over the job is stopped, before the power is taken off."""
    bench = bench_of("sound", tmp_path)
    under_way: dict[str, bool] = {}

    def look(key: str) -> bool | None:
        under_way[key] = bool(bench.printer.firmware and bench.printer.firmware.runner.card)
        return False if key.endswith(".now") else None

    bench.answers = look

    await function_job(bench, Mode.CARD)

    assert under_way["pause.pull"]
    assert not under_way["function.power.now"]


async def test_a_card_job_that_does_not_run_is_not_judged(tmp_path: Path) -> None:
    """Where the printer says that no job runs from its card, no pause is tested and none is judged."""
    bench = bench_of("sound", tmp_path)
    bench.answers = lambda key: False if key.endswith(".now") else True if key == "function.card_started" else None

    ended = await function_job(bench, Mode.CARD)

    assert ended.result is not None
    assert Verdict.NOT_JUDGED is ended.result.verdict


async def test_a_heater_off_sent_while_blocked_has_no_effect_until_it_ends(tmp_path: Path) -> None:
    """While the printer waits in a change, a heater-off is not acted on; once it goes on, it is."""
    bench = bench_of("sound", tmp_path, gear_free=False)
    printer = bench.printer
    for line in ("M104 S200", "M302 P1", "M600"):
        printer.receive(line.encode() + b"\n")
    printer.advance(30)
    printer.receive(b"M104 S0\n")
    printer.advance(10)

    assert {"hotend": 200.0, "bed": 0.0} == printer.state()["targets_c"]

    printer.perform("insert")
    printer.advance(1)
    for _ in range(2):
        printer.receive(b"M108\n")
        printer.advance(40)

    assert {"hotend": 0.0, "bed": 0.0} == printer.state()["targets_c"]


def known_and_tested(plan: FunctionPlan) -> Steps[tuple[Identity | None, FunctionTested]]:
    """Who answers, and the function test."""
    identity = yield from identify()
    return identity, (yield from function_test(plan, "filament", identity))


PLAYED_BACK = ("sound", "double-change", "keepalives-silenced", "checks-at-start", "display-only")


@pytest.mark.swept
@pytest.mark.parametrize(("unit", "mode"), a_part_of_pairs(PLAYED_BACK, (Mode.DRY, Mode.WARM, Mode.CARD), one_in=5))
async def test_a_function_test_comes_back_from_its_answers(tmp_path: Path, unit: str, mode: Mode) -> None:
    """Moves, signs, questions with buttons and releases: what the book holds of them gives the same result again."""
    bench = bench_of(unit, tmp_path, gear_free=mode is not Mode.WARM)
    plan = FunctionPlan(mode=mode, material="PLA", leftover_max_mm=22)
    ended = await bench.run(known_and_tested(plan))

    assert ended.result is not None
    identity, tested = ended.result
    answers = given_in(bench.book, RUN, FUNCTION_TEST.name)
    assert tested == played_back(function_test(plan, "filament", identity), answers)
    assert any(isinstance(each.entry, Moves) for each in answers)
