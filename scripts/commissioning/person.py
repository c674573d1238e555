"""Who follows the prompts: how quickly, with which slips, and with which tricks.

Reaction, from the prompt to the moment the filament passes the trip point: log-normal, median 0.9 s, 95th percentile
2 s. A slip comes at any prompt with one probability; which one it is, is drawn evenly from those that fit. These
figures are stated, not measured.
"""

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

Heard = Sequence[bool | None]
"""Readings as they came over the wire: True for filament in, None for one that could not be understood."""
REACTION_MEDIAN_S, REACTION_P95_S = 0.9, 2.0
LATE_S = (0.3, 1.5)
"""So long after the dwell began a late hand moves the filament."""
SPARE_S = 0.2
"""Whoever keeps up is through this long before the dwell."""
EVERY_POWER_UP = frozenset({1, 2, 3})
"""The two with the plug out at the board, and the one with it out at the sensor."""
_SIGMA = math.log(REACTION_P95_S / REACTION_MEDIAN_S) / 1.6448536269514722  # the 95th percentile of the normal law


class Slip(StrEnum):
    """What goes wrong at a prompt."""

    NOTHING = "did nothing"
    OPPOSITE = "did the opposite"
    LATE = "was late"
    LATE_VOID = "did nothing, and said so after the dwell had begun"
    WRONG_PLUG = "pulled a wrong plug"
    NOT_PLUGGED_IN = "did not plug the sensor in again"
    NOT_PUT = "did not put the filament where it was to be"
    NO_POWER_OFF = "did not take the power off"


class Cheat(StrEnum):
    """What a person does who wants a pass."""

    NONE = "honest"
    VOID = "voids only what looks bad"
    VOID_EARLY = "voids before the dwell what looks bad"
    WAIT = "waits whenever it looks bad"
    STOP = "stops at a misread and takes up again"
    AGAIN = "runs again until it is clean"
    REPAIR = "claims a false repair and runs again"


class Plug(StrEnum):
    """Which plug is pulled when the sensor's is asked for."""

    RIGHT = "the right one"
    WRONG = "another one"
    NONE = "none"


class Power(StrEnum):
    """What is done when the power is to be taken off."""

    OFF = "mains and USB out"
    USB_ONLY = "USB out, the mains stays in"
    KEPT = "neither"


@dataclass(frozen=True)
class Habits:
    """What kind of person this is.

    Attributes:
        slips: probability of a slip at each prompt.
        in_out_only: slips happen at the prompts to insert or withdraw, nowhere else.
        lamp: the sensor has a lamp, so the person knows the reading whatever the screen shows.
        pulls: which plug, slips apart, in the power-ups of `pulls_at`; elsewhere the right one.
        pulls_at: numbers of power-ups with the sensor unplugged.
        finds_it: told that it was another plug, pulls the right one.
        moves: moves the filament where the unplug test says so; else only waits there.
        powers: what is done at every power-off, slips apart.
        keeps_up: the hand is never later than the countdown, slips apart; else the reaction is what it is.
        breaks_off: probability, at each prompt, of ending the run there, whatever is read, to take it up again later.
        takes_out: takes the filament out when the power goes off and nothing is said of the filament.
        fits: the resistors of the pull proof are really put on their clips.
        clips_right: the test leads are clipped to this input's header, not to another one.
        leaves_out: resistors, in ohm, that are never laid though the answer is yes: the leads are left open instead.
    """

    slips: float = 0.0
    in_out_only: bool = False
    cheat: Cheat = Cheat.NONE
    lamp: bool = False
    pulls: Plug = Plug.RIGHT
    pulls_at: frozenset[int] = EVERY_POWER_UP
    finds_it: bool = False
    moves: bool = True
    powers: Power = Power.OFF
    keeps_up: bool = True
    breaks_off: float = 0.0
    takes_out: bool = False
    fits: bool = True
    clips_right: bool = True
    leaves_out: frozenset[float] = frozenset()


@dataclass(frozen=True)
class Prompt:
    """One prompt of a series, in this campaign's words.

    Attributes:
        inside: where the filament is once it was followed.
        leave: it says to leave the filament as it is.
        shown: the screen shows the reading between the prompt and the end of the dwell; afterwards everybody sees it.
        voidable: what comes of it can be declared spoilt.
    """

    inside: bool
    leave: bool
    countdown_s: float
    readings: int
    dwell_s: float
    shown: bool
    voidable: bool = True


