"""Whole runs of the loop check on a bench in memory: how each ends, and what stands in the book."""

from itertools import accumulate
from pathlib import Path

import pytest

from commission.asking.request import PhaseBegins, PhaseEnds, Release
from commission.asking.response import InterruptionKind
from commission.asking.steps import Steps, ask, release
from commission.conductor.conductor import Ended, Unreleased
from commission.desk.base import Mark
from commission.dialect.commands import SAVE_STORED, SWITCHES, Effect
from commission.evidence.counted import exchanges_in
from commission.evidence.findings.function import Reserve
from commission.evidence.findings.loop import Acceptance, Advised, Polarity
from commission.evidence.findings.reported import NotReported
from commission.evidence.measured import Trial, TrialBegan
from commission.evidence.runs import Interrupted, PhaseAbandoned, PhaseStarted
from commission.evidence.talk import HoldOpened
from commission.evidence.wire import Bytes, CountedBytes, Intent, Result
from commission.jobs.install import JobResult
from commission.judge.advice import Advice
from commission.judge.plan import Plan
from commission.vocabulary import Instruction, Outcome, Verdict
from tests.support.fake_bench import FakeBench
from tests.support.installed import installation
from tests.support.sweeps import a_part

SHORT = Plan(seed=20, cycles=6, countdown_s=1.0)
BUSY = b"echo:busy: processing\n"
FULL = Plan(seed=20, cycles=22, countdown_s=1.0)


@pytest.fixture
def bench(tmp_path: Path) -> FakeBench:
    """A sound unit, an obedient operator and an empty book."""
    bench = FakeBench(tmp_path)
    bench.answers = lambda key: "later" if key == "walk.repair" else None
    return bench


async def check(bench: FakeBench, plan: Plan = SHORT) -> Ended[JobResult]:
    """Walk through the job."""
    return await bench.run(installation(plan))


async def test_a_sound_unit_passes_the_full_plan(bench: FakeBench) -> None:
    """Twenty-two clean cycles, a clean wiggle, two power-ups unplugged, a proven pull: the loop check passes."""
    ended = await check(bench, FULL)

    assert Verdict.PASS is bench.desk.findings[Acceptance].verdict
    assert Ended(Outcome.COMPLETE, JobResult(Verdict.CONDITIONAL)) == ended, "no function test was done"
    assert 44 == sum(trial.instruction is not Instruction.LEAVE for trial in bench.entries(Trial))
    assert ["Whether the printer pauses was not tested."] == [item.text for item in bench.desk.items]
    assert [] == bench.book.verify()


async def test_a_short_plan_is_a_conditional_pass(bench: FakeBench) -> None:
    """Six clean cycles decide the polarity and bound little."""
    ended = await check(bench)

    assert Ended(Outcome.COMPLETE, JobResult(Verdict.CONDITIONAL)) == ended
    said = bench.desk.findings[Polarity].sentences[0]
    assert (
        "The switch is direct: 2703 to 1 against the next explanation (no relation shown); "
        "12 in/out trials, none against (leave-it prompts not counted)."
    ) == said


@pytest.mark.parametrize(
    ("inverted", "unplugged_is_active", "advice"),
    [
        pytest.param(True, True, Advice.INVERT_LOGIC, id="inverted-unplugged-reads-in"),
        pytest.param(True, False, Advice.CHANGE_CONTACT, id="inverted-unplugged-reads-out"),
        pytest.param(False, True, Advice.CHANGE_BOTH, id="two-errors-cancel"),
    ],
)
async def test_a_wrong_unit_fails_with_its_own_advice(
    bench: FakeBench, advice: Advice, *, inverted: bool, unplugged_is_active: bool
) -> None:
    """The unplugged reading decides what an inverted finding asks for, and shows two errors that cancel."""
    bench.inverted, bench.unplugged_is_active = inverted, unplugged_is_active

    ended = await check(bench)

    assert Ended(Outcome.COMPLETE, JobResult(Verdict.FAIL), unsafe_items=1) == ended
    assert advice is bench.desk.findings[Advised].advice


async def test_a_repair_done_at_once_leads_to_a_hold_point_and_a_new_run(bench: FakeBench) -> None:
    """The walk hands the repair out; the next one begins at its hold point and asks who the printer is again."""
    bench.inverted = bench.unplugged_is_active = True
    bench.answers = lambda key: "now" if key == "walk.repair" else None
    first = await check(bench)
    assert first.result is not None
    bench.inverted = bench.unplugged_is_active = False

    second = await bench.run(installation(SHORT, first.result.repair))

    assert Advice.INVERT_LOGIC is first.result.repair
    assert Ended(Outcome.COMPLETE, JobResult(Verdict.CONDITIONAL)) == second
    assert "repair.invert_logic" in bench.desk.asked


