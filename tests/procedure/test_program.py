"""The sheet of an installation: what it asks beforehand, and what it leaves to be asked where it comes."""

from collections.abc import Mapping
from typing import Any

import pytest

from commission.asking.form import Form, Known
from commission.asking.phase import FROM_THE_START, Progress
from commission.asking.request import Confirm, Request
from commission.asking.steps import Steps, confirm
from commission.desk.forms import Filling
from commission.dialect.runout import RunoutControl
from commission.jobs.program import by_program
from commission.jobs.settings_share import offered_watching
from commission.procedure.meeting.as_found import AsFound

ON = RunoutControl(supported=True, enabled=True, host_handling=False, distance_mm=20.0)


def found(runout: RunoutControl = ON) -> AsFound:
    """A printer that lists a filament switch."""
    return AsFound(switches=(), runout=runout, switch="filament")


def nothing() -> Steps[None]:
    """No steps at all."""
    yield from ()


def sheet(runout: RunoutControl = ON, progress: Progress = FROM_THE_START) -> Filling:
    """It in a person's hands."""
    form = next(by_program(found(runout), progress, nothing))
    assert isinstance(form, Form)
    return Filling(form)


def decided(*lines: str) -> Mapping[str, Any]:
    """The answers under the keys of the questions, once these lines have closed it."""
    filling = sheet()
    for line in lines:
        assert not filling.take(line)
    assert filling.closed
    return filling.sheet.expand(filling.answers)


def test_only_the_material_has_to_be_given() -> None:
    """What is loaded nobody can know; every part is taken unless it is left out."""
    assert ["function.material"] == [row.question.key for row in sheet().missing]

    answers = decided("PLA", "")

    assert {"warm", "PLA", "200"} == {answers[f"function.{key}"] for key in ("mode", "material", "celsius")}
    assert all(answers[key] for key in answers if key.endswith(".now"))


def test_no_release_stands_on_the_sheet() -> None:
    """Nothing that moves, heats, loads or takes the power off is let go by it, and nothing seen is answered by it."""
    keys = set(decided("PLA", ""))

    assert not {"function.release", "moving.release", "backup.reload", "claims.pin_report"} & keys
    assert not {"unplug.1", "pull.clips", "far_end.hold", "function.print_good", "claims.also"} & keys


def test_a_part_that_is_left_out_is_answered_by_no() -> None:
    """Its reason is still asked for; without a function test neither material nor heat is asked for."""
    filling = sheet()
    for question in filling.take("change 4 13"):
        filling.give(question, False if isinstance(question, Confirm) else "none")
    filling.take("")

    answers = filling.sheet.expand(filling.answers)
    assert answers["claims.now"] is False
    assert answers["function.now"] is False
    assert "function.material" not in answers


def test_what_stands_from_before_is_not_on_it() -> None:
    """A run that is taken up again is asked for what is left of it."""
    left = sheet(progress=Progress(done=("backup", "wiring", "loop_check")))

    assert not {"wiring.now", "unplug.ready", "program.settings"} & {*left.answers}
    assert "meter.now" in left.answers


@pytest.mark.parametrize(
    ("runout", "refused", "asked"),
    [(ON, False, False), (ON, True, True), (RunoutControl(True, False, False, 20.0), False, True)],
    ids=["fits", "does not fit", "off"],
)
def test_what_came_up_since_is_asked_afresh(runout: RunoutControl, *, refused: bool, asked: bool) -> None:
    """That detection stays as it is, is no answer where it is off or the leftover does not fit."""
    steps = by_program(found(), FROM_THE_START, lambda: offered_watching(runout, refused=refused))
    put: list[Request] = []
    request = next(steps)
    try:
        while True:
            put.append(request)
            answer: object = {"watching.stays": True} if isinstance(request, Form) else None
            request = steps.send(True if isinstance(request, Known | Confirm) else answer)
    except StopIteration:
        pass

    assert asked is any(isinstance(each, Confirm) for each in put)
    assert asked is not any(isinstance(each, Known) for each in put)


def test_what_goes_with_a_power_off_is_still_said() -> None:
    """The lines of a question that the sheet has answered come where hands are wanted."""
    lines = ("It takes the power off once more.",)

    def steps() -> Steps[bool]:
        return (yield from confirm(Confirm("far_end.now", "There too?", lines)))

    asking = by_program(found(), FROM_THE_START, steps)
    next(asking)
    known = asking.send({"far_end.now": True})

    assert isinstance(known, Known)
    assert known.tells
    assert lines == known.question.lines