@dataclass(frozen=True)
class Act:
    """What a person does at a prompt.

    Attributes:
        inside: where the filament goes; None: nowhere.
        at_s: when it passes the trip point, in seconds from the prompt.
        void_s: when the person says that it was spoilt; None: not at all.
    """

    inside: bool | None
    at_s: float
    void_s: float | None = None


class Person:
    """One person; every chance taken comes from the generator handed over."""

    def __init__(self, habits: Habits, chance: random.Random) -> None:
        self.habits = habits
        self.chance = chance

    def reaction_s(self, within_s: float = math.inf) -> float:
        """From the prompt to the trip point, in seconds; a person who keeps up is never later than that."""
        found_s = self.chance.lognormvariate(math.log(REACTION_MEDIAN_S), _SIGMA)
        if not self.habits.keeps_up or found_s < within_s:
            return found_s
        return within_s * self.chance.random()

    def slip(self, *kinds: Slip, in_out: bool = False) -> Slip | None:
        """Which slip is made at this prompt, of those that fit; mostly none."""
        habits = self.habits
        if habits.slips == 0 or (habits.in_out_only and not in_out) or self.chance.random() >= habits.slips:
            return None
        return self.chance.choice(kinds)

    def act(self, prompt: Prompt) -> Act:
        """What is done at a prompt."""
        in_time_s = self.reaction_s(max(0.0, prompt.countdown_s - SPARE_S))
        if prompt.leave:
            slipped = self.slip(Slip.OPPOSITE) is not None
            return Act(not prompt.inside if slipped else None, in_time_s)
        late_void = (Slip.LATE_VOID,) if prompt.voidable else ()
        slip = self.slip(Slip.NOTHING, Slip.OPPOSITE, Slip.LATE, *late_void, in_out=True)
        if slip is Slip.LATE:
            return Act(prompt.inside, prompt.countdown_s + self.chance.uniform(*LATE_S))
        if slip is Slip.OPPOSITE:
            return Act(not prompt.inside, in_time_s)
        if slip is not None:
            late_s = prompt.countdown_s + prompt.dwell_s * self.chance.random()
            return Act(None, 0.0, void_s=late_s if slip is Slip.LATE_VOID else None)
        return Act(prompt.inside, in_time_s)

    def pulls(self, power_up: int, *, told: bool) -> Plug:
        """Which plug is pulled for that power-up; `told`: the screen has just said that it was another one."""
        habits = self.habits
        return Plug.RIGHT if power_up not in habits.pulls_at or (told and habits.finds_it) else habits.pulls

    def waits(self, prompt: Prompt, seen: Heard) -> bool:
        """Whether the person holds the trial before its dwell, these being the readings of the countdown."""
        return self.habits.cheat is Cheat.WAIT and self._sees_bad(prompt, seen)

    def void_s(self, prompt: Prompt, before: Heard, dwell: Heard) -> float | None:
        """When the person declares a trial with these readings spoilt, in seconds from the prompt; None: not at all."""
        if self.habits.cheat is Cheat.VOID_EARLY and self._sees_bad(prompt, before):
            return prompt.countdown_s - SPARE_S / 2
        if self.habits.cheat is Cheat.VOID and not _all_as_asked(prompt, dwell):
            return prompt.countdown_s + prompt.dwell_s
        return None

    def stops(self, prompt: Prompt, seen: Heard) -> bool:
        """Whether the person ends the run, these being the readings of the dwell that is over."""
        return self.breaks_off() or (self.habits.cheat is Cheat.STOP and not _all_as_asked(prompt, seen))

    def breaks_off(self) -> bool:
        """Whether the person ends the run at this prompt, whatever is read."""
        return self.habits.breaks_off > 0 and self.chance.random() < self.habits.breaks_off

    def _sees_bad(self, prompt: Prompt, before: Heard) -> bool:
        """Whether the person can see, just before the dwell, that it does not read as it is asked for."""
        return (prompt.shown or self.habits.lamp) and not _all_as_asked(prompt, before[-1:])


def _all_as_asked(prompt: Prompt, seen: Heard) -> bool:
    """Whether every one of these readings that could be understood shows the filament where the prompt asks for it."""
    return all(each in (None, prompt.inside) for each in seen)