async def test_both_repairs_are_done_one_after_the_other(bench: FakeBench) -> None:
    """Contact and logic: the contact is changed with the power off, and with the printer on again it is reflashed."""
    await bench.run(installation(SHORT, Advice.CHANGE_BOTH))

    holds = [hold for hold in bench.entries(HoldOpened) if hold.key.startswith("repair.")]
    assert ["repair.change_contact", "repair.invert_logic"] == [hold.key for hold in holds]
    assert "switch the printer on" in holds[0].steps[-1]
    assert "See that there is a record of the printer's settings" in holds[1].steps[0]


async def test_a_switch_that_is_not_listed_fails(bench: FakeBench) -> None:
    """A list of switches without the sensor protects from nothing: a fail, an A item with what to do, and no trial."""
    bench.switch = ""

    ended = await check(bench)

    assert Ended(Outcome.COMPLETE, JobResult(Verdict.FAIL), unsafe_items=1) == ended
    assert [] == bench.entries(Trial)
    assert NotReported in bench.desk.findings


@pytest.mark.parametrize("active", [True, False])
async def test_a_stuck_switch_fails(bench: FakeBench, *, active: bool) -> None:
    """A reading that never changes is named stuck after six cycles."""
    bench.follows, bench.inverted = False, active
    bench.unplugged_is_active = active

    ended = await check(bench)

    assert Verdict.FAIL is (ended.result or JobResult(Verdict.PASS)).verdict
    assert f"stuck {'active' if active else 'inactive'}" == bench.desk.findings[Polarity].behaviour.value


async def test_a_banner_while_the_sensor_is_worked_is_a_wiring_fault(bench: FakeBench) -> None:
    """The run ends at once with the words for a shorted supply and an open A item."""
    bench.surprise = lambda queries: b"start\necho: Brown out Reset\n" if queries == 60 else None

    ended = await check(bench)

    assert Outcome.INTERRUPTED is ended.outcome
    assert 1 == ended.unsafe_items
    assert ended.interruption is not None
    assert InterruptionKind.BOARD_RESTARTED is ended.interruption.kind
    assert any(text.startswith("Suspected supply short through the switch") for text in bench.desk.told)
    assert ["loop_check"] == [phase.name for phase in bench.entries(PhaseAbandoned)]
    assert [] == bench.book.verify()


async def test_a_port_that_cannot_be_opened_is_no_lost_link(bench: FakeBench) -> None:
    """A run that never reached its printer says so, judges nothing and leaves no open item."""
    bench.port = "elsewhere"

    ended = await check(bench)

    assert Outcome.NOT_CONNECTED is ended.outcome
    assert 0 == ended.unsafe_items
    assert [] == bench.entries(PhaseStarted)
    assert [] == bench.book.verify()


async def test_a_port_that_vanishes_in_mid_cycle_ends_the_run(bench: FakeBench) -> None:
    """The link is lost, the words for a shorted supply are said, and what was read stays in the book."""

    def vanish(queries: int) -> bytes | None:
        if queries == 60:
            bench.links[-1].lose()
        return None

    bench.surprise = vanish

    ended = await check(bench)

    assert Outcome.LINK_LOST is ended.outcome
    assert 1 == ended.unsafe_items
    assert bench.entries(Trial)
    assert [] == bench.book.verify()


@pytest.mark.parametrize(
    ("surprise", "kind", "detail"),
    [
        pytest.param(b"", InterruptionKind.NO_ANSWER, "5 questions in a row were not answered.", id="silence"),
        pytest.param(b"x" * 8192, InterruptionKind.NO_END, "lines came, the last of them '", id="a-line-without-end"),
    ],
)
async def test_a_printer_that_stops_answering_ends_the_run(
    bench: FakeBench, surprise: bytes, kind: InterruptionKind, detail: str
) -> None:
    """Too many questions without an answer are said to be just that; what came instead is told, shortened."""
    bench.surprise = lambda queries: surprise if queries >= 60 else None

    ended = await check(bench)

    assert Outcome.INTERRUPTED is ended.outcome
    assert ended.interruption is not None
    assert kind is ended.interruption.kind
    assert detail in ended.interruption.detail
    assert len(ended.interruption.detail) < 200


async def test_lines_that_answer_nothing_are_told_as_what_came(bench: FakeBench) -> None:
    """Where lines stream in that belong to no answer, the printer is not silent: the last of them is named."""

    def babble(queries: int) -> bytes | None:
        if queries == 60:
            for moment in range(900):
                bench.links[-1].say(f"echo:; line {moment}\n".encode(), after_s=0.05 * moment)
        return b"" if queries >= 60 else None

    bench.surprise = babble

    ended = await check(bench)

    assert ended.interruption is not None
    assert InterruptionKind.NO_END is ended.interruption.kind
    assert "the last of them 'echo:; line" in ended.interruption.detail
    assert [] == bench.desk.items


