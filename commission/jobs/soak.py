"""A soak: which printer is it, does it print, which switch, and then hours of reading."""

from dataclasses import dataclass

from commission.asking.cautions import GENERAL
from commission.asking.message import Punch, Tell, Weight
from commission.asking.request import Confirm
from commission.asking.soak import Soak
from commission.asking.steps import Steps, ask, confirm
from commission.dialect.jobs import CARD, card_of
from commission.jobs.install import JobResult
from commission.jobs.several import alone
from commission.judge.advice import Advice
from commission.judge.nuisance import length
from commission.procedure.loop.soak import LINES, SOAK, soak
from commission.procedure.meeting.identify import identify
from commission.procedure.meeting.identity import Surroundings, same_printer
from commission.procedure.meeting.printing import not_printing
from commission.procedure.meeting.sensor_met import keep_met, meet_sensor
from commission.vocabulary import PunchClass, Verdict

ONLY_QUESTIONS = (
    "Opening the port can restart a board and kill a print: never begin a soak while one may run.",
    "A print from the card may be begun afterwards; then at most one question a second goes out.",
    "A print sent over another line is not seen.",
)


@dataclass(frozen=True)
class Unfinished:
    """The printer's last soak, where it came to no end: its run, seconds planned and watched, and its sensor."""

    run: str
    planned_s: float
    watched_s: float
    switch: str

    @property
    def left_s(self) -> float:
        """What is still to be watched."""
        return max(0.0, self.planned_s - self.watched_s)


@dataclass(frozen=True)
class SoakPlan:
    """What is soaked.

    Attributes:
        surroundings: tag, port and neighbours.
        seconds: exposure wanted.
        switch: tested last; empty when none is on record.
        unattended: nobody is there: nothing is asked.
        beside_print: a print from the card is going to begin.
        gentle: ten readings a second at most, after a change too.
        unfinished: the soak that is taken up; None where there is none.
        sensors: several that the record has of this printer; empty where it has one.
    """

    surroundings: Surroundings
    seconds: float
    switch: str = ""
    unattended: bool = False
    beside_print: bool = False
    gentle: bool = False
    unfinished: Unfinished | None = None
    sensors: tuple[str, ...] = ()


def soaked(plan: SoakPlan) -> Steps[JobResult]:
    """The whole soak."""
    yield Tell((*GENERAL[:1], *ONLY_QUESTIONS), heading="Before you begin", weight=Weight.CAUTION)
    identity = yield from identify()
    yield from same_printer(plan.surroundings, identity)
    yield from not_printing()
    card = card_of((yield from ask(CARD)).lines)
    met = yield from meet_sensor(identity, plan.surroundings.source, plan.switch, unattended=plan.unattended)
    yield from keep_met(met, plan.switch)
    switch = met.switch
    if switch is None:
        said = "No filament switch is reported, or several and nobody to say which one is meant."
        yield Punch(PunchClass.INCOMPLETE, said, "Run the soak with somebody there, or name the switch by a check.")
        return JobResult(Verdict.NOT_JUDGED, Advice.NONE)
    of_it = _of_sensor(plan, switch, asks_card=card is not None)
    return JobResult((yield from alone(plan.sensors, met, switch, of_it)), Advice.NONE)


def _of_sensor(plan: SoakPlan, switch: str, *, asks_card: bool) -> Steps[Verdict]:
    if not plan.unattended:
        yield from _put_in(switch)
    seconds, follows = yield from _how_long(plan, switch)
    return (
        yield from soak(
            Soak(
                key=SOAK.name,
                title=f"Soak: {switch}, hands off",
                lines=LINES,
                switch=switch,
                seconds=seconds,
                asks_card=asks_card,
                beside_print=plan.beside_print,
                gentle=plan.gentle,
                follows=follows,
            )
        )
    )


def _put_in(switch: str) -> Steps[None]:
    question = "Is filament in, and does nobody touch it from now on?"
    while not (yield from confirm(Confirm("soak.ready", question, watch=switch))):
        yield Tell(("The soak begins when you say yes; Ctrl-C ends the run.",))


def _how_long(plan: SoakPlan, switch: str) -> Steps[tuple[float, str]]:
    """How long, and which soak is taken up: never that of another sensor."""
    before = plan.unfinished
    if before is None or not before.left_s > 0 or before.switch not in ("", switch):
        return plan.seconds, ""
    lines = (
        f"{length(before.watched_s)} of {length(before.planned_s)} were watched. What lies between is not counted.",
    )
    question = f"The soak {before.run} came to no end. Take up the rest of it, {length(before.left_s)}?"
    taken_up = plan.unattended or (yield from confirm(Confirm("soak.resume", question, lines)))
    if not taken_up:
        return plan.seconds, ""
    yield Tell((f"Taking up the soak {before.run}: {length(before.left_s)} are left.", *lines))
    return before.left_s, before.run
