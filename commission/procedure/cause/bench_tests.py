"""Carries out one test of a diagnosis with the hands of the operator, and brings the bench back to where it was."""

from dataclasses import dataclass, replace

from commission.asking.message import Tell, Weight
from commission.asking.moving import MovesRun
from commission.asking.power import End, around, hold_point, hold_same_printer, plug_in, unplug
from commission.asking.request import Choose, Confirm, Option, Watch
from commission.asking.response import Interrupted, WatchTaken
from commission.asking.steps import Steps, choose, confirm, watch
from commission.judge.diagnosis import Observation
from commission.judge.plan import Plan
from commission.procedure.loop.filament_seen import TRIES, look_first, steadily_out
from commission.procedure.loop.moving_wiggle import KIND as MOVING_WIGGLE
from commission.procedure.loop.moving_wiggle import NOT_RUN, moved, moving_probe
from commission.procedure.wiring.candidates import WORKED_READINGS, looked, measured, observed, restarted
from commission.vocabulary import Presence
from commission.wiring.parts import parts
from commission.wiring.prediction import Probe

WORKED_S = 20.0
"""A shorter wiggle than the loop check's: here it only has to tell a loose connection from a sound one."""


@dataclass(frozen=True)
class Place:
    """How the cable stands: plugged in at either end, and whether the header is bridged."""

    at_board: bool = True
    at_sensor: bool = True
    bridged: bool = False


PLUGGED = Place()
OFF_AT_BOARD = Place(at_board=False)
LEFT_APART = (
    "The diagnosis was broken off: the sensor's cable may be unplugged, a resistor may be on the header, and the "
    "printer open, without mains or USB."
)
LEFT_APART_STEPS = around("Take the resistor off the header, if it is on it.", "Leave the sensor unplugged.")
RECONNECT = "diagnose.reconnect"
PLACES = {
    Probe.UNPLUGGED_AT_BOARD: OFF_AT_BOARD,
    Probe.UNPLUGGED_AT_SENSOR: Place(at_sensor=False),
    Probe.BRIDGED: Place(at_board=False, bridged=True),
}
METERED = {
    Probe.METER_SUPPLY_IN: "supply to ground, filament in",
    Probe.METER_SUPPLY_OUT: "supply to ground, filament out",
    Probe.METER_SIGNAL_IN: "signal to ground, filament in",
    Probe.METER_SIGNAL_OUT: "signal to ground, filament out",
}
_DEEDS = {
    Probe.FILAMENT_IN: (Presence.IN, "Have the filament out first. Insert it now and keep still."),
    Probe.FILAMENT_OUT: (
        Presence.OUT,
        "Have the filament in first. Take it out now, so that the switch is free, and keep still.",
    ),
    Probe.CABLE_WORKED: (
        Presence.IN,
        "Insert the filament. Then bend the cable and tug at it gently outside the closed cover, and tap the sensor.",
    ),
    Probe.WORKED_BY_HAND: (
        Presence.OUT,
        "The filament stays out. Put by hand what the filament moves where the filament puts it, and hold it there.",
    ),
}
SHOTS = 2
"""A test with the fingers in place of the filament counts when so many shots of it agree."""
READY = "Is the filament out, and is a finger on what the filament moves?"
_TRIED = frozenset({Probe.FILAMENT_IN, Probe.FILAMENT_OUT, Probe.WORKED_BY_HAND})
"""Trials by hand, with the keys of a trial."""
_UNPLUGGED = "Hands off. The input is read as it is."


