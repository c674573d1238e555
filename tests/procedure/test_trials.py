"""The trials of a loop check, answered by a made-up person: when they end, what is said, and what counts."""

from collections.abc import Callable
from dataclasses import replace

from commission.asking.message import Punch, Tell
from commission.asking.request import Confirm, TakeTrial
from commission.asking.response import TimedReading, TrialTaken
from commission.asking.steps import Steps
from commission.asking.table import after
from commission.evidence import measured
from commission.evidence.findings.base import Finding
from commission.evidence.findings.series import ChangeMade, ExaminedNothingFound, TrialSeries
from commission.judge.pace import countdown_s
from commission.judge.plan import Plan
from commission.judge.trial import Came, TimedTrial
from commission.judge.trial_series import Begun, SeriesSoFar, Tally
from commission.procedure.loop.series import continued, named
from commission.procedure.loop.trials import Series, run_series
from commission.vocabulary import Instruction, Presence, Reading, Spoken, SwitchBehaviour, Verdict
from tests.support.scripted_phase import ScriptedPhase

FULL, SHORT = Plan(seed=20), Plan(seed=20, cycles=6)
READS = {Presence.IN: Reading.ACTIVE, Presence.OUT: Reading.INACTIVE}
Answer = Callable[[TakeTrial, int], TrialTaken]


def dwell(reading: Reading) -> tuple[TimedReading, ...]:
    """Twenty-one readings of that kind."""
    return tuple(TimedReading(5 + 0.1 * place, reading, "") for place in range(21))


def right(request: TakeTrial, _number: int) -> TrialTaken:
    """The switch follows the hand."""
    return TrialTaken((), dwell(READS[request.presence]))


def wrong_at(*numbers: int) -> Answer:
    """The moves of these numbers, counted from 1 by the moves alone, read wrong."""
    moves = [0]

    def answer(request: TakeTrial, number: int) -> TrialTaken:
        if request.instruction is Instruction.LEAVE:
            return right(request, number)
        moves[0] += 1
        return TrialTaken((), dwell(READS[request.presence.other if moves[0] in numbers else request.presence]))

    return answer


class Taken:
    """What came of the trials."""

    def __init__(self, plan: Plan, answer: Answer, so_far: SeriesSoFar | None = None) -> None:
        self.series = Series(Tally(so_far) if so_far is not None else Tally())
        self.prompts: list[TakeTrial] = []
        self.told: list[str] = []
        self.asked: list[str] = []
        self.plan = plan
        self._carry_out(run_series(plan, "filament", self.series), answer)

    def _carry_out(self, steps: Steps[Series], answer: Answer) -> None:
        response: object = None
        while True:
            try:
                request = steps.send(response)
            except StopIteration:
                return
            response = None
            match request:
                case TakeTrial():
                    self.prompts.append(request)
                    response = answer(request, len(self.prompts))
                case Confirm():
                    self.asked.append(request.key)
                    response = True
                case Tell():
                    self.told += request.lines
                case Punch():
                    self.told.append(request.text)

    def moves(self, presence: Presence) -> int:
        """How many moves of this kind were asked for."""
        return sum(p.presence is presence and p.instruction is not Instruction.LEAVE for p in self.prompts)


def test_a_clean_series_takes_twenty_two_of_each() -> None:
    """And nothing is said of it meanwhile."""
    taken = Taken(FULL, right)

    assert (22, 22, []) == (taken.moves(Presence.IN), taken.moves(Presence.OUT), taken.told)


def test_a_misread_is_said_at_once_and_takes_thirty_eight() -> None:
    """Of the kind that read wrong; the person is told that a slip of the hand does that too."""
    taken = Taken(FULL, wrong_at(15))  # the eighth insertion

    assert 38 == taken.moves(Presence.IN)
    assert 1 == len(taken.told)
    assert "read wrong. A slip of the hand does that too" in taken.told[0]
    assert "with filament in the plan goes on to 38 trials" in taken.told[0]
    assert taken.series.can_pass(FULL)


def test_a_misread_before_the_polarity_is_known_is_said_once_it_is() -> None:
    """Which reading is the wrong one is not known before."""
    taken = Taken(FULL, wrong_at(3))

    assert ["Prompt"] == [text.split()[0] for text in taken.told]
    assert 38 == taken.moves(Presence.IN)


def test_the_second_misread_of_a_kind_ends_the_series() -> None:
    """At that trial, and it is said which two they were."""
    taken = Taken(FULL, wrong_at(15, 19))

    assert (10, 9) == (taken.moves(Presence.IN), taken.moves(Presence.OUT))
    assert "Trials 8 and 10 read wrong. The second misread ends the series." in taken.told[-2]
    assert not taken.series.can_pass(FULL)


def test_one_misread_of_each_kind_still_passes() -> None:
    """Each kind has its own allowance."""
    taken = Taken(FULL, wrong_at(15, 20))

    assert (38, 38) == (taken.moves(Presence.IN), taken.moves(Presence.OUT))
    assert taken.series.can_pass(FULL)


