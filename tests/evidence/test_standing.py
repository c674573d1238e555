"""What stands of a run: of every trial, watch, power-up and finding whether it counts, and why not.

The property at the end holds the rule against one that looks at each item by itself, over everything before and after
it, and keeps nothing between two items; it shares no code with the rule.
"""

from collections.abc import Sequence
from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec import structs

from commission.evidence.entry import NEVER, Entry, Record, Unreadable, of_kind
from commission.evidence.findings import loop
from commission.evidence.findings.base import Finding
from commission.evidence.findings.cause import Diagnosis
from commission.evidence.findings.meeting import OpenOnRecord, Repair
from commission.evidence.found import Established
from commission.evidence.measured import Moves, TimedReading, Trial, Watch
from commission.evidence.runs import REWIRING, Note, PhaseStarted
from commission.evidence.standing import RunStanding, Standing
from commission.evidence.stands import Item, PowerUp, Why
from commission.evidence.talk import HoldReleased
from commission.judge.power import PowerSeen
from commission.vocabulary import Instruction, Presence, Reading
from tests.support.made import RUN, begun, ended, found, made, on_record

ACTIVE, INACTIVE, UNKNOWN = Reading.ACTIVE, Reading.INACTIVE, Reading.UNKNOWN
LOOP = PhaseStarted(name="loop_check", title="Loop check")
OTHER = PhaseStarted(name="wiring", title="Wiring")


def read(*readings: Reading) -> tuple[TimedReading, ...]:
    """Readings a tenth of a second apart."""
    return tuple(TimedReading(0.1 * place, reading, "") for place, reading in enumerate(readings))


def trial(*dwell: Reading, void: str = "") -> Trial:
    """A trial with this dwell; five active readings where none is given."""
    return made(Trial, dwell=read(*(dwell or (ACTIVE,) * 5)), void_reason=void)


def watch(key: str, *readings: Reading) -> Watch:
    """A watch of this key."""
    return made(Watch, key=key, readings=read(*(readings or (ACTIVE,) * 5)))


def moves(key: str = "moving") -> Moves:
    """Test moves of this key."""
    return made(Moves, key=key)


def stands(*entries: Entry) -> RunStanding:
    """What stands of one run with these entries."""
    return Standing(on_record(entry, place) for place, entry in enumerate(entries, 1)).run(RUN)


def whys(*entries: Entry) -> list[Why | None]:
    """Why each trial, watch, series of moves and finding of the run does not count, in order."""
    return [item.why for item in stands(*entries).of(Entry)]


@pytest.mark.parametrize(
    ("taken", "why"),
    [
        (trial(), None),
        (trial(ACTIVE, INACTIVE, ACTIVE, INACTIVE, INACTIVE), None),
        (trial(void="dropped it"), Why.VOIDED),
        (trial(ACTIVE, ACTIVE, ACTIVE, UNKNOWN, UNKNOWN), Why.UNREAD),
        (made(Trial, dwell=()), Why.UNREAD),
        (trial(UNKNOWN, void="dropped it"), Why.VOIDED),
    ],
)
def test_a_trial_counts_unless_voided_or_unread(taken: Trial, why: Why | None) -> None:
    """Whatever it shows; 19 of 21 readings must be known, the same share of any other dwell."""
    assert [why] == whys(taken)


def test_a_watch_that_was_spoilt_before_it_began_does_not_count() -> None:
    """It has no readings, and its reason stands beside it; one that was not stands."""
    spoilt = made(Watch, key="diagnose.filament_in", readings=(), void_reason="the finger slipped")

    assert [Why.VOIDED, None] == whys(spoilt, watch("diagnose.filament_in"))


@pytest.mark.parametrize(("readings", "why"), [((ACTIVE,) * 21, Why.VOIDED), ((INACTIVE,) * 21, None)])
def test_a_trial_set_aside_afterwards_counts_where_it_read_wrong(
    readings: tuple[Reading, ...], why: Why | None
) -> None:
    """A word in the next trial takes back what was right; it cannot take back what read wrong."""
    next_one = made(Trial, dwell=read(*(ACTIVE,) * 5), void_before="wrong side")

    assert [why, None] == whys(trial(*readings), next_one)
    assert [None, None, None, why, None] == whys(trial(), trial(), trial(), trial(*readings), next_one)


