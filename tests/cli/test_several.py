"""Several printers at once, with work that only pretends: what befalls one befalls no other."""

import asyncio
import json
from collections.abc import Sequence

import pytest

from commission.cli.exit_codes import (
    INTERNAL,
    NO_CONSENT,
    NOT_FINISHED,
    PASSED,
    PORT_BUSY,
    PRINTING,
    STOPPED,
    WRONG_USAGE,
    worst,
)
from commission.cli.several import Came, Ended, Several, Teller
from commission.fleet.roster import Listed
from tests.support.fake_work import FakeWork

FINDINGS = (PASSED, PORT_BUSY, PRINTING, NOT_FINISHED, NO_CONSENT)


class Workshop:
    """Printers whose ports say what their work does, and what was begun."""

    def __init__(self, *whats: str, jobs: int = 8, limit_s: float = 60.0, as_json: bool = False) -> None:
        self.roster = [Listed(f"bench-{number}", port=what) for number, what in enumerate(whats, start=1)]
        self.begun: list[FakeWork] = []
        self.busy = asyncio.Event()
        self._jobs = jobs
        self._together = asyncio.Barrier(3)
        self.several = Several(self._begin, jobs, limit_s, Teller(as_json=as_json), let_go_s=0.2)

    def _begin(self, listed: Listed) -> FakeWork | Came:
        if listed.port == "refused":
            return Came(NO_CONSENT, "No consent.")
        work = FakeWork(listed, self._together)
        self.begun.append(work)
        if len(self.begun) == self._jobs:
            self.busy.set()
        return work

    async def ended(self) -> list[Ended]:
        """What became of each."""
        return await self.several.run(self.roster)


def codes(ended: Sequence[Ended]) -> list[int]:
    """The exit codes, in the order of the roster."""
    return [one.code for one in ended]


async def test_each_printer_has_its_own_exit_code(capsys: pytest.CaptureFixture[str]) -> None:
    """A busy port, a printer that prints, a dead network, no consent and no port are findings of their own."""
    ended = await Workshop(*(f"code-{code}" for code in FINDINGS), "refused", "").ended()

    assert [*FINDINGS, NO_CONSENT, WRONG_USAGE] == codes(ended)
    assert WRONG_USAGE == worst(codes(ended))
    told = capsys.readouterr().err.splitlines()
    assert r"bench-2: exit code 5: another program has the port (0 s). something on code-5\x1b[2J" in told
    assert "bench-1: begun at code-0" in told
    assert "bench-6: exit code 7: no consent to open the port with nobody near is on record (0 s). No consent." in told


async def test_one_that_is_stuck_delays_no_other() -> None:
    """It is told to end when its time is over; one that does not hear is let go of all the same."""
    workshop = Workshop("stuck", "deaf", "code-0", limit_s=0.1)
    ended = await workshop.ended()

    assert [NOT_FINISHED, NOT_FINISHED, PASSED] == codes(ended)
    assert ["its time was over"] * 2 == [work.told for work in workshop.begun if work.told]


async def test_an_error_on_one_printer_ends_no_other(capsys: pytest.CaptureFixture[str]) -> None:
    """What nobody foresaw has the code of an internal error, for that printer alone; the trace is told."""
    ended = await Workshop("breaks", "code-0", "code-4").ended()

    assert [INTERNAL, PASSED, 4] == codes(ended)
    assert "RuntimeError: as it was told to" in capsys.readouterr().err


async def test_so_many_run_at_once_as_were_asked_for() -> None:
    """Three that wait for each other come to their end with three jobs, and do not with two."""
    assert [PASSED] * 3 == codes(await Workshop("meet", "meet", "meet", jobs=3).ended())
    assert [NOT_FINISHED] * 3 == codes(await Workshop("meet", "meet", "meet", jobs=2, limit_s=0.1).ended())


async def test_a_stop_ends_all_of_them() -> None:
    """Those at work end by themselves; those that wait for their turn are not begun."""
    workshop = Workshop("stuck", "stuck", "code-0", jobs=2)
    ending = asyncio.create_task(workshop.ended())
    await workshop.busy.wait()
    workshop.several.stop("the program was told to end")

    assert [STOPPED] * 3 == codes(await ending)
    assert ["the program was told to end"] * 2 == [work.told for work in workshop.begun]


async def test_events_are_one_object_a_line(capsys: pytest.CaptureFixture[str]) -> None:
    """Each says what it is, of which printer, and its values; no letter of a printer steers the terminal."""
    await Workshop("code-5", as_json=True).ended()
    events = [json.loads(line) for line in capsys.readouterr().err.splitlines()]

    assert ["begun", "ended"] == [event["event"] for event in events]
    assert {
        "event": "ended",
        "printer": "bench-1",
        "code": 5,
        "meaning": "another program has the port",
        "why": r"something on code-5\x1b[2J",
        "took_s": 0.0,
    } == events[1]