def test_a_short_check_goes_on_to_twenty_two_after_a_misread() -> None:
    """Six clean cycles are its end otherwise."""
    clean, one = Taken(SHORT, right), Taken(SHORT, wrong_at(3))

    assert (6, 22) == (clean.moves(Presence.IN), one.moves(Presence.IN))


def late_at(*numbers: int) -> Answer:
    """At these moves the hand comes 0.3 s after a countdown of 3 s."""
    moves = [0]

    def answer(request: TakeTrial, number: int) -> TrialTaken:
        moves[0] += request.instruction is not Instruction.LEAVE
        if request.instruction is Instruction.LEAVE or moves[0] not in numbers:
            return right(request, number)
        former, asked = READS[request.presence.other], READS[request.presence]
        readings = [former] * 3 + [asked] * 18
        return TrialTaken((), tuple(TimedReading(3 + 0.1 * place, each, "") for place, each in enumerate(readings)))

    return answer


def test_a_late_hand_costs_one_more_cycle_and_no_misread() -> None:
    """It is said at once; the filament is where it was asked for, so that the prompts go on."""
    taken = Taken(FULL, late_at(15))

    assert (23, 23) == (taken.moves(Presence.IN), taken.moves(Presence.OUT))
    assert [] == taken.asked
    assert 1 == len(taken.told)
    assert "insert: the reading changed after the countdown was over, as of a hand that came late." in taken.told[0]
    assert (1, 22) == (taken.series.late, taken.series.kind(Presence.IN, FULL).trials)
    assert taken.series.can_pass(FULL)


def test_late_hands_beyond_the_limit_end_the_trials() -> None:
    """As many as may be set aside later; one more, and nothing would be judged."""
    taken = Taken(FULL, late_at(*range(13, 30)))

    assert FULL.set_aside_limit + 1 == taken.series.late
    assert not taken.series.can_pass(FULL)


def set_aside_from(first: int) -> Answer:
    """Every trial from this one on is set aside after its dwell."""

    def answer(request: TakeTrial, number: int) -> TrialTaken:
        taken = right(request, number)
        return replace(taken, spoken=Spoken.LATER) if number >= first else taken

    return answer


def test_setting_aside_without_end_ends_the_trials() -> None:
    """One more than may be set aside later is the last that is asked for; what stands cannot pass."""
    taken = Taken(FULL, set_aside_from(30))

    assert 29 + FULL.set_aside_limit + 1 == len(taken.prompts)
    assert not taken.series.can_pass(FULL)
    assert [
        "A pass is already out of reach: more trials would not change the verdict. The trials end here."
    ] == taken.told


def test_setting_aside_from_the_first_trial_ends_too() -> None:
    """No polarity is known then: the trials end with what to do, and nothing is judged of them."""
    taken = Taken(FULL, set_aside_from(1))

    said = (
        "Too many trials were set aside later or came late (5): the trials end here, and what they lack is not judged."
    )
    assert [said, said] == taken.told
    assert (FULL.set_aside_limit + 1, True) == (len(taken.prompts), taken.series.given_up)


def test_a_trial_set_aside_before_its_dwell_is_the_one_that_may_be() -> None:
    """It is taken again, the plan goes on to 38, and a misread beside it leaves the series not judged."""

    def held(request: TakeTrial, number: int) -> TrialTaken:
        return TrialTaken((), (), void_reason="wait", spoken=Spoken.BEFORE) if number == 16 else right(request, number)

    taken = Taken(FULL, held)
    kind = taken.prompts[15].presence

    assert ["trial.again"] == taken.asked
    assert 38 == taken.moves(kind) + (taken.prompts[15].instruction is Instruction.LEAVE)
    assert 1 == taken.series.counts.kind(kind).count(Came.SET_ASIDE)
    assert taken.series.can_pass(FULL)


def test_trials_on_record_are_counted_first() -> None:
    """A misread in an earlier run of the series is the one that is allowed."""
    earlier = TimedTrial(Presence.IN, True, (), dwell(Reading.INACTIVE))
    once = Taken(FULL, right, SeriesSoFar(trials=(earlier,), runs=("bench-3/2031-03-13/1",)))
    twice = Taken(FULL, wrong_at(15), SeriesSoFar(trials=(earlier,), runs=("bench-3/2031-03-13/1",)))

    assert 37 == once.moves(Presence.IN)
    assert not twice.series.can_pass(FULL)


PACED = Plan(seed=20, own_pace=True)


def at(time_s: float) -> Answer:
    """The switch follows the hand, which moves the filament so long after the prompt."""

    def answer(request: TakeTrial, number: int) -> TrialTaken:
        if request.instruction is Instruction.LEAVE:
            return right(request, number)
        before = TimedReading(0.1, READS[request.presence.other], ""), TimedReading(time_s, READS[request.presence], "")
        return TrialTaken(before, dwell(READS[request.presence]))

    return answer