def test_a_word_on_the_trial_before_takes_nothing_back_where_there_was_none() -> None:
    """In the first trial of a phase there is nothing to set aside, and what another phase read stays."""
    first = made(Trial, dwell=read(*(ACTIVE,) * 5), void_before="wrong side")

    assert [None] == whys(LOOP, first)
    assert [None, None] == whys(LOOP, trial(), OTHER, first)


def test_a_move_made_up_for_is_dropped_when_set_aside_afterwards() -> None:
    """The prompt before it counts its misread already; the trial in which the hand made up for it read right."""
    forgotten = made(Trial, presence=Presence.OUT, instruction=Instruction.WITHDRAW, dwell=read(*(ACTIVE,) * 21))
    made_up = made(
        Trial,
        presence=Presence.OUT,
        instruction=Instruction.LEAVE,
        before=read(*(ACTIVE,) * 20, *(INACTIVE,) * 30),
        dwell=read(*(INACTIVE,) * 21),
    )

    assert [None, None, None] == whys(forgotten, made_up, trial())
    assert [None, Why.VOIDED, None] == whys(forgotten, made_up, made(Trial, dwell=read(ACTIVE), void_before="slipped"))


def test_a_phase_carried_out_again_takes_back_what_it_had_shown() -> None:
    """Trials, watches, moves and findings of the first time do not count, those of other phases and of none do."""
    shown: tuple[Entry, ...] = (trial(), watch("wiggle"), moves(), found(loop.FailSafeFound))
    said = stands(trial(), OTHER, trial(), LOOP, *shown, LOOP, *shown)

    assert [None] * 2 + [Why.DONE_AGAIN] * 4 + [None] * 4 == [item.why for item in said.of(Entry)]
    assert 1 == sum(item.counts for item in said.of(Established))


def test_a_phase_begun_again_and_not_finished_has_shown_nothing() -> None:
    """What counts is what was carried out last, also where that came to no end."""
    said = stands(LOOP, trial(), found(loop.Polarity), LOOP)

    assert said.newest(loop.Polarity) is None
    assert [] == [item for item in said.of(Trial) if item.counts]


def test_the_first_reason_is_the_one_that_is_told() -> None:
    """A voided trial of a phase that is done again stays voided."""
    assert [Why.VOIDED, Why.LOOK, Why.DONE_AGAIN] == whys(
        LOOP, trial(void="slipped"), watch("wiggle.before"), trial(), LOOP
    )


@pytest.mark.parametrize(
    ("finding", "taken", "why"),
    [
        (loop.WiggleSetAside, watch("wiggle"), Why.FILAMENT_OUT),
        (loop.WiggleLeftOut, watch("wiggle"), Why.LEFT_OUT),
        (loop.MovingWiggleSetAside, moves(), Why.FILAMENT_OUT),
        (loop.MovingWiggleLeftOut, moves(), Why.LEFT_OUT),
        (loop.WiggleSetAside, moves(), None),
        (loop.MovingWiggleSetAside, watch("wiggle"), None),
        (loop.WiggleSetAside, watch("steady"), None),
        (loop.Wiggle, watch("wiggle"), None),
    ],
)
def test_a_wiggle_is_taken_back_by_its_own_findings(finding: type[Finding], taken: Entry, why: Why | None) -> None:
    """Set aside because the filament was out, or left out; the next one counts, and one of another phase does."""
    said = whys(OTHER, taken, LOOP, taken, found(finding), taken)

    assert [None, why, None, None] == said


def test_a_look_counts_where_it_showed_a_misread() -> None:
    """Filament was in and the switch read out before anything was moved: that is what was read of it."""
    look = watch("wiggle.before")

    assert [Why.LOOK] == whys(LOOP, look)
    assert [Why.LOOK, None, None] == whys(LOOP, look, look, found(loop.WiggleMisread))
    assert [Why.DONE_AGAIN, Why.DONE_AGAIN] == whys(LOOP, look, found(loop.WiggleMisread), LOOP)


def test_the_newest_of_some_findings_stands() -> None:
    """A diagnosis weighed anew replaces the one before it; two of another kind both stand."""
    first, second = found(Diagnosis, "Not decided."), found(Diagnosis, "Found.")
    said = stands(first, found(loop.StartUp, "A."), OTHER, second, found(loop.StartUp, "B."))

    assert [Why.REPLACED, None, None, None] == [item.why for item in said.of(Established)]
    assert second.finding == said.newest(Diagnosis)
    assert ["A.", "B."] == [each.entry.finding.sentences[0] for each in said.of(Established) if _is_start_up(each)]


