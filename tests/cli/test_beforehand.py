"""What is said before a run: name and plan on one sheet, and how a slip in them is put right."""

import asyncio
from collections.abc import Sequence

import pytest

from commission.asking.form import Answers, Form
from commission.asking.steps import Steps
from commission.cli.beforehand import Beforehand, said_and_agreed
from commission.cli.options import Context, Job, Settings
from commission.desk.base import OperatorStop
from commission.jobs.install import JobResult
from tests.support.fake_desk import FakeDesk

NAMED = Settings(tag="bench-3", port="/dev/ttyX")
OKAFOR, OKAFER = ({"install.by": f"R. {name}", "install.plan": "full"} for name in ("Okafor", "Okafer"))


class FakeSheetDesk(FakeDesk):
    """An operator who fills sheets in, one after the other, and says these words to one question after the other."""

    def __init__(self, sheets: Sequence[Answers], said: Sequence[bool]) -> None:
        words = iter(said)
        super().__init__(lambda key: next(words) if key in ("install.open_port", "install.correct") else None)
        self._sheets = iter(sheets)

    async def form(self, request: Form) -> Answers:  # noqa: ARG002 - as the real desks
        """The next one."""
        return next(self._sheets)


def never_begun(_run: Context) -> Steps[JobResult]:
    """Nothing of the job is carried out here."""
    raise AssertionError("the run began")
    yield


def agreed(desk: FakeDesk) -> Beforehand:
    """What comes of it; nothing is ever sent in it."""
    job = Job("install", never_begun, resumable=True)
    return asyncio.run(said_and_agreed(desk, NAMED, job, plan_stands=False))


def test_name_and_plan_are_shown_before_they_stand() -> None:
    """The last question before anything is sent or recorded comes with them, and with what to do about a slip."""
    desk = FakeSheetDesk([OKAFOR], [True])

    assert Beforehand("R. Okafor", 22, on_a_sheet=True) == agreed(desk)
    assert ["install.open_port"] == desk.asked
    assert [
        "Goes into the record once the port is opened: done by R. Okafor, 22 cycles.",
        "A slip in that? Answer no to the next question. "
        "Seen later: press Ctrl-C and start the command again; the record keeps both.",
    ] == desk.told


def test_a_slip_in_name_or_plan_is_put_right() -> None:
    """A no leads back to the sheet; what is said then is what stands."""
    desk = FakeSheetDesk([OKAFER, OKAFOR], [False, True, True])

    assert "R. Okafor" == agreed(desk).person
    assert ["install.open_port", "install.correct", "install.open_port"] == desk.asked


def test_whoever_wants_the_port_left_alone_is_asked_no_sheet_again() -> None:
    """Two noes end it; a script, which fills no sheet, ends it by one."""
    with pytest.raises(OperatorStop):
        agreed(FakeSheetDesk([OKAFOR], [False, False]))
    said: dict[str, str | bool] = {"install.by": "R. Okafor", "install.plan": "full", "install.open_port": False}
    scripted = FakeDesk(lambda key: said[key])
    with pytest.raises(OperatorStop):
        agreed(scripted)

    assert ["install.by", "install.plan", "install.open_port"] == scripted.asked