def test_the_countdown_follows_the_pace() -> None:
    """The plan's 5 s for six moves, then 1.3 times 1.4 s and half a second, before leave-it prompts too."""
    taken = Taken(PACED, at(1.4))
    moves = [prompt.instruction is not Instruction.LEAVE for prompt in taken.prompts]
    sixth = next(number for number in range(len(moves)) if sum(moves[:number]) == 6)

    assert [5.0] * sixth + [2.32] * (len(moves) - sixth) == [prompt.countdown_s for prompt in taken.prompts]
    assert not all(moves[sixth:])


def test_a_named_countdown_does_not_follow() -> None:
    """As with `--countdown`."""
    assert {5.0} == {prompt.countdown_s for prompt in Taken(FULL, at(1.4)).prompts}


def test_trials_of_earlier_runs_set_no_pace() -> None:
    """The hands may be another person's today."""
    shown = Taken(PACED, at(0.4)).series.tally.now
    taken = Taken(PACED, at(1.4), SeriesSoFar(trials=tuple(shown[:10]), runs=("bench-3/2031-03-13/1",)))

    assert 5.0 == taken.prompts[0].countdown_s
    assert {5.0, 2.32} == {prompt.countdown_s for prompt in taken.prompts}


def test_worked_out_again_the_pace_is_the_same() -> None:
    """From what the record holds of each trial, whose moments are rounded."""
    live = Taken(PACED, at(1.400049))
    written = [entry.timed for entry in _on_record(live)]

    for number, prompt in enumerate(live.prompts):
        assert prompt.countdown_s == countdown_s(PACED, written[:number])


def _on_record(taken: Taken) -> list[measured.Trial]:
    """The entries of these trials."""
    found = [after(asked, came) for asked, (_, came) in zip(taken.prompts, taken.series.taken, strict=True)]
    return [entry for entry in found if isinstance(entry, measured.Trial)]


def test_an_inverted_switch_ends_the_trials_once_it_is_known() -> None:
    """There is nothing to count on."""
    taken = Taken(FULL, lambda request, _: TrialTaken((), dwell(READS[request.presence.other])))

    assert SwitchBehaviour.INVERTED is taken.series.behaviour
    assert (6, []) == (taken.moves(Presence.IN), taken.told)


FAILED = SeriesSoFar(runs=("bench-3/2031-03-13/1",), came_to=Verdict.FAIL)


def begun(series: SeriesSoFar, answer: str) -> tuple[SeriesSoFar, list[Finding], list[str]]:
    """The series that follows that answer, what is recorded, and what is asked."""

    def steps() -> Steps[SeriesSoFar]:
        found = yield from continued(series, "R. Okafor")
        yield from named(found, "bench-3", FULL)
        return found

    answers = {"series.since": answer, "series.what": "a new cable", "series.examined": "cable, plugs, lever"}
    played = ScriptedPhase(answers).play(steps())
    assert played.result is not None
    return played.result, list(played.findings), played.asked


def test_nothing_is_asked_of_a_series_without_a_blemish() -> None:
    """It goes on as it is, and says which one it is."""
    series, found, asked = begun(SeriesSoFar(), "nothing")

    assert (1, []) == (series.number, asked)
    assert ["Series 1 of this printer, begun by: installation."] == [each.sentences[0] for each in found]


def test_a_change_that_is_signed_for_begins_a_new_series() -> None:
    """What was done, who says so and what failed before stand in the record."""
    series, found, _ = begun(FAILED, "changed")

    assert (2, Begun.CHANGE, FAILED.runs) == (series.number, series.begun, series.failed_before)
    change, told = found
    assert isinstance(change, ChangeMade)
    assert isinstance(told, TrialSeries)
    assert ("a new cable", "R. Okafor") == (change.what, change.by)
    assert (
        "Series 2 of this printer, begun by: a recorded change (a new cable).",
        "Earlier series failed in: bench-3/2031-03-13/1.",
        "A pass takes, of each kind, 22 trials without a misread, or 38 with one; the second misread ends the series.",
    ) == told.sentences


def test_an_examination_that_found_nothing_begins_a_longer_series() -> None:
    """Once: the one after it offers no such answer."""
    series, found, _ = begun(FAILED, "examined")

    assert isinstance(found[0], ExaminedNothingFound)
    assert "27 trials without a misread, or 44 with one" in found[-1].sentences[-1]
    assert not SeriesSoFar(begun=Begun.EXAMINED, came_to=Verdict.FAIL).may_be_examined
    assert series.begun is Begun.EXAMINED


def test_a_failed_series_stands_where_nothing_was_done() -> None:
    """The trials are taken all the same; they cannot pass."""
    series, _, asked = begun(FAILED, "nothing")

    assert (FAILED, ["series.since"]) == (series, asked)