def _is_start_up(item: Item[Established]) -> bool:
    return isinstance(item.entry.finding, loop.StartUp)


OFF = HoldReleased(key="unplug.1", restarted=True, port_gone=True)
MOVED: tuple[Entry, ...] = tuple(watch(f"still_plugged.{deed}", INACTIVE) for deed in ("insert", "withdraw") * 2)


def concluded(*readings: Reading, watched: bool = True) -> Established:
    """The finding that holds all power-ups that stand."""
    seen = (PowerSeen.POWER_OFF,) * len(readings)
    return found(loop.UnpluggedAtBoard, readings=readings, power=seen, watched=(watched,) * len(readings))


def set_aside(key: str = "unplugged.1") -> Established:
    """The finding that the reading followed the filament."""
    return found(loop.UnpluggedSetAside, key=key)


def power_ups(*entries: Entry) -> list[tuple[Reading, Why | None]]:
    """What each power-up read, and why it does not count."""
    return [(each.reading, each.why) for each in stands(*entries).power_ups]


def test_each_power_up_counts_once_it_is_concluded() -> None:
    """With what was read throughout, and how far the power-off before it was seen."""
    first, second = watch("unplugged.1", INACTIVE), watch("unplugged.2", INACTIVE)
    word = HoldReleased(key="unplug.2")
    said = stands(
        LOOP, OFF, first, *MOVED, concluded(INACTIVE), word, second, *MOVED, concluded(INACTIVE, UNKNOWN, watched=False)
    )

    assert [(INACTIVE, True, None), (UNKNOWN, False, None)] == [(p.reading, p.watched, p.why) for p in said.power_ups]
    assert [PowerSeen.POWER_OFF, PowerSeen.WORD] == [each.power for each in said.power_ups]
    assert [True, True] == [each.at_board for each in said.power_ups]


def test_a_power_up_with_the_wrong_plug_counts_for_nothing() -> None:
    """Neither what was read hands off nor what was read while the filament was moved; the right plug is another one."""
    wrong, right = watch("unplugged.1", ACTIVE), watch("unplugged.1", INACTIVE)
    entries: tuple[Entry, ...] = (LOOP, wrong, *MOVED, set_aside(), right, *MOVED, concluded(INACTIVE))

    assert [(UNKNOWN, Why.FOLLOWED), (INACTIVE, None)] == power_ups(*entries)
    assert [Why.FOLLOWED] * 5 + [None] * 7 == whys(*entries)


def test_a_power_up_that_was_not_concluded_shows_nothing() -> None:
    """As where the run was broken off in it; one that was concluded stays what it is."""
    again = watch("unplugged.2", INACTIVE)
    entries: tuple[Entry, ...] = (LOOP, watch("unplugged.1"), *MOVED, concluded(INACTIVE), again, *MOVED[:1])

    assert [(INACTIVE, None), (UNKNOWN, Why.NOT_CONCLUDED)] == power_ups(*entries)
    assert [(INACTIVE, Why.DONE_AGAIN)] == power_ups(*entries[:7], LOOP)


def test_a_move_without_a_power_up_is_part_of_none() -> None:
    """What was read while filament moved makes no power-up of itself, and the next one begins with its own rest."""
    assert [] == power_ups(LOOP, *MOVED)
    assert [(INACTIVE, None)] == power_ups(LOOP, *MOVED, watch("unplugged.1", INACTIVE), concluded(INACTIVE))


def test_a_conclusion_is_that_of_the_power_up_that_is_open() -> None:
    """The other kind's finding concludes none, one that is concluded stays so, and without a power-up there is none."""
    far, at_sensor = watch("far_end", ACTIVE), found(loop.UnpluggedAtSensor, reading=ACTIVE)

    assert [(UNKNOWN, Why.NOT_CONCLUDED)] == power_ups(LOOP, far, *MOVED, concluded(INACTIVE))
    assert [(ACTIVE, None)] == power_ups(LOOP, far, *MOVED, at_sensor, found(loop.UnpluggedAtSensor, reading=INACTIVE))
    assert [(ACTIVE, None)] == power_ups(LOOP, far, *MOVED, at_sensor, set_aside("far_end"))
    assert [] == power_ups(LOOP, concluded(INACTIVE), at_sensor, set_aside())