async def test_a_reply_that_never_ends_ends_the_run(bench: FakeBench) -> None:
    """A printer that talks on and on is not answering, and is told so with what it said; that is no wiring fault."""

    def babble(queries: int) -> bytes | None:
        if queries == 60:
            for moment in range(900):
                bench.links[-1].say(b"x_min: open\n", after_s=0.05 * moment)
        return b"" if queries >= 60 else None

    bench.surprise = babble

    ended = await check(bench)

    assert ended.interruption is not None
    assert InterruptionKind.NO_END is ended.interruption.kind
    assert "lines came, the last of them 'x_min: open', and nothing ended the answer." in ended.interruption.detail
    assert [] == bench.desk.items


async def test_a_few_lost_answers_do_not_spoil_a_run(bench: FakeBench) -> None:
    """One answer in fifty that the line swallows costs time, not the verdict."""
    bench.surprise = lambda queries: b"" if queries % 50 == 49 else None

    ended = await check(bench)

    assert Ended(Outcome.COMPLETE, JobResult(Verdict.CONDITIONAL)) == ended


async def test_a_hostile_switch_name_is_only_text(bench: FakeBench) -> None:
    """Escape sequences in the name of the switch are shown as letters and never reach screen or book as themselves."""
    bench.switch = "filament\x1b[2J\x1b]0;gotcha\x07"

    ended = await check(bench)

    assert Outcome.COMPLETE is ended.outcome
    shown = "".join(bench.desk.told) + "".join(text for f in bench.desk.findings for text in f.sentences)
    assert shown.isprintable()
    assert r"filament\x1b[2J\x1b]0;gotcha\x07" in shown
    assert all(row.payload.isprintable() for row in bench.book.rows())


QUESTIONS = [
    "loop_check.ready",
    "trial.insert",
    "trial.leave",
    "wiggle.ready",
    "wiggle",
    "unplug.ready",
    "unplug.1",
    "unplugged.2",
    "unplug.reconnect",
    "sign_off.remark",
    "sign_off.statement",
]


@pytest.mark.swept
@pytest.mark.parametrize("key", a_part(QUESTIONS, one_in=3))
async def test_the_operator_can_stop_at_any_question(bench: FakeBench, key: str) -> None:
    """Wherever Ctrl-C is pressed, the run is stopped by the operator and the book is whole."""
    bench.desk.stop_at = key

    ended = await check(bench)

    assert Outcome.STOPPED is ended.outcome
    assert key == bench.desk.asked[-1]
    assert [InterruptionKind.OPERATOR_STOP.value] == [entry.what for entry in bench.entries(Interrupted)]
    assert [] == bench.book.verify()


async def test_another_printer_after_the_power_was_off_ends_the_run(bench: FakeBench) -> None:
    """When somebody else answers after a hold point, nothing more is asked of it."""

    def swap(key: str) -> bool | str | None:
        if key == "unplug.1":
            bench.identity = "FIRMWARE_NAME:OtherFW 101.0 MACHINE_TYPE:Bench 4 EXTRUDER_COUNT:1"
        return None

    bench.answers = swap

    ended = await check(bench)

    assert ended.interruption is not None
    assert InterruptionKind.OTHER_PRINTER is ended.interruption.kind


async def test_a_spoilt_trial_is_taken_again_and_stays_in_the_book(bench: FakeBench) -> None:
    """The operator's mark voids the trial with a reason; the count is made up by another."""

    def spoil(key: str) -> bool | str | None:
        if key == "trial.insert" and len(bench.entries(Trial)) == 0:
            bench.desk.marks = [Mark.SPOILT]
        return "the filament slipped" if key == "trial.void_reason" else None

    bench.answers = spoil

    ended = await check(bench)

    voided = [trial.void_reason for trial in bench.entries(Trial) if trial.void_reason]
    assert ["the filament slipped"] == voided
    assert Ended(Outcome.COMPLETE, JobResult(Verdict.CONDITIONAL)) == ended


async def test_nothing_changed_and_i_did_it_is_an_answer(bench: FakeBench) -> None:
    """The mark goes into the record beside the readings, which stand."""
    bench.follows = False

    def mark(key: str) -> bool | str | None:
        if key == "trial.insert":
            bench.desk.marks = [Mark.NOTHING_CHANGED]
        return "later" if key == "walk.repair" else None

    bench.answers = mark

    await check(bench)

    remarks = {trial.remark for trial in bench.entries(Trial) if trial.instruction is Instruction.INSERT}
    assert {"I did it and nothing changed"} == remarks


