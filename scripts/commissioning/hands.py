"""A person at a plant: prompts followed, cables worked, plugs pulled, and what was read meanwhile."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from scripts.commissioning.circuit import Clip, Link
from scripts.commissioning.person import Person, Plug, Power, Prompt, Slip
from scripts.commissioning.plant import Plant, beats

BEAT_S = 0.1
PATIENCE = 5
"""So often one prompt is held by a person who waits for a better reading."""
HOLD_S, ANSWER_S = 45.0, 3.0
THERE_AND_BACK_S = (1.5, 4.0, 6.5, 9.0)
"""When the filament passes the trip point while it is moved there and back twice."""


class Stopped(Exception):
    """The person ends the run."""


@dataclass(frozen=True)
class Followed:
    """What came of a prompt.

    Attributes:
        before, dwell: the readings, and in `before_s` and `dwell_s` their moments from the prompt.
        void_s: when it was declared spoilt, in seconds from the prompt; None where it was not.
        waits: how often it was held before its dwell.
    """

    before: list[bool]
    before_s: tuple[float, ...]
    dwell: list[bool]
    dwell_s: tuple[float, ...]
    void_s: float | None
    waits: int


@dataclass(frozen=True)
class Returned:
    """What shows of a power hold point once it is released: a banner, and that the port was gone meanwhile."""

    banner: bool
    port_gone: bool


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
        for waits in range(PATIENCE + 1):
            began_s, act = self.plant.now, self.person.act(prompt)
            if act.inside is not None:
                self.plant.move(inside=act.inside, after_s=act.at_s)
            before = self.plant.readings(before_s, began_s)
            if waits == PATIENCE or not self.person.waits(prompt, before):
                break
            self._move(inside=not prompt.inside)
            if prompt.leave:
                self._move(inside=prompt.inside)
        dwell_s = _dwell_s(prompt.countdown_s, prompt.readings, prompt.dwell_s)
        dwell = self.plant.readings(dwell_s, began_s)
        if self.person.stops(prompt, dwell):
            raise Stopped
        void_s = act.void_s if act.void_s is not None else self.person.void_s(prompt, before, dwell)
        return Followed(before, before_s, dwell, dwell_s, void_s, waits)

    def watch(self, moments_s: Sequence[float], *, work: bool = False, there_and_back: bool = False) -> list[bool]:
        """Read at these moments from now while the cable is worked, the filament moved there and back, or nothing done.

        A slip here is to do nothing.
        """
        slipped = self.person.slip(Slip.NOTHING) is not None if work or there_and_back else False
        if there_and_back and not slipped:
            for after_s in THERE_AND_BACK_S:
                self.plant.move(inside=not self.plant.inside, after_s=after_s)
        self.plant.worked = work and not slipped
        try:
            return self.plant.readings(moments_s)
        finally:
            self.plant.worked = False

    def place(self, *, inside: bool) -> None:
        """Put the filament there before a question is answered; a slip is to answer without having done it."""
        if self.person.slip(Slip.NOTHING) is None:
            self._move(inside=inside)
        self.plant.pass_s(ANSWER_S)

    def sees_in(self) -> bool:
        """Where the filament is, as the person sees it; a slip is to say the opposite."""
        return self.plant.inside is (self.person.slip(Slip.OPPOSITE) is None)

    def as_it_was(self, *, inside: bool) -> bool:
        """Whether the sensor is plugged in and the filament there; where not, both are put right at once."""
        right = self.plant.inside is inside and self.plant.link is Link.ON
        self.plant.link = Link.ON
        self._move(inside=inside)
        return right

    def power_off(self, link: Link | None = None, clip: Clip | None = None) -> Returned:
        """Take the power off, hang the cable there (None: leave it), fit or remove the resistor, and power up again."""
        habits = self.person.habits
        slip = self.person.slip(Slip.NOTHING, Slip.WRONG_PLUG, Slip.NO_POWER_OFF)
        self.plant.pass_s(HOLD_S)
        if slip is Slip.NOTHING:
            return self._power(Power.KEPT)
        if habits.takes_out:
            self._move(inside=False)
        unplugs = link not in (None, Link.ON)
        pulls = Plug.WRONG if slip is Slip.WRONG_PLUG else habits.pulls
        if link is not None and not (unplugs and pulls is not Plug.RIGHT):
            self.plant.link = link
        self.plant.clip = clip if habits.fits else None
        return self._power(Power.KEPT if slip is Slip.NO_POWER_OFF else habits.powers)

    def _power(self, done: Power) -> Returned:
        if done is Power.OFF:
            self.plant.power_up()
        banner = done is Power.OFF or self.plant.unit.restarts_on_opening
        return Returned(banner=banner, port_gone=done is not Power.KEPT)

    def _move(self, *, inside: bool) -> None:
        self.plant.move(inside=inside)
        self.plant.pass_s(self.person.reaction_s())


@lru_cache(maxsize=64)
def _dwell_s(countdown_s: float, readings: int, dwell_s: float) -> tuple[float, ...]:
    """The moments of a dwell, in seconds from the prompt."""
    return tuple(countdown_s + at_s for at_s in beats(readings, dwell_s / max(1, readings - 1)))