def test_a_conclusion_from_no_known_watch_is_none() -> None:
    """A finding that does not say whether a power-up was read for long enough concludes none."""
    unsaid = found(loop.UnpluggedAtBoard, readings=(INACTIVE,), power=(), watched=())

    assert [(UNKNOWN, Why.NOT_CONCLUDED)] == power_ups(LOOP, watch("unplugged.1", INACTIVE), *MOVED, unsaid)


def test_the_cable_unplugged_at_the_sensor_is_a_power_up_of_its_own() -> None:
    """Its own finding concludes it, and no other does; that is there once enough was read. It is none at the board."""
    far = watch("far_end", ACTIVE)
    said = stands(LOOP, far, *MOVED, concluded(INACTIVE), found(loop.UnpluggedAtSensor, reading=ACTIVE))

    (power_up,) = said.power_ups
    assert (False, ACTIVE, True, None) == (power_up.at_board, power_up.reading, power_up.watched, power_up.why)


def test_earlier_runs_concluded_a_power_up_from_its_rest_alone() -> None:
    """In them the filament was not moved and nothing was concluded: most of what was read hands off is what it read."""
    rest = watch("unplugged.1", INACTIVE, INACTIVE, ACTIVE)

    (earlier,), (now,) = stands(LOOP, rest).power_ups, stands(LOOP, rest, *MOVED[:1]).power_ups

    assert (INACTIVE, True, None) == (earlier.reading, earlier.watched, earlier.why)
    assert (UNKNOWN, False, Why.NOT_CONCLUDED) == (now.reading, now.watched, now.why)


def test_a_conclusion_on_record_counts_and_not_the_rest_alone() -> None:
    """In a run that concludes its power-ups one without a move is concluded too, and the next one is open so far."""
    first, second = watch("unplugged.1", INACTIVE), watch("unplugged.2", INACTIVE)

    before, after = stands(LOOP, first, concluded(UNKNOWN), second).power_ups

    assert (UNKNOWN, True, None) == (before.reading, before.watched, before.why)
    assert (UNKNOWN, False, Why.NOT_CONCLUDED) == (after.reading, after.watched, after.why)


def test_the_wiring_is_another_one_after_a_repair_or_a_note() -> None:
    """Each printer's own; a run has the wiring that it ended with, and another kind of note changes none."""
    standing = Standing()
    written = (
        (begun("bench-3/d/1"), "bench-3/d/1"),
        (found(Repair), "bench-3/d/1"),
        (Note(tag_of_printer="bench-3", what="remark", text="dusty"), "bench-3/notes"),
        (begun("bench-4/d/1"), "bench-4/d/1"),
        (begun("bench-3/d/2"), "bench-3/d/2"),
        (Note(tag_of_printer="bench-3", what=REWIRING, text="new cable"), "bench-3/notes"),
        (begun("bench-3/d/3"), "bench-3/d/3"),
    )
    for place, (entry, run) in enumerate(written, 1):
        standing.take(on_record(entry, place, run=run))

    assert [1, 1, 2, 0] == [
        standing.run(number).wiring for number in ("bench-3/d/1", "bench-3/d/2", "bench-3/d/3", "bench-4/d/1")
    ]
    assert (2, 0) == (standing.wiring("bench-3"), standing.wiring("bench-4"))


def test_a_run_is_of_the_printer_that_its_beginning_names() -> None:
    """Else its number tells: day and count are its last two parts, and what is before them is the tag."""
    assert "bench-9" == stands(begun(RUN, tag="bench-9")).tag
    assert "hall 2/bench-3" == Standing().run("hall 2/bench-3/2031-03-14/1").tag


def test_records_are_sorted_by_kind_and_have_their_moment() -> None:
    """A time that is none stands before all others, and one without a zone is taken for UTC."""
    records = [on_record(trial(), 1), on_record(watch("wiggle"), 2), on_record(trial(), 3)]
    broken, bare = (structs.replace(records[0], at=at) for at in ("2031-14-03", "2031-03-14T09:00:00"))

    assert [1, 3] == [record.sequence for record in of_kind(records, Trial)]
    assert NEVER == broken.moment < bare.moment == datetime(2031, 3, 14, 9, tzinfo=UTC)


