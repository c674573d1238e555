"""The one place where the tool's procedures meet the plant: a request is carried out and answered as by a conductor.

What a person does at a request is found by the request's key. A key that is not in these tables ends the campaign: a
new question is to be taught here, never answered by luck.
"""

from collections.abc import Collection, Mapping
from dataclasses import replace
from typing import Any

from commission.asking.form import Form
from commission.asking.message import Establish, Punch, Tell
from commission.asking.request import (
    Ask,
    Choose,
    Confirm,
    Enter,
    Hold,
    PhaseBegins,
    PhaseEnds,
    Recall,
    Request,
    TakeTrial,
    Watch,
)
from commission.asking.reread import Reread
from commission.asking.response import (
    HoldReleased,
    Interrupted,
    Interruption,
    InterruptionKind,
    TrialTaken,
    WatchTaken,
)
from commission.asking.steps import Steps
from commission.evidence.findings.base import Finding
from commission.judge.plan import Plan
from commission.procedure.loop.loop_check import loop_check
from commission.vocabulary import Instruction, Presence
from scripts.commissioning.came import Came
from scripts.commissioning.circuit import Link, Rail
from scripts.commissioning.hands import Errand, Hands, Standing, Stopped
from scripts.commissioning.person import Cheat, Prompt
from scripts.commissioning.plant import Restarted
from scripts.commissioning.readings import look_of, trial_of, watch_of
from scripts.commissioning.untaught import Untaught

SWITCH = "filament"
SHOWN = False
"""From the prompt to the end of the dwell the screen shows no reading."""
PUT = {"loop_check.ready": False, "wiggle.ready": True, "wiggle.put_in": True}
"""Questions before which the filament is put out or in."""
WORKED, MOVED = "wiggle", ("still_plugged.insert", "still_plugged.withdraw")
"""The watch in which the cable is worked, and those before which the filament is moved."""
STILL = ("unplugged.", "far_end", "start_up", "wiggle.before", "pull.")
"""Watches with the hands off."""
PAPER = ("resume.", "identity.", "sign_off.", "next_check.", "consent.", "unplug.ready")
"""Questions that are answered with yes and touch nothing."""
ERRANDS: Mapping[str, Errand] = {
    "unplug.1": Errand(Link.OFF_AT_BOARD, power_up=1),
    "unplug.2": Errand(power_up=2),
    "pull.clips": Errand(),
    "far_end.hold": Errand(Link.OFF_AT_SENSOR, power_up=3),
    "unplug.reconnect": Errand(Link.ON, inside=True),
    "sensor.plug_in": Errand(Link.ON),
}
"""What is to be done at each power-off."""
LAID: Mapping[str, float] = {
    "pull.lay.small": 1e3,
    "pull.lay.large": 220e3,
    "pull.lay.small_again": 1e3,
    "pull.lay.large_again": 220e3,
}
"""What is to be laid between the test leads before such a question is answered, in ohm."""
TOLD: Mapping[str, Errand] = {"unplug.2": Errand(Link.OFF_AT_BOARD, power_up=2)}
"""What else is to be done where the same hold point comes again, because the sensor was not unplugged."""
CHOSEN = {"moving.how": "no", "pull.how": "resistors"}
CLAIMED = {"series.since": ("nothing", "changed"), "walk.repair": ("later", "now")}
DIRECTIONS = {Rail.SUPPLY: "up", Rail.GROUND: "down"}
STANDINGS = {Standing.RIGHT: "yes", Standing.PUT: "now", Standing.UNPLUGGED: "out"}
KINDS = {Restarted: InterruptionKind.BOARD_RESTARTED, Stopped: InterruptionKind.OPERATOR_STOP}


class Record:
    """Where evidence goes and comes from: this one keeps findings for the time of one procedure."""

    def __init__(self) -> None:
        self._findings: dict[type[Finding], Finding] = {}

    def before(self, request: Request) -> None:
        """Keep what is asked or said."""
        if isinstance(request, Establish):
            self._findings[type(request.finding)] = request.finding

    def after(self, request: Request, response: Any) -> None:
        """Keep what came of it."""

    def instead(self, request: Request, broken: Interruption) -> None:
        """Keep what came instead."""

    def abandoned(self, phase: str, broken: Interruption) -> None:
        """Keep that a phase was broken off."""

    def read(self, request: Recall | Reread) -> Any:
        """Read back."""
        if isinstance(request, Reread):
            return ()
        return None if request.earlier else self._findings.get(request.kind)

    def ask(self, request: Ask) -> Any:
        """Have the printer answer a question; no loop check asks one."""
        raise Untaught.by(request)


def loop_check_once(hands: Hands, seed: int) -> Came:
    """One loop check without a book; the seed fixes the order of its prompts."""
    return Adapter(hands, Record()).drive(loop_check(Plan(seed=seed, own_pace=True), SWITCH))


