"""Whole jobs on printers of other families: what is read, what is never sent, and how each ends."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from commission.asking.response import InterruptionKind
from commission.asking.steps import Steps, ask
from commission.conductor.conductor import Ended, Unreleased
from commission.dialect.commands import RUNOUT_CONTROL, TEMPERATURES
from commission.evidence.findings.cause import CheckJudged
from commission.evidence.findings.function import FunctionTest
from commission.evidence.findings.gates import PauseTold
from commission.evidence.findings.loop import Acceptance, FailSafeFound, Polarity, SwitchNamed
from commission.evidence.findings.reported import NotReported, SourcesFound
from commission.evidence.findings.settings import SettingsAsText
from commission.evidence.measured import Trial
from commission.jobs.check import periodic_check
from commission.jobs.install import JobResult
from commission.judge.plan import Plan
from commission.link.identity import PortIdentity
from commission.procedure.check.condition import Subject
from commission.procedure.meeting.identify import identify
from commission.procedure.meeting.identity import Surroundings
from commission.procedure.meeting.sensor_met import meet_sensor
from commission.vocabulary import Outcome, PunchClass, Verdict
from tests.support.fake_bench import FakeBench
from tests.support.family_bench import MonitorBench, NamedBench, WordBench
from tests.support.installed import installation

SHORT = Plan(seed=20, cycles=6, countdown_s=1.0, wiggle_s=5.0, wiggle_readings=50)
KNOWN_TO_THE_BOARD = ("M27", "M115", "M119", "M408 S0", "M409 ", "M503", "M591 D")


def named(key: str) -> bool | str | None:
    """The person knows the sensor's name, and puts a repair off."""
    return {"source.name": "reel", "walk.repair": "later"}.get(key)


async def installed(bench: FakeBench) -> Ended[JobResult]:
    """The whole installation."""
    bench.answers = named
    return await bench.run(installation(SHORT))


def sent(bench: FakeBench) -> set[str]:
    """Everything that ever went out."""
    return {line for link in bench.links for line in link.sent}


@pytest.mark.parametrize(("make", "source"), [(MonitorBench, "monitor 0"), (NamedBench, "sensor reel")])
async def test_a_sound_sensor_is_judged_by_its_source(tmp_path: Path, make: type[FakeBench], source: str) -> None:
    """Polarity, rest and acceptance come out as on any other printer; only the pause is left to a print."""
    bench = make(tmp_path)
    ended = await installed(bench)

    assert Ended(Outcome.COMPLETE, JobResult(Verdict.CONDITIONAL)) == ended
    assert source == bench.desk.findings[SwitchNamed].switch
    assert source == bench.desk.findings[SourcesFound].tested
    assert Verdict.CONDITIONAL is bench.desk.findings[Acceptance].verdict, "six cycles are a short plan"
    assert {source} == {trial.switch for trial in bench.entries(Trial)}
    assert Verdict.NOT_JUDGED is bench.desk.findings[FunctionTest].verdict
    assert "Whether the printer pauses was not tested." in [item.text for item in bench.desk.items]
    assert [] == bench.book.verify()


@pytest.mark.parametrize(("make", "kind"), [(MonitorBench, "monitor"), (NamedBench, "named_sensor")])
async def test_entries_belong_to_their_source(tmp_path: Path, make: type[FakeBench], kind: str) -> None:
    """The kind of the source stands beside every trial in the book."""
    bench = make(tmp_path)
    await installed(bench)

    assert {kind} == {record.about.source for record in bench.book.records(Trial)}


@pytest.mark.parametrize("make", [MonitorBench, NamedBench])
@pytest.mark.parametrize(
    ("inverted", "rests_active", "behaviour", "fail_safe"),
    [
        (True, True, "inverted", "fail-danger"),
        (False, True, "direct", "fail-danger"),
        (True, False, "inverted", "fail-safe"),
    ],
)
async def test_wrong_wirings_fail_on_every_family(
    tmp_path: Path,
    make: type[FakeBench],
    *,
    inverted: bool,
    rests_active: bool,
    behaviour: str,
    fail_safe: str,
) -> None:
    """Inverted logic, two errors that cancel, and a wrong contact: each by its own name, and each a fail."""
    bench = make(tmp_path)
    bench.inverted, bench.unplugged_is_active = inverted, rests_active
    ended = await installed(bench)

    assert (Verdict.FAIL, behaviour) == (
        ended.result and ended.result.verdict,
        bench.desk.findings[Polarity].behaviour.value,
    )
    assert fail_safe == bench.desk.findings[FailSafeFound].fail_safe.value
    reflashed = [key for key in bench.desk.asked if key.startswith("repair.")]
    assert [] == reflashed, "the logic stands in a file: there is nothing to reflash"
    assert ("walk.repair" in bench.desk.asked) is (inverted and not rests_active)


