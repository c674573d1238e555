"""The tool's own procedure for a borrowed socket, asked and answered: what it tells the person to build.

A key that is in no table here ends the campaign, as in the other one: a new question is taught, never answered by luck.
"""

import random
from dataclasses import dataclass

from commission.asking.request import Ask, Choose, Confirm, Enter, Hold, Watch
from commission.asking.response import HoldReleased, WatchTaken
from commission.dialect.framing import RawLine
from commission.dialect.replies import classify
from commission.jobs.borrow import borrow_run
from commission.judge.plan import Plan
from commission.link.identity import PortIdentity
from commission.procedure.meeting.identity import Surroundings
from commission.session import End, Exchange
from scripts.commissioning.adapter import Adapter, Record
from scripts.commissioning.circuit import Form, Rail
from scripts.commissioning.readings import look_of, watch_of
from scripts.commissioning.untaught import Untaught
from scripts.installs.priors import Build, Installation
from scripts.installs.socket import Socket

HERE = Surroundings("bench-3", PortIdentity("", "", "", "memory"))
SOCKET = "x_max"
ANSWERS = {
    "M115": ("FIRMWARE_NAME:ExampleFW 102.1.2 MACHINE_TYPE:Bench 3 EXTRUDER_COUNT:1",),
    "M119": ("Reporting endstop status", "x_min: open", f"{SOCKET}: open"),
    "M27": ("Not SD printing",),
}
"""What this printer answers to the questions before the trial; made up."""
HANDS_OFF = ("borrow.rest", "borrow.small")
PRESSES = {"borrow.press": True, "borrow.let_go": False}
SAID: dict[str, bool] = {
    "borrow.nobody_homes": True,
    "borrow.meter.now": False,
    "sensor.forbidden": False,
    "sign_off.statement": True,
    "wiring.same": False,
}
RAILS = {Rail.GROUND: "ground", Rail.SUPPLY: "supply"}
SAYS = {Rail.SUPPLY: "up", Rail.GROUND: "down", None: "none"}
LEVELS = {"high": True, "low": False}
NOT_BEGUN = "the trial was not begun"
PULLS = {"up": Rail.SUPPLY, "down": Rail.GROUND, "none": None}


@dataclass(frozen=True)
class Told:
    """What the procedure told.

    Attributes:
        build: what the build must say; None where none follows.
        seen: what the contact was seen to do, or that the trial was not begun.
        other_contact: the signal wire must go to the other contact first.
        pull_shown: whether the pull of the socket was shown, or only declared.
        handed_back: the endstop's own switch was seen to work again.
        said: why no build follows, or that one does.
    """

    build: Build | None
    seen: str
    other_contact: bool
    pull_shown: bool
    handed_back: bool
    said: str


def borrowed(made: Installation, chance: random.Random) -> Told:
    """Borrow the socket once for this sensor as it is wired and declared by now.

    Raises:
        Untaught: the procedure asks what has no answer here.
    """
    adapter = _BorrowAdapter(Socket(made, chance), made)
    plan = Plan(seed=chance.randrange(2**32), own_pace=True)
    found = adapter.drive(borrow_run(plan, "R. Okafor", HERE)).findings
    predicted, back = found.get("borrow_predicted"), found.get("socket_handed_back", {})
    if predicted is None:
        return Told(None, NOT_BEGUN, other_contact=False, pull_shown=False, handed_back=True, said=NOT_BEGUN)
    build = None
    if predicted["absent"] is not None:
        build = Build(LEVELS[str(predicted["absent"])], PULLS[str(predicted["pull"])])
    return Told(
        build,
        seen=str(predicted["seen"]),
        other_contact=build is None and predicted["fail_safe"] is False,
        pull_shown=bool(predicted["pull_shown"]),
        handed_back=bool(back.get("proven", False)),
        said=str(predicted["why_not"]) or "a build follows",
    )


class _Asked(Record):
    """Questions to the printer, answered as it would."""

    def ask(self, request: Ask) -> Exchange:
        """The answer to a question."""
        replies = tuple(classify(RawLine.of(line)) for line in ANSWERS[request.command.text])
        return Exchange(request.command, replies, (), End.ACKNOWLEDGED, 0.0, 0.0)


class _BorrowAdapter(Adapter):
    """Answers the questions of this procedure, and hands the others on."""

    def __init__(self, socket: Socket, made: Installation) -> None:
        super().__init__(socket.hands, _Asked())
        self._socket = socket
        self._made = made
        self._emptied = False
        self._declared = {f"wiring.{name}": said for name, said in declared(made).items()}

    def _watch(self, request: Watch) -> WatchTaken:
        look = look_of(request)
        if request.key in PRESSES:
            return watch_of(look, self._socket.press(look, request.lead_s, pressed=PRESSES[request.key]))
        if request.key not in HANDS_OFF:
            raise Untaught.by(request)
        self._socket.hands.plant.pass_s(request.lead_s)
        return watch_of(look, self._socket.hands.watch(look))

    def _hold(self, request: Hold) -> HoldReleased:
        if request.key == "borrow.empty":
            returned = self._socket.empty(told=self._emptied)
            self._emptied = True
        elif request.key == "borrow.plug":
            returned = self._socket.plug_sensor()
        elif request.key == "borrow.back":
            returned = self._socket.hand_back()
        else:
            raise Untaught.by(request)
        return HoldReleased(restarted=returned.banner, port="simulated", port_gone=returned.port_gone)

    def _confirm(self, request: Confirm) -> bool:
        if request.key in SAID:
            return SAID[request.key]
        if request.key == "borrow.small.now":
            return self._made.has_resistor
        if request.key == "borrow.lay":
            self._socket.lay()
            return True
        if request.key == "borrow.ready":
            self._socket.hands.place(inside=False)
            return True
        return super()._confirm(request)

    def _choose(self, request: Choose) -> str:
        said = {"borrow.socket": SOCKET, "borrow.on_it": "switch", "wiring.stands": "keep"} | self._declared
        if request.key in said:
            return said[request.key]
        return super()._choose(request)

    def _enter(self, request: Enter) -> str:
        return self._declared.get(request.key, "") or super()._enter(request)


def declared(made: Installation) -> dict[str, str]:
    """The wiring as this person declares it, for the socket, by the names of the questions."""
    sensor, says_closed_in = made.sensor, made.says_closed_in
    on_board = {
        "pull": SAYS[made.says_socket],
        "pull-by": "board",
        "absent": "unknown",
        "logic": "3.3",
        "supply": "3.3",
        "own-pull": "yes" if sensor.module_pull_ohm else "no",
    }
    if sensor.form is Form.COLLECTOR:
        when = "in" if says_closed_in else "out"
        return on_board | {"sensor": "open-collector", "conducts-when": when}
    switch = {"sensor": "switch", "pressed-when": "in"}
    if sensor.form is Form.CHANGEOVER:
        sides = ("no-side", "nc-side") if says_closed_in else ("nc-side", "no-side")
        ends = {sides[0]: RAILS[sensor.to], sides[1]: RAILS[sensor.to.other]}
        return on_board | switch | {"wires": "3", "common": "signal"} | ends
    contact = "NO" if says_closed_in else "NC"
    return on_board | switch | {"wires": "2", "contact": contact, "to": RAILS[sensor.to]}