class Adapter:
    """Carries out one procedure with these hands."""

    def __init__(self, hands: Hands, record: Record) -> None:
        self._hands = hands
        self._record = record
        self._came = Came()
        self._phase = ""
        self._prompt: TakeTrial | None = None
        self._held = ""

    def drive(self, steps: Steps[Any]) -> Came:
        """Run the steps to their end, or to what breaks them off.

        Raises:
            Untaught: a request has no answer here.
        """
        response: Any = None
        broken: Interruption | None = None
        while True:
            try:
                request = steps.send(response) if broken is None else steps.throw(Interrupted(broken))
            except StopIteration as end:
                self._came.result = end.value
                return self._came
            except Interrupted as over:
                self._came.ended = over.interruption.kind.value
                if self._phase:
                    self._record.abandoned(self._phase, over.interruption)
                return self._came
            response, broken = self._answered(request)

    def _answered(self, request: Request) -> tuple[Any, Interruption | None]:
        self._record.before(request)
        try:
            response = self._answer(request)
        except (Restarted, Stopped) as why:
            broken = Interruption(KINDS[type(why)])
            self._record.instead(request, broken)
            return None, broken
        self._record.after(request, response)
        return response, None

    def _answer(self, request: Request) -> Any:
        match request:
            case Tell() | Punch() | PhaseBegins() | PhaseEnds() | Establish():
                return self._noted(request)
            case Form():
                return {}  # each of its questions is answered alone
            case Recall() | Reread():
                return self._record.read(request)
            case Ask():
                return self._record.ask(request)
        return self._by_hand(request)

    def _noted(self, request: Request) -> None:
        """What is only said."""
        match request:
            case Establish():
                self._came.findings[request.finding.name()] = request.finding.values
            case PhaseBegins():
                self._phase = request.name
            case PhaseEnds():
                self._phase = ""

    def _by_hand(self, request: Request) -> Any:
        match request:
            case TakeTrial():
                return self._trial(request)
            case Watch():
                return self._watch(request)
            case Hold():
                return self._hold(request)
            case Confirm():
                return self._confirm(request)
            case Choose():
                return self._choose(request)
            case Enter():
                return self._enter(request)
        raise Untaught.by(request)

    def _trial(self, request: TakeTrial) -> TrialTaken:
        self._prompt = request
        prompt = Prompt(
            inside=request.presence is Presence.IN,
            leave=request.instruction is Instruction.LEAVE,
            countdown_s=request.countdown_s,
            readings=request.readings,
            dwell_s=request.dwell_s,
            shown=SHOWN,
        )
        return trial_of(self._hands.follow(prompt))

    def _watch(self, request: Watch) -> WatchTaken:
        look = look_of(request)
        if request.key in MOVED:
            return watch_of(look, self._hands.move(_moved(request), look))
        if request.key != WORKED and not request.key.startswith(STILL):
            raise Untaught.by(request)
        self._hands.plant.pass_s(request.lead_s)
        return watch_of(look, self._hands.watch(look, work=request.key == WORKED))

    def _hold(self, request: Hold) -> HoldReleased:
        if request.key.startswith("repair."):
            return HoldReleased()  # released by somebody who repaired nothing
        if request.key not in ERRANDS:
            raise Untaught.by(request)
        errand, told = ERRANDS[request.key], request.key == self._held
        self._held = request.key
        returned = self._hands.power_off(replace(TOLD.get(request.key, errand), told=True) if told else errand)
        return HoldReleased(restarted=returned.banner, port="simulated", port_gone=returned.port_gone)

    def _confirm(self, request: Confirm) -> bool:
        if request.key in PUT or request.key in LAID:
            return self._done_before(request.key)
        if request.key == "trial.again" and self._prompt is not None:
            asked_in = self._prompt.presence is Presence.IN
            self._hands.place(inside=asked_in is (self._prompt.instruction is Instruction.LEAVE))
            return True
        if request.key == "sensor.plugged_in":
            return self._hands.sees_plugged_in()
        if request.key == "far_end.now":
            return self._hands.plant.unit.plug_at_sensor
        if request.key.startswith(PAPER) or request.key.endswith(".stays"):
            return True
        if request.key.endswith(".now"):
            return False  # what is only offered is left out
        raise Untaught.by(request)

    def _done_before(self, key: str) -> bool:
        """What is done before such a question is answered with yes."""
        if key in LAID:
            self._hands.lay(LAID[key])
        else:
            self._hands.place(inside=PUT[key])
        return True

    def _enter(self, request: Enter) -> str:
        if request.key == "pull.supply":
            return f"{self._hands.plant.unit.wiring.supply_v:g}"
        return "" if request.optional else "not today"

    def _filament_is(self, offered: Collection[str]) -> str:
        if self._hands.sees_in():
            return "in"
        return next((key for key in ("again", "out") if key in offered), "leave")

    def _choose(self, request: Choose) -> str:
        if request.key in CHOSEN:
            return CHOSEN[request.key]
        match request.key:
            case "wiggle.presence" | "wiggle.where":
                return self._filament_is({option.key for option in request.options})
            case "start_up.as_before":
                return STANDINGS[self._hands.looks_again(inside=True)]
            case "pull.direction":
                return DIRECTIONS[self._hands.plant.unit.wiring.meant]
            case "pull.logic":
                return f"{self._hands.plant.unit.wiring.supply_v:g}"
            case "series.since" | "walk.repair" as key:
                return CLAIMED[key][self._hands.person.habits.cheat is Cheat.REPAIR]
        raise Untaught.by(request)


def _moved(request: Watch) -> Prompt:
    """The prompt of a watch before which the filament is moved; no key declares it spoilt."""
    return Prompt(
        inside=request.presence is Presence.IN,
        leave=False,
        countdown_s=request.lead_s,
        readings=request.readings,
        dwell_s=request.seconds,
        shown=SHOWN,
        voidable=False,
    )