async def test_watching_that_is_off_fails_a_sound_sensor(tmp_path: Path) -> None:
    """The monitor follows the filament all the same, and says that nobody heeds it."""
    bench = MonitorBench(tmp_path)
    bench.watched = "disabled"
    ended = await installed(bench)

    assert Verdict.FAIL is (ended.result and ended.result.verdict)
    assert "watching" in [gate.key for gate in bench.desk.findings[PauseTold].gates if gate.told is False]
    assert [PunchClass.UNSAFE] == [item.grade for item in bench.desk.items if "'watching is on' is shut" in item.text]


async def test_no_number_is_tried_on_a_board_with_user_files(tmp_path: Path) -> None:
    """From the installation to the check only what this family is known to answer goes out."""
    bench = MonitorBench(tmp_path)
    await installed(bench)
    await bench.run(periodic_check(checked(full=True)), number="bench-3/2031-03-14/2")

    assert [] == [line for line in sent(bench) if not line.startswith(KNOWN_TO_THE_BOARD)]
    assert "M591 D0" in sent(bench)


async def test_a_host_computer_is_sent_only_questions(tmp_path: Path) -> None:
    """Neither a word that restarts nor one that saves, and no setting of another family."""
    bench = NamedBench(tmp_path)
    await installed(bench)

    words = {line.split()[0] for line in sent(bench)}
    assert {"M115", "M119", "STATUS", "QUERY_FILAMENT_SENSOR"} == words


def checked(*, full: bool = False, unattended: bool = False) -> Subject:
    """A check of the printer by the source on record."""
    where = Surroundings("bench-3", PortIdentity("", "", "", "fake"))
    return Subject(where, "R. Okafor", date(2031, 3, 14), SHORT, full=full, unattended=unattended)


@pytest.mark.parametrize("make", [MonitorBench, NamedBench])
async def test_a_check_reads_the_source_on_record(tmp_path: Path, make: type[FakeBench]) -> None:
    """Nobody is asked for it again, unattended neither, and what the console does not tell is not judged."""
    bench = make(tmp_path)
    await installed(bench)
    bench.desk.asked.clear()
    source = bench.desk.findings[SwitchNamed].switch or ""
    subject = checked(unattended=True)
    ended = await bench.run(
        periodic_check(Subject(subject.surroundings, "", subject.today, SHORT, switch=source, unattended=True)),
        number="bench-3/2031-03-14/2",
    )

    found = bench.desk.findings[CheckJudged]
    judged = {each.name: each.verdict for each in found.criteria}
    assert Outcome.COMPLETE is ended.outcome
    assert (source, Verdict.PASS, Verdict.PASS) == (found.switch, judged["switch reported"], judged["steadiness"])
    assert Verdict.NOT_JUDGED is judged["settings"]
    assert not [key for key in bench.desk.asked if key.startswith("source.")]


async def test_settings_of_a_start_up_file_are_kept_as_text(tmp_path: Path) -> None:
    """What came stands in the book and in a file, and nothing of it is offered to be put back."""
    bench = MonitorBench(tmp_path)
    await installed(bench)

    found = bench.desk.findings[SettingsAsText]
    assert ("; a start-up file", "M550 PBench") == found.lines
    assert found.file.endswith("bench-3-start-up-file-2031-03-14.txt")


async def test_long_silence_of_a_host_computer_is_no_lost_link(tmp_path: Path) -> None:
    """It answers once what runs is done, and says nothing meanwhile: a minute and a half is waited for."""
    bench = NamedBench(tmp_path)

    def answers(key: str) -> bool | str | None:
        bench.delay_s = 90.0
        return named(key)

    bench.answers = answers
    ended = await bench.run(sensor_met())

    assert (Outcome.COMPLETE, "sensor reel") == (ended.outcome, ended.result)


def sensor_met() -> Steps[str | None]:
    """Meet a printer and its sensor."""
    identity = yield from identify()
    return (yield from meet_sensor(identity)).switch


