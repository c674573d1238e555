"""The desk where a script answers."""

import pytest

from commission.desk.base import DeskError, Mark, OperatorStop
from tests.desk.requests import (
    CAUTION,
    COUNTING,
    DWELLING,
    FINDING,
    INSERT,
    INSERTED,
    ITEM,
    LENGTH,
    READY,
    REMARK,
    ROUTE,
    TAKEN,
    UNPLUG,
    WATCHED,
    WIGGLE,
)
from tests.desk.scripts import desk, entry, hands_finished, opened, printed


async def test_whole_conversation() -> None:
    """A run answered by a script prints each request, each change and each answer on a line of its own."""
    used = desk(
        entry("*.ready", "yes"),
        entry("wiring.contact", "NC"),
        entry("reserve.length", "412,5"),
        entry("unplug.off", "released"),
        entry("trial.insert", "done"),
        entry("wiggle", "done"),
    )

    async with opened(used):
        await used.tell(CAUTION)
        assert await used.confirm(READY)
        assert await used.choose(ROUTE) == "NC"
        assert await used.enter(LENGTH) == "412.5"
        await used.hold(UNPLUG)
        await used.begin_trial(INSERT)
        await hands_finished(used)
        for status in (COUNTING, COUNTING, INSERTED, DWELLING, DWELLING):
            used.show(status)
            assert await used.take_marks() == ()
        await used.end_trial(INSERT, TAKEN)
        await used.begin_watch(WIGGLE)
        await hands_finished(used)
        await used.end_watch(WIGGLE, WATCHED)
        await used.establish(FINDING)
        await used.punch(ITEM)

    assert """\
CAUTION: Hot nozzle
It stays hot for minutes.
Look at bench-3.
Is the filament out of the sensor?
> yes
Which contact is wired?
  1. normally open
  2. normally closed: opens when the filament goes in
> NC
Length from sensor to drive gear (mm, from 0 to 2000)
> 412,5
HOLD POINT: Unplug the sensor
CAUTION: The supply bay is for qualified persons.
DANGER: the nozzle stays hot.
1. Switch off and pull the mains plug.
2. Pull the USB cable.
3. Unplug the sensor at the board.
The tool listens until the port goes, and opens it again after the release.
Is the sensor unplugged?
> released
Prompt 1 of 27, cycle 1: INSERT THE FILAMENT.
The readings begin in 5.0 s.
> done
Reading: inactive (open).
Reading: active (TRIGGERED).
Keep still: 3 readings over 2.0 s.
Prompt 1, insert: 3 readings, all active (TRIGGERED).
Wiggle the cable
Move it at both plugs.
Watching for 1.0 min and at least 600 readings, at most 2.0 min. Filament in.
> done
Wiggle the cable: 3 readings, 2 active (TRIGGERED) and 1 inactive (open) in 2.0 s, 2 changes, largest gap 1.0 s. \
1 query brought no reading. Watched: 0 ms.
Finding: The polarity is direct, 2703 to 1.
Open item A (unsafe to go on): Unplugged reads in. Cure: Change the contact.
""" == printed(used)


async def test_spoilt_trial_gives_its_reason() -> None:
    """A spoilt trial is marked once, and its reason answers the next text asked for."""
    used = desk(entry("trial.insert", "spoilt: it slipped"))
    await used.begin_trial(INSERT)
    await hands_finished(used)

    assert (Mark.SPOILT,) == await used.take_marks()
    assert () == await used.take_marks()
    assert "it slipped" == await used.enter(REMARK)
    with pytest.raises(DeskError, match="no entry matches it"):
        await used.enter(REMARK)


async def test_nothing_changed() -> None:
    """The answer `nothing changed` is the mark of that name."""
    used = desk(entry("trial.insert", "nothing changed"))
    await used.begin_trial(INSERT)
    await hands_finished(used)

    assert (Mark.NOTHING_CHANGED,) == await used.take_marks()


async def test_entries_are_used_up_in_order() -> None:
    """The first matching entry with uses left is taken."""
    used = desk(entry("loop_check.ready", "no", "times = 1"), entry("loop_check.*", "yes", "times = 1"))

    assert [False, True] == [await used.confirm(READY), await used.confirm(READY)]
    with pytest.raises(
        DeskError, match=r'no answer for the request "loop_check\.ready": answer 2 has been used 1 times'
    ):
        await used.confirm(READY)


async def test_request_without_an_entry() -> None:
    """A request that no entry answers is named, with what to add."""
    used = desk(entry("trial.*", "done"))

    with pytest.raises(DeskError) as caught:
        await used.hold(UNPLUG)

    assert (
        'The script bench-3.toml has no answer for the request "unplug.off": no entry matches it. '
        'Add a table [[answer]] with request = "unplug.off" and its answer.'
    ) == str(caught.value)


@pytest.mark.parametrize(
    ("answer", "complaint"),
    [
        ("perhaps", "Type y for yes or n for no"),
        ("", "Type y for yes or n for no"),
        ("released", "Type y for yes or n for no"),
    ],
)
async def test_answer_of_the_wrong_kind(answer: str, complaint: str) -> None:
    """An answer that does not fit its request names the entry and what would fit."""
    used = desk(entry("*", answer))

    with pytest.raises(DeskError, match=rf"^bench-3\.toml, answer 1, for loop_check\.ready: '{answer}'.*{complaint}"):
        await used.confirm(READY)


async def test_yes_releases_no_hold_point() -> None:
    """A hold point is released by that word only."""
    used = desk(entry("*", "yes"))

    with pytest.raises(DeskError, match="A hold point is answered by: released"):
        await used.hold(UNPLUG)


@pytest.mark.parametrize("answer", ["yes", "spoilt:", "spoilt: ", "Done"])
async def test_no_answer_to_a_trial(answer: str) -> None:
    """A trial refuses what says nothing about the hands, and a spoilt one without a reason."""
    used = desk(entry("*", answer))

    with pytest.raises(DeskError, match="A trial or a watch is answered by: done"):
        await used.begin_trial(INSERT)


async def test_operator_stop_by_the_script() -> None:
    """The answer `operator stop` ends the run at a question and in a trial."""
    used = desk(entry("*", "operator stop"))

    with pytest.raises(OperatorStop, match="the script ends the run here"):
        await used.confirm(READY)
    await used.begin_trial(INSERT)
    await hands_finished(used)
    with pytest.raises(OperatorStop, match="the script ends the run here"):
        await used.take_marks()