class Bench:
    """The printer, the cable and a pair of hands.

    Attributes:
        power_up: a number that changes whenever power was off.
        place: how the cable stands.
        apart: whether the printer may stand open, or without mains.
    """

    def __init__(
        self, plan: Plan, switch: str, power_up: int, place: Place = PLUGGED, declared: tuple[str, ...] = ()
    ) -> None:
        self._plan = plan
        self._declared = declared
        self._switch = switch
        self.place = place
        self.power_up = power_up
        self.apart = False

    def carry_out(self, probe: Probe, times: int = 1) -> Steps[list[Observation]]:
        """Do it, so often, and say what it showed; nothing when too little could be read.

        Raises:
            Interrupted: as it came; `interrupted` says what that showed.
        """
        if probe.looked or probe.metered:
            return (yield from (self._look(probe) if probe.looked else self._meter()))
        place = PLACES.get(probe, PLUGGED)
        if probe.own_power_up or place != self.place:
            yield from self._put(place, key(probe))
        if probe is Probe.MACHINE_MOVING:
            return (yield from self._moving())
        if probe in _TRIED:
            fingers = probe is Probe.WORKED_BY_HAND
            return (yield from (self._with_fingers(probe) if fingers else self._tried(probe, times)))
        taken = yield from watch(self._watch(probe))
        if probe is Probe.CABLE_WORKED and steadily_out(taken.readings):
            return (yield from self._steady(taken))
        return self._observed(probe, taken)

    def _observed(self, probe: Probe, taken: WatchTaken | MovesRun) -> list[Observation]:
        seen = observed(probe, [reading.reading for reading in taken.readings], self.power_up)
        return [] if seen is None else [seen]

    def _tried(self, probe: Probe, times: int) -> Steps[list[Observation]]:
        """So many trials by hand; one that the person declared spoilt is taken again, and does not count."""
        found: list[Observation] = []
        for _ in range(times):
            for left in reversed(range(TRIES)):
                taken = yield from watch(self._watch(probe))
                if not taken.void_reason or left == 0:
                    break
            found += [] if taken.void_reason else self._observed(probe, taken)
        return found

    def _with_fingers(self, probe: Probe) -> Steps[list[Observation]]:
        """Two shots that agree count as one look; others say nothing."""
        if not (yield from confirm(Confirm(f"{key(probe)}.ready", READY, watch=self._switch))):
            return []
        shots = yield from self._tried(probe, SHOTS)
        shown = {shot.mostly for shot in shots}
        if len(shots) < SHOTS or len(shown) != 1 or None in shown:
            yield Tell(("The two shots do not agree: they say nothing.",), weight=Weight.NOTE)
            return []
        positives, readings = (sum(counts) for counts in zip(*((s.positives, s.readings) for s in shots), strict=True))
        return [replace(shots[0], positives=positives, readings=readings, runs=None)]

    def _look(self, probe: Probe) -> Steps[list[Observation]]:
        """A second look at one part of what was declared."""
        options = (
            Option("as_declared", "as declared", "looked at just now"),
            Option("otherwise", "not as declared"),
            Option("unknown", "not to be seen"),
        )
        question = f"Take {probe.value}. Is it as declared?"
        answer = yield from choose(Choose(key(probe), question, options, self._declared))
        if answer == "unknown":
            return []
        return [looked(probe, self.power_up, as_declared=answer == "as_declared")]

    def _steady(self, taken: WatchTaken) -> Steps[list[Observation]]:
        """It read out all the time: that says what filament in reads, if it was in, and nothing of the cable."""
        lines = ("It read out all the time, and did not change while the cable was worked.",)
        question = "Was the filament in, all the time?"
        for left in reversed(range(TRIES)):
            if (yield from confirm(Confirm("diagnose.was_in", question, lines, watch=self._switch))):
                return self._observed(Probe.FILAMENT_IN, taken)
            if left == 0:
                break
            taken = yield from watch(self._watch(Probe.CABLE_WORKED))
            if not steadily_out(taken.readings):
                return self._observed(Probe.CABLE_WORKED, taken)
        return []

    def _moving(self) -> Steps[list[Observation]]:
        """Motors move, hands off, by release; without one it says nothing."""
        looked = yield from look_first(self._plan, self._switch, MOVING_WIGGLE)
        if not looked.go:
            return [] if looked.misread is None else self._observed(Probe.FILAMENT_IN, looked.misread)
        plan = replace(self._plan, wiggle_s=min(WORKED_S, self._plan.wiggle_s))
        taken = yield from moved(plan, self._switch)
        if taken is None or taken.end in NOT_RUN:
            return []
        return self._observed(moving_probe(taken), taken)

    def interrupted(self, probe: Probe, _broken: Interrupted) -> Observation:
        """What an interruption of this test shows."""
        return restarted(probe, self.power_up)

    def put_back(self, *, plugged_in: bool) -> Steps[None]:
        """Have the printer closed and on mains again; the sensor plugged in, or left out where it may not be."""
        if self.apart:
            yield from self._put(PLUGGED if plugged_in else OFF_AT_BOARD, RECONNECT, closes=True)

    def _put(self, place: Place, name: str, *more: str, closes: bool = False) -> Steps[None]:
        closes = closes or place == PLUGGED
        opens = bool(more) or (place.at_board, place.bridged) != (self.place.at_board, self.place.bridged)
        steps = around(*_moves(self.place, place), *more, opens=opens, mains_stays_out=not closes)
        title, released = "the sensor's cable", "Is it done, and is USB plugged back in?"
        if closes:
            title = "plug the sensor in again" if place == PLUGGED else "the sensor stays unplugged"
            released = "Is it done, the printer closed, and on?"
        self.apart = True
        yield from hold_same_printer(hold_point(f"{name}.hold", title, steps, released))
        self.place, self.apart = place, not closes
        self.power_up += 1

    def _watch(self, probe: Probe) -> Watch:
        presence, deed = _DEEDS.get(probe, (None, _UNPLUGGED))
        request = Watch(
            key=key(probe),
            title=probe.value.capitalize(),
            lines=(deed,),
            switch=self._switch,
            presence=presence,
            seconds=self._plan.rest_s,
            readings=self._plan.readings_per_dwell,
            lead_s=0.0 if presence is None else self._plan.countdown_s,
            marks=probe in _TRIED,
        )
        if probe is not Probe.CABLE_WORKED:
            return request
        whole_s = min(WORKED_S, self._plan.wiggle_s)
        return replace(request, seconds=whole_s, readings=min(WORKED_READINGS, self._plan.wiggle_readings))

    def _meter(self) -> Steps[list[Observation]]:
        """All four readings at once: nobody opens a printer twice for the next one."""
        note = f"With the meter on ohms at the free end of the cable, note: {'; '.join(METERED.values())}."
        yield from self._put(OFF_AT_BOARD, "diagnose.meter", note)
        seen = []
        for probe, what in METERED.items():
            options = (
                Option("joined", "near zero", "below 10 ohm"),
                Option("apart", "not near zero", "a resistance, or over-range"),
                Option("skip", "not measured"),
            )
            answer = yield from choose(Choose(key(probe), f"What did the meter show from {what}?", options))
            if answer != "skip":
                seen.append(measured(probe, self.power_up, joined=answer == "joined"))
        return seen


def key(probe: Probe) -> str:
    """The test's name for a scripted operator."""
    return f"diagnose.{probe.name.lower()}"


def _moves(now: Place, then: Place) -> list[str]:
    moves = []
    if now.bridged and not then.bridged:
        moves.append("Take the resistor off the header.")
    for is_in, was_in, end in (
        (then.at_board, now.at_board, End.BOARD),
        (then.at_sensor, now.at_sensor, End.SENSOR),
    ):
        if is_in and not was_in:
            moves.append(plug_in(end))
        elif was_in and not is_in:
            moves.append(unplug(end))
    if then.bridged and not now.bridged:
        ohm = parts().model.bridge_ohm
        moves.append(
            f"Put a resistor of {ohm:g} ohm between signal and ground of the board's header, found by function, not by "
            "colour or place."
        )
    return moves or ["Wait ten seconds. Leave the sensor's cable as it is."]