async def test_comments_in_a_long_silence_are_no_endless_answer(tmp_path: Path) -> None:
    """A host computer talks of what it does for forty seconds, and then answers."""
    bench = NamedBench(tmp_path)

    def answers(key: str) -> bool | str | None:
        if key == "source.name":
            bench.delay_s = 60.0
            for second in (15, 25, 40):
                bench.links[-1].say(b"// a macro is at work\n", second)
        return named(key)

    bench.answers = answers
    ended = await bench.run(sensor_met())

    assert (Outcome.COMPLETE, "sensor reel") == (ended.outcome, ended.result)


@pytest.mark.parametrize("letter", ["H", "S"])
async def test_a_halted_board_stops_the_run(tmp_path: Path, letter: str) -> None:
    """It answers questions, and carries nothing out."""
    bench = MonitorBench(tmp_path)
    bench.stopped = letter
    ended = await installed(bench)

    assert ended.interruption is not None
    assert InterruptionKind.HALTED is ended.interruption.kind
    assert "restart it yourself" in ended.interruption.detail


async def test_a_cold_zero_is_no_halt_on_another_family(tmp_path: Path) -> None:
    """One bare temperature says on a host's console that it is not ready; elsewhere it is a temperature."""

    class Bare(FakeBench):
        """Answers its temperature so."""

        def _printer(self, line: str) -> bytes | None:
            return b"ok T:0\n" if line == "M105" else super()._printer(line)

    ended = await Bare(tmp_path).run(ask(TEMPERATURES))

    assert Outcome.COMPLETE is ended.outcome


async def test_a_shut_down_host_stops_the_run_with_its_reason(tmp_path: Path) -> None:
    """In the middle of the trials too: an acknowledgement behind a fault is no success."""
    bench = NamedBench(tmp_path)

    def answers(key: str) -> bool | str | None:
        if key == "trial.withdraw":
            bench.shut_down = "Lost the board"
        return named(key)

    bench.answers = answers
    ended = await bench.run(installation(SHORT))

    assert ended.interruption is not None
    assert InterruptionKind.HALTED is ended.interruption.kind
    assert "Lost the board" in ended.interruption.detail
    assert not {"RESTART", "FIRMWARE_RESTART"} & {line.split()[0] for line in sent(bench)}


async def test_a_host_that_begins_is_waited_for(tmp_path: Path) -> None:
    """Not ready at first, it is asked for its state again until it serves; then the run goes on as ever."""
    bench = NamedBench(tmp_path)
    bench.ready_at_s = 40.0
    ended = await installed(bench)

    assert Ended(Outcome.COMPLETE, JobResult(Verdict.CONDITIONAL)) == ended
    assert "sensor reel" == bench.desk.findings[SwitchNamed].switch
    assert 10 <= [line for link in bench.links for line in link.sent].count("STATUS")


async def test_a_host_that_never_serves_stops_the_run(tmp_path: Path) -> None:
    """After a minute it is a clear stop, with its state and its reason; no sensor is called missing."""
    bench = NamedBench(tmp_path)
    bench.ready_at_s = 1e9
    ended = await installed(bench)

    assert ended.interruption is not None
    assert InterruptionKind.HALTED is ended.interruption.kind
    assert "The printer says that it is not ready: The host is not ready." in ended.interruption.detail
    assert NotReported not in bench.desk.findings
    assert 60.0 <= bench.clock.monotonic() < 90.0


async def test_a_sensor_of_movement_is_not_judged(tmp_path: Path) -> None:
    """Where the console does not tell and the person does, nothing is tested and the reason is said."""
    bench = NamedBench(tmp_path)
    bench.answers = lambda key: False if key == "source.presence" else named(key)
    ended = await bench.run(installation(SHORT))

    assert Verdict.NOT_JUDGED is (ended.result and ended.result.verdict)
    assert [] == bench.entries(Trial)
    assert "sensor of movement: sensor reel" in " ".join(bench.desk.findings[NotReported].sentences)
    assert "built" not in " ".join(bench.desk.findings[NotReported].sentences)


async def test_a_word_of_runout_control_is_a_source(tmp_path: Path) -> None:
    """Where the switch report has no filament line, the reply that tells of the filament is read instead."""
    bench = WordBench(tmp_path)
    ended = await installed(bench)
    again = Subject(
        checked().surroundings, "", date(2031, 3, 14), SHORT, switch="word sensor", unattended=True, steady_s=5.0
    )
    await bench.run(periodic_check(again), number="bench-3/2031-03-14/2")

    assert Ended(Outcome.COMPLETE, JobResult(Verdict.CONDITIONAL)) == ended
    assert ("word sensor", "direct") == (
        bench.desk.findings[CheckJudged].switch,
        bench.desk.findings[Polarity].behaviour.value,
    )


