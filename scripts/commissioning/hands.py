"""A person at a plant: prompts followed, cables worked, plugs pulled, and what was read meanwhile."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import Enum
from functools import lru_cache

from scripts.commissioning.circuit import Clip, Link
from scripts.commissioning.person import Heard, Person, Plug, Power, Prompt, Slip
from scripts.commissioning.plant import Plant, beats

BEAT_S = 0.1
HOLD_S, ANSWER_S = 45.0, 3.0


class Stopped(Exception):
    """The person ends the run."""


@dataclass(frozen=True)
class Followed:
    """What came of a prompt.

    Attributes:
        before, dwell: the readings, and in `before_s` and `dwell_s` their moments from the prompt.
        void_s: when it was declared spoilt, in seconds from the prompt; None where it was not.
        waited: it was held up before its dwell, so that none was taken.
    """

    before: list[bool | None]
    before_s: tuple[float, ...]
    dwell: list[bool | None]
    dwell_s: tuple[float, ...]
    void_s: float | None
    waited: bool = False


@dataclass(frozen=True)
class Errand:
    """What is to be done while the power is off.

    Attributes:
        link: where the cable is to hang; None: it is not to be touched.
        inside: where the filament is to be put; None where nothing is said of it.
        power_up: number of the power-up with the sensor unplugged that this begins; 0 for none.
        told: the screen has just said that another plug was pulled.
        clip: a resistor to be fitted at the header; None: none.
    """

    link: Link | None = None
    inside: bool | None = None
    power_up: int = 0
    told: bool = False
    clip: Clip | None = None


@dataclass(frozen=True)
class Returned:
    """What shows of a power hold point once it is released: a banner, and that the port was gone meanwhile."""

    banner: bool
    port_gone: bool


class Standing(Enum):
    """What a person finds who is asked whether all is as it is to be."""

    RIGHT = "it is"
    PUT = "the filament was not there, and is now"
    UNPLUGGED = "the sensor is not plugged in"


@dataclass(frozen=True)
class Look:
    """Readings to be taken.

    Attributes:
        moments_s: all that there may be at the most, in seconds from the first question.
        least: so many are taken in any case.
        over: whether those taken are enough.
    """

    moments_s: tuple[float, ...]
    least: int
    over: Callable[[Heard], bool]


class Hands:
    """One person at one plant."""

    def __init__(self, plant: Plant, person: Person) -> None:
        self.plant = plant
        self.person = person

    def follow(self, prompt: Prompt) -> Followed:
        """Follow a prompt: countdown, then the dwell.

        Raises:
            Stopped: the person has seen enough.
        """
        before_s = beats(max(0, round(prompt.countdown_s / BEAT_S)), BEAT_S)
        began_s, act = self.plant.now, self.person.act(prompt)
        if act.inside is not None:
            self.plant.move(inside=act.inside, after_s=act.at_s)
        before = self._read(before_s, began_s)
        if self.person.waits(prompt, before):
            return Followed(before, before_s, [], (), None, waited=True)
        dwell_s = _dwell_s(prompt.countdown_s, prompt.readings, prompt.dwell_s)
        dwell = self._read(dwell_s, began_s)
        if self.person.stops(prompt, dwell):
            raise Stopped
        void_s = act.void_s if act.void_s is not None else self.person.void_s(prompt, before, dwell)
        return Followed(before, before_s, dwell, dwell_s, void_s)

    def watch(self, look: Look, *, work: bool = False) -> list[bool | None]:
        """Read from now on while the cable is worked, or nothing done; a slip is to do nothing there too."""
        self.plant.worked = work and self.person.slip(Slip.NOTHING) is None
        try:
            return self._look(look, self.plant.now)
        finally:
            self.plant.worked = False

    def move(self, prompt: Prompt, look: Look) -> list[bool | None]:
        """Move the filament as a prompt of the unplug test says, and read from the end of its countdown on.

        Raises:
            Stopped: the person ends the run there.
        """
        began_s, act = self.plant.now, self.person.act(prompt)
        if act.inside is not None and self.person.habits.moves:
            self.plant.move(inside=act.inside, after_s=act.at_s)
        if self.person.breaks_off():
            raise Stopped
        return self._look(look, began_s + prompt.countdown_s)

    def place(self, *, inside: bool) -> None:
        """Put the filament there before a question is answered; a slip is to answer without having done it."""
        if self.person.slip(Slip.NOTHING) is None:
            self._move(inside=inside)
        self.plant.pass_s(ANSWER_S)

    def lay(self, ohms: float) -> None:
        """Lay a resistor between the test leads, in place of what lies there; a slip is to leave all as it is.

        It goes from signal to the rail that the pull is meant to lead away from. Leads on another header, and resistors
        that are never laid, bring nothing to this input.
        """
        habits = self.person.habits
        if self.person.slip(Slip.NOTHING) is None:
            there = habits.fits and habits.clips_right and ohms not in habits.leaves_out
            self.plant.clip = Clip(ohms, self.plant.unit.wiring.meant.other) if there else None
        self.plant.pass_s(ANSWER_S)

    def sees_in(self) -> bool:
        """Where the filament is, as the person sees it; a slip is to say the opposite."""
        return self.plant.inside is (self.person.slip(Slip.OPPOSITE) is None)

    def sees_plugged_in(self) -> bool:
        """Whether the sensor is plugged in at both ends, as the person sees it; a slip is to say the opposite."""
        return (self.plant.link is Link.ON) is (self.person.slip(Slip.OPPOSITE) is None)

    def looks_again(self, *, inside: bool) -> Standing:
        """Whether the sensor is plugged in and the filament there; it is put there where it is not.

        A slip is to say that all is right without a look.
        """
        if self.person.slip(Slip.NOTHING) is not None:
            return Standing.RIGHT
        if self.plant.link is not Link.ON:
            return Standing.UNPLUGGED
        if self.plant.inside is inside:
            return Standing.RIGHT
        self._move(inside=inside)
        return Standing.PUT

    def power_off(self, errand: Errand) -> Returned:
        """Take the power off, do this meanwhile, and power up again, as this person does it."""
        slip = self.person.slip(Slip.NOTHING, *_slips(errand), Slip.NO_POWER_OFF)
        self.plant.pass_s(HOLD_S)
        if slip is Slip.NOTHING:
            return self._power(Power.KEPT)
        self._put(errand, slip)
        self._hang(errand, slip)
        self.plant.clip = errand.clip if self.person.habits.fits else None
        return self._power(Power.KEPT if slip is Slip.NO_POWER_OFF else self.person.habits.powers)

    def _put(self, errand: Errand, slip: Slip | None) -> None:
        if errand.inside is not None and slip is not Slip.NOT_PUT:
            self._move(inside=errand.inside)
        elif errand.inside is None and self.person.habits.takes_out:
            self._move(inside=False)

    def _hang(self, errand: Errand, slip: Slip | None) -> None:
        """Hang the cable; another plug instead of the sensor's leaves that one plugged in, or has it plugged in again.

        Where it is already out, as in the second power-up, it is plugged in again by who takes another one for it.
        """
        plug = self.person.pulls(errand.power_up, told=errand.told)
        if slip is Slip.WRONG_PLUG or (errand.power_up and plug is not Plug.RIGHT):
            self.plant.link = Link.ON
        elif errand.link is not None and slip is not Slip.NOT_PLUGGED_IN:
            self.plant.link = errand.link

    def _look(self, look: Look, began_s: float) -> list[bool | None]:
        found = self._read(look.moments_s[: look.least], began_s)
        while len(found) < len(look.moments_s) and not look.over(found):
            found += self._read(look.moments_s[len(found) : len(found) + 1], began_s)
        return found

    def _read(self, moments_s: Sequence[float], began_s: float) -> list[bool | None]:
        return self.plant.understood(self.plant.readings(moments_s, began_s))

    def _power(self, done: Power) -> Returned:
        """What the board and its port do.

        With both out, the board starts and its port was gone. With USB alone out the port goes, and the mains keep the
        board running. Either way, and with nothing done, the port is opened anew, and that restarts some boards: a
        banner, and no power-up.
        """
        if done is Power.OFF:
            self.plant.power_up()
        banner = done is Power.OFF or self.plant.unit.restarts_on_opening
        return Returned(banner=banner, port_gone=done is not Power.KEPT)

    def _move(self, *, inside: bool) -> None:
        self.plant.move(inside=inside)
        self.plant.pass_s(self.person.reaction_s())


def _slips(errand: Errand) -> tuple[Slip, ...]:
    """What of an errand can go wrong."""
    found = [Slip.WRONG_PLUG] if errand.power_up else []
    found += [Slip.NOT_PLUGGED_IN] if errand.link is Link.ON else []
    found += [Slip.NOT_PUT] if errand.inside is not None else []
    return tuple(found)


@lru_cache(maxsize=64)
def _dwell_s(countdown_s: float, readings: int, dwell_s: float) -> tuple[float, ...]:
    """The moments of a dwell, in seconds from the prompt."""
    return tuple(countdown_s + at_s for at_s in beats(readings, dwell_s / max(1, readings - 1)))