def test_the_first_reason_stays_with_a_power_up() -> None:
    """Taken back twice it keeps the first reason, and so do its watches."""
    power_up = PowerUp(Item(on_record(watch("unplugged.1"), 1), "loop_check"), True, PowerSeen.WORD)
    power_up.take_back(Why.FOLLOWED)
    power_up.take_back(Why.DONE_AGAIN)

    assert (Why.FOLLOWED, Why.FOLLOWED, False) == (power_up.why, power_up.rest.why, power_up.counts)


def test_a_run_without_an_entry_stands_on_no_wiring() -> None:
    """Asked of a run that the book does not have: nothing stands, and nothing was changed."""
    run = Standing().run(RUN)

    assert (0, [], None) == (run.wiring, run.of(Entry), run.newest(OpenOnRecord))


def test_what_cannot_be_read_shows_nothing() -> None:
    """It takes nothing back either."""
    standing = RunStanding(RUN)
    for place, entry in enumerate((LOOP, trial(), ended()), 1):
        standing.take(on_record(entry, place))
    standing.take(Record(9, RUN, "", 0, Unreadable("phase_started", "altered")))

    assert [None] == [item.why for item in standing.of(Trial)]


ANY = st.lists(
    st.sampled_from(
        [
            LOOP,
            OTHER,
            trial(),
            trial(void="slipped"),
            trial(UNKNOWN),
            watch("wiggle"),
            watch("wiggle.before"),
            watch("steady"),
            moves(),
            found(loop.WiggleSetAside),
            found(loop.WiggleLeftOut),
            found(loop.MovingWiggleSetAside),
            found(loop.WiggleMisread),
            found(Diagnosis),
            found(OpenOnRecord),
        ]
    ),
    max_size=14,
)


@settings(max_examples=400, deadline=None)
@given(entries=ANY)
def test_the_rule_is_that_of_each_item_by_itself(entries: list[Entry]) -> None:
    """In any order of phases, trials, watches, moves and findings, taken one by one or looked at as a whole."""
    assert whys(*entries) == [by_itself(entries, at) for at, entry in enumerate(entries) if entry not in (LOOP, OTHER)]


def by_itself(entries: Sequence[Entry], at: int) -> Why | None:
    """Why the entry at that place does not count, from everything that was written before and after it."""
    entry, phase = entries[at], phase_at(entries, at)
    why = at_once(entry)
    for later in range(at + 1, len(entries)):
        seen = entries[later]
        if why is Why.LOOK and kind_of(seen) is loop.WiggleMisread and newest_look(entries, later) == at:
            why = None
        if why is None and phase_at(entries, later) == phase:
            why = took_back(entry, seen)
        if why is None and kind_of(entry) is Diagnosis and kind_of(seen) is Diagnosis:
            why = Why.REPLACED
        if why is None and seen in (LOOP, OTHER) and getattr(seen, "name", "") == phase:
            why = Why.DONE_AGAIN
    return why


def at_once(entry: Entry) -> Why | None:
    """What is plain from the entry alone."""
    match entry:
        case Trial(void_reason="slipped"):
            return Why.VOIDED
        case Trial(dwell=dwell) if dwell[0].reading is UNKNOWN:
            return Why.UNREAD
        case Watch(key="wiggle.before"):
            return Why.LOOK
    return None


def took_back(entry: Entry, seen: Entry) -> Why | None:
    """What a finding of the same phase says of a watch or of moves before it."""
    match entry, kind_of(seen):
        case Watch(key="wiggle"), loop.WiggleSetAside:
            return Why.FILAMENT_OUT
        case Watch(key="wiggle"), loop.WiggleLeftOut:
            return Why.LEFT_OUT
        case Moves(), loop.MovingWiggleSetAside:
            return Why.FILAMENT_OUT
    return None


def phase_at(entries: Sequence[Entry], at: int) -> str:
    """The phase in which the entry was written."""
    begun = [each.name for each in entries[: at + 1] if isinstance(each, PhaseStarted)]
    return begun[-1] if begun else ""


def newest_look(entries: Sequence[Entry], before: int) -> int:
    """The place of the newest look in the same phase that is still one; -1 for none."""
    phase = phase_at(entries, before)
    looks = [at for at in range(before) if at_once(entries[at]) is Why.LOOK and phase_at(entries, at) == phase]
    still = [at for at in looks if by_itself(entries[:before], at) is Why.LOOK]
    return max(still, default=-1)


def kind_of(entry: Entry) -> type[Finding] | None:
    """The kind of finding that it establishes."""
    return type(entry.finding) if isinstance(entry, Established) else None
