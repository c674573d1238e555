"""The simulated printer with a socket to borrow, and hands that do what each prompt of the job says."""

from dataclasses import replace
from pathlib import Path
from typing import Any

from commission.asking.request import Hold
from commission.conductor.conductor import Ended
from commission.jobs.borrow import borrow_run
from commission.jobs.install import JobResult
from commission.judge.plan import Plan
from commission.link.identity import PortIdentity
from commission.procedure.meeting.identity import Surroundings
from commission.vocabulary import PunchClass
from fake_printer.printer import Printer
from fake_printer.profile import load_profile
from tests.support.device_bench import DeviceBench

PLAN = Plan(seed=20, countdown_s=1.0)
HERE = Surroundings("bench-3", PortIdentity("", "", "", "memory"))
SOCKET = "x_max"
WIRED: dict[str, Any] = {
    "borrow.socket": SOCKET,
    "wiring.sensor": "switch",
    "wiring.wires": "2",
    "wiring.contact": "NO",
    "wiring.to": "ground",
    "wiring.pressed-when": "in",
    "wiring.pull": "up",
    "wiring.pull-by": "board",
    "wiring.absent": "unknown",
    "wiring.logic": "3.3",
    "wiring.supply": "3.3",
}
METERED: dict[str, Any] = {
    "meter.supply_ground_in": "open",
    "meter.supply_ground_out": "open",
    "meter.signal_ground_in": "joined",
}
METERED |= {"meter.signal_ground_out": "open", "meter.header_v": "3.3"}
HANDS: dict[str, list[tuple[str, ...]]] = {
    "borrow.press": [("own-switch", SOCKET, "hit")],
    "borrow.let_go": [("own-switch", SOCKET, "free")],
    "borrow.meter.hold": [("own-plug", SOCKET, "out")],
    "borrow.empty": [("own-plug", SOCKET, "out")],
    "borrow.lay": [("lay-at", SOCKET, "1k")],
    "borrow.plug": [("lay-at", SOCKET, "nothing"), ("plug-into", SOCKET)],
    "borrow.back": [("plug-into", "runout"), ("own-plug", SOCKET, "in")],
    "borrow.ready": [("withdraw",)],
    "trial.insert": [("insert",)],
    "trial.withdraw": [("withdraw",)],
}


class BorrowBench(DeviceBench):
    """A unit with a socket of its own, and hands that do what each prompt says.

    Steer it by `hands` (what they do at a key), `said` (what is answered) and `lays` (1 kilohm is laid).
    """

    def __init__(self, folder: Path, unit: str = "borrowed-socket", seed: int = 3, **board: Any) -> None:
        profile = load_profile(unit)
        if board:
            sockets = (replace(load_profile("borrowed-socket").board.sockets[0], **board),)
            profile = replace(profile, board=replace(profile.board, sockets=sockets))
        super().__init__(Printer(profile, seed=seed), folder)
        self.speed_baud = 4_800
        self.hands = dict(HANDS)
        self.said: dict[str, Any] = WIRED | METERED
        self.answers = self.answered
        self.desk.at_hold = self._power
        self.pass_s = 1.0

    def answered(self, key: str) -> bool | str | None:
        """What the hands do at a key, and what is said then."""
        for deed in self.hands.get(key, []):
            self.printer.perform(*deed)
        if key == "borrow.ready":
            self.clock.pass_time(self.pass_s)
        return self.said.get(key)

    def _power(self, _request: Hold) -> None:
        self.printer.perform("power-cycle", "2")
        self.links[-1].lose()
        self.clock.pass_time(6.0)

    async def borrowed(self) -> Ended[JobResult]:
        """The whole job."""
        return await self.run(borrow_run(PLAN, "R. Okafor", HERE))

    @property
    def unsafe(self) -> list[str]:
        """The open items of class A."""
        return [item.text for item in self.desk.items if item.grade is PunchClass.UNSAFE]