async def test_every_dwell_is_taken_whole_at_its_own_time(bench: FakeBench) -> None:
    """Each trial has its 21 readings over two seconds, beginning when the countdown ends, whatever they show."""
    bench.follows = False

    await check(bench)

    for trial in bench.entries(Trial):
        moments = [reading.at_s for reading in trial.dwell]
        assert 21 == len(moments)
        assert moments[0] == pytest.approx(1.0, abs=0.05)
        assert moments[-1] - moments[0] == pytest.approx(2.0, abs=0.05)


async def test_all_bytes_both_ways_are_in_the_book(bench: FakeBench) -> None:
    """What was sent and what came back stands in the traffic entries, byte for byte."""
    await check(bench)

    sent: list[str] = []
    for record in bench.book.records():
        match record.entry:
            case Bytes(parts=parts):
                ends = accumulate((part.size for part in parts), initial=0)
                pieces = [
                    record.raw[end : end + part.size] for part, end in zip(parts, ends, strict=False) if part.sent
                ]
            case CountedBytes() as counted:
                pieces = [asked for asked, _ in exchanges_in(counted, record.raw)]
            case _:
                continue
        sent += b"".join(pieces).decode().splitlines()
    assert [line for link in bench.links for line in link.sent] == sent


async def test_what_is_to_be_sent_is_written_before_and_what_came_of_it_after(bench: FakeBench) -> None:
    """Every question has an intent entry before its result entry, and every trial its beginning before its readings."""
    await check(bench)

    kinds = [type(record.entry) for record in bench.book.records()]
    assert kinds.count(Intent) == kinds.count(Result)
    assert kinds.count(TrialBegan) == kinds.count(Trial)
    assert kinds.index(Intent) < kinds.index(Result)


def save() -> Steps[bool]:
    """Ask for a release and save under it only if it was given."""
    request = Release("save", "save the settings", ("The store is written.",), frozenset({Effect.SAVE}))
    granted = yield from release(request)
    if granted:
        yield from ask(SAVE_STORED, release="save")
    return granted


def save_without_asking() -> Steps[None]:
    """Save without a release."""
    yield from ask(SAVE_STORED)


async def test_nothing_but_questions_goes_out_without_a_release(bench: FakeBench) -> None:
    """A procedure that forgets to ask is stopped before a byte is sent."""
    with pytest.raises(Unreleased, match="M500"):
        await bench.run(save_without_asking())

    assert "M500" not in bench.links[0].sent


@pytest.mark.parametrize("granted", [True, False])
async def test_a_release_decides(bench: FakeBench, *, granted: bool) -> None:
    """With a yes the command goes out once; with a no it does not."""
    bench.answers = lambda key: granted if key == "save" else None

    ended = await bench.run(save())

    assert granted is ended.result
    assert int(granted) == bench.links[0].sent.count("M500")


@pytest.mark.parametrize("inverted", [True, False])
async def test_lengths_are_asked_for_only_where_nothing_failed(bench: FakeBench, *, inverted: bool) -> None:
    """After a failed loop check the reserve is left for the run after the repair, and that is in the record."""
    bench.inverted = inverted

    await bench.run(installation(SHORT))

    assert ("reserve.now" in bench.desk.asked) is not inverted
    assert not bench.desk.findings[Reserve].done


async def test_a_printer_that_is_busy_for_ever_ends_the_run(bench: FakeBench) -> None:
    """The wait has a limit, whoever waits is told why, and what the printer said is in the book long before the end."""
    bench.surprise = lambda _queries: b""

    def steps() -> Steps[None]:
        yield PhaseBegins("asking", "Asking")
        for beat in range(1, 1000):
            bench.links[-1].say(BUSY, after_s=2.0 * beat)
        yield from ask(SWITCHES)
        yield PhaseEnds("asking")

    ended = await bench.run(steps())

    assert ended.interruption is not None
    assert InterruptionKind.NO_END is ended.interruption.kind
    assert "the last of them 'echo:busy: processing'" in ended.interruption.detail
    assert 600.0 <= bench.clock.monotonic() < 700.0
    notes = [status.note for status in bench.desk.statuses if "busy" in status.note]
    assert "The printer says that it is busy, for 6 s now" == notes[0]
    assert 290 < len(notes) < 310
    kept = [record for record in bench.book.records(Bytes) if BUSY in record.raw]
    assert max(part.at_us for record in kept for part in record.entry.parts) > 599e6
    assert max(record.entry.parts[-1].at_us - record.entry.parts[0].at_us for record in kept) < 3e6