async def test_a_check_of_an_input_alone_is_no_pass(tmp_path: Path) -> None:
    """The detection is on and the input follows the filament; that the one reads the other is shown by nothing."""
    bench = FakeBench(tmp_path)
    bench.switch = "y_max"
    given: dict[str, bool | str] = {"source.which": "y_max", "source.filament_in": False}
    bench.answers = lambda key: given.get(key, named(key))
    await bench.run(installation(SHORT))
    whole = replace(SHORT, cycles=22, wiggle_s=60.0, wiggle_readings=600)
    where = replace(checked().surroundings, source="y_max")
    again = replace(checked(), plan=whole, switch="y_max", surroundings=where)
    ended = await bench.run(periodic_check(again), number="bench-3/2031-03-14/2")

    judged = {each.name: each.verdict for each in bench.desk.findings[CheckJudged].criteria}
    assert {name for name, verdict in judged.items() if verdict is Verdict.CONDITIONAL} == {"own detection"}
    assert Verdict.PASS is judged["runout detection"]
    assert Verdict.CONDITIONAL is (ended.result and ended.result.verdict)
    assert 1 == len({item.text for item in bench.desk.items if item.text.startswith("Only an input")})


@pytest.mark.parametrize(("inverted", "name"), [(False, "y_max"), (True, "y_max (reversed)")])
async def test_an_input_alone_is_no_protection(tmp_path: Path, *, inverted: bool, name: str) -> None:
    """A spare switch reads the sensor, whichever way it counts; nothing shows that the printer acts on it."""
    bench = FakeBench(tmp_path)
    bench.switch, bench.inverted, bench.unplugged_is_active = "y_max", inverted, inverted
    given: dict[str, bool | str] = {"source.which": "y_max", "source.filament_in": False}
    bench.answers = lambda key: given.get(key, named(key))
    ended = await bench.run(installation(SHORT))

    assert Verdict.CONDITIONAL is (ended.result and ended.result.verdict)
    assert ("direct", "fail-safe", name) == (
        bench.desk.findings[Polarity].behaviour.value,
        bench.desk.findings[FailSafeFound].fail_safe.value,
        bench.desk.findings[SwitchNamed].switch,
    )
    assert [f"Only an input is read ({name}): nothing shows that the printer acts on it."] == [
        item.text for item in bench.desk.items if item.text.startswith("Only an input")
    ]
    assert [] == [item.text for item in bench.desk.items if item.grade is PunchClass.UNSAFE]
    assert "function.now" not in bench.desk.asked


@pytest.mark.parametrize("name", ["filament gr\u00fcn", "Filament [/home] <b>", "filament\u202e2"])
async def test_a_line_may_be_called_anything(tmp_path: Path, name: str) -> None:
    """Letters of any alphabet and marks that mean something elsewhere are a name, and the line is read."""
    bench = FakeBench(tmp_path)
    bench.switch = name
    ended = await installed(bench)

    assert Outcome.COMPLETE is ended.outcome
    assert "direct" == bench.desk.findings[Polarity].behaviour.value


async def test_a_wrong_word_on_an_input_fails(tmp_path: Path) -> None:
    """Who says that filament is in where it is not turns the input, and the trials disprove it."""
    bench = FakeBench(tmp_path)
    bench.switch = "y_max"
    given: dict[str, bool | str] = {"source.which": "y_max", "source.filament_in": True}
    bench.answers = lambda key: given.get(key, named(key))
    ended = await bench.run(installation(SHORT))

    assert (Verdict.FAIL, "inverted") == (
        ended.result and ended.result.verdict,
        bench.desk.findings[Polarity].behaviour.value,
    )


async def test_a_source_that_was_named_is_read_or_nothing(tmp_path: Path) -> None:
    """Nothing else is read in its place; the run ends and says why."""
    bench = MonitorBench(tmp_path)
    where = Surroundings("bench-3", PortIdentity("", "", "", "fake"), source="sensor reel")
    ended = await bench.run(periodic_check(Subject(where, "R. Okafor", date(2031, 3, 14), SHORT)))

    assert ended.interruption is not None
    assert InterruptionKind.NO_SOURCE is ended.interruption.kind
    assert [] == bench.entries(Trial)


async def test_a_question_of_another_family_never_goes_out(tmp_path: Path) -> None:
    """A procedure that forgets whom it talks to is stopped before anything is sent."""
    bench = MonitorBench(tmp_path)
    with pytest.raises(Unreleased, match="no question on a printer of family B"):
        await bench.run(ask(RUNOUT_CONTROL))

    assert "M412" not in sent(bench)
