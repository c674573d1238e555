"""Is the pull at the board really there? A resistor is laid against it at the free header, and the input is read.

Without a pull an unplugged input may read the right level by chance or by its own leakage, for years or for a minute.
A small resistor (1 kΩ) must overrule the pull: else it did not touch this input at all. A large one (220 kΩ) must not:
else the pull is too weak or not there. Against a pull-up the resistor goes from signal to ground, against a pull-down
from signal to the input's own logic supply. With V the logic voltage, R the pull, T the resistor and I the leakage,

    pull-up      v = (V/R ± I) / (1/R + 1/T)        through the resistor  v / T
    pull-down    v = (V/T ± I) / (1/R + 1/T)        through the resistor  (V - v) / T

Source: Kirchhoff's current law. The two values are common practice, no source; what others would do, its tests say.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite

from commission.vocabulary import Pull, PullConclusion, Reading
from commission.wiring.installation import Installation, PullBy, Terminal, WiringError
from commission.wiring.parts import InputClass, parts

LARGEST_SUPPLY_V = 3.6
"""A pull-down is proven against a supply of at most this: never against a pin of 5 V or 24 V."""
SAFETY = (
    "The resistor goes from signal to the one terminal named here, and never to a pin of 5 V or 24 V: that can kill "
    "the controller.",
    "Clip the two leads on with mains and USB both out, and lead their free ends out of the housing, apart.",
    "Leave the mains plug out and plug only the USB cable in. From then on touch only the free ends.",
    "A board that USB does not power needs mains for this: only with the leads led out and the cover closed, and by "
    "somebody competent to do it under the rules that apply where you are.",
)
LEAST_A = 15e-6
"""A pull that gives at least so much through the small resistor holds its input, leakage included, in every class."""
_STRONGEST_SHARE = 1.1
"""So much more than the strongest pull anyone fits, and it is no pull: common practice, no source."""
_LEAST_KNOWN = 0.9
"""A dwell is steady only when at least so much of it was read: 19 of 21."""


@dataclass(frozen=True)
class PullFinding:
    """A conclusion with its sentence."""

    conclusion: PullConclusion
    sentence: str


@dataclass(frozen=True)
class PullProof:
    """The proof for one input.

    Attributes:
        input: its class.
        pull: up or down.
        logic_v: the board's logic voltage, in volts.
        pull_ohm: least and greatest resistance of a sound pull, in ohm.
    """

    input: InputClass
    pull: Pull
    logic_v: float
    pull_ohm: tuple[float, float]

    def __post_init__(self) -> None:
        if self.pull is Pull.NONE or not 0 < self.pull_ohm[0] <= self.pull_ohm[1]:
            raise WiringError("Only a pull-up or a pull-down with a resistance can be proven.")

    @property
    def to(self) -> Terminal:
        """Where the resistor goes, from signal."""
        return Terminal.GROUND if self.pull is Pull.UP else Terminal.SUPPLY

    @property
    def weakest_ohm(self) -> float:
        """The greatest pull that still gives its level for certain against the large resistor, in ohm.

        From the formula above solved for R at v = VIH, or VIL, with the leakage against the pull. A pull beyond it
        fails the proof though it be sound.
        """
        resistor_ohm, leak_v = parts().model.proof_ohm, self.input.leakage_a * parts().model.proof_ohm
        if self.pull is Pull.UP:
            limit_v = self.input.vih.at_v(self.logic_v)
            return resistor_ohm * (self.logic_v - limit_v) / (limit_v + leak_v)
        limit_v = self.input.vil.at_v(self.logic_v)
        return resistor_ohm * limit_v / (self.logic_v - limit_v + leak_v)

    @property
    def sound_a(self) -> tuple[float, float]:
        """Least and greatest current of a sound pull through the small resistor, leakage included, in ampere."""
        least = self.through_a(self.pull_ohm[1]) - self.input.leakage_a
        return least, self.through_a(self.pull_ohm[0]) + self.input.leakage_a

    def through_a(self, pull_ohm: float) -> float:
        """The current of this pull through the small resistor, leakage left out, in ampere."""
        return self.logic_v / (pull_ohm + parts().model.bridge_ohm)

    def judge_readings(
        self,
        free: Sequence[Reading],
        with_small: Sequence[Reading],
        with_large: Sequence[Reading],
        with_small_again: Sequence[Reading] | None = None,
    ) -> PullFinding:
        """What the input's readings come to: free, with 1 kΩ, with 220 kΩ, and with 1 kΩ once more.

        The last shows that the leads still touched while the large resistor was on: a large one that touches nothing
        looks like a pull that holds.
        """
        before, small, large = _steady(free), _steady(with_small), _steady(with_large)
        again = small if with_small_again is None else _steady(with_small_again)
        if _NOT_READ in {before, small, large, again}:
            return _not_judged("too little could be read with one of the resistors")
        if small is _UNSTEADY or again != small:
            return _not_judged("with 1 kΩ the input did not read steadily the same: the leads do not hold")
        if before == small:
            return self._not_fitted()
        if before is _UNSTEADY:
            return PullFinding(
                PullConclusion.WEAK, "Too weak or absent: with nothing fitted the input reads unsteadily."
            )
        if large == before:
            return PullFinding(
                PullConclusion.PROVEN,
                "The pull is proven: 1 kΩ changed the reading and 220 kΩ did not, so it is no weaker than about "
                f"{_kilohm(self.weakest_ohm)}.",
            )
        how = "read unsteadily" if large is _UNSTEADY else "gave way"
        return PullFinding(
            PullConclusion.WEAK,
            f"Too weak or absent: with 220 kΩ the input {how}, as it does where the pull is weaker than about "
            f"{_kilohm(self.weakest_ohm)} or not there.",
        )

    def judge_current(self, current_a: float) -> PullFinding:
        """What a meter's current through the small resistor comes to, in ampere."""
        if not isfinite(current_a) or current_a < 0:
            return _not_judged(
                "a current is a number from 0 up; see that the leads of the meter are the right way round"
            )
        least_a, greatest_a = self.sound_a
        shown, expected = f"{1e6 * current_a:.0f} µA", f"{1e6 * least_a:.0f} to {1e6 * greatest_a:.0f} µA are expected"
        if current_a > _STRONGEST_SHARE * self.through_a(min(self.pull_ohm[0], parts().model.board_pull_ohm[0])):
            return _not_judged(f"{shown} are more than a pull gives: see that the lead is on signal and not on supply")
        if current_a < LEAST_A:
            return PullFinding(
                PullConclusion.WEAK,
                f"Too weak or absent, or a lead does not touch: {shown} flow through 1 kΩ; {expected}, and below "
                f"{1e6 * LEAST_A:.0f} µA it holds nothing.",
            )
        return PullFinding(PullConclusion.PROVEN, f"The pull is proven: {shown} flow through 1 kΩ; {expected}.")

    @property
    def overruled_v(self) -> float:
        """At most so much stands across the small resistor where it overrules the pull, in volts."""
        if self.pull is Pull.UP:
            return self.input.vil.at_v(self.logic_v)
        return self.logic_v - self.input.vih.at_v(self.logic_v)

    @property
    def held_v(self) -> float:
        """At least so much stands across the large resistor where the pull holds, in volts."""
        if self.pull is Pull.UP:
            return self.input.vih.at_v(self.logic_v)
        return self.logic_v - self.input.vil.at_v(self.logic_v)

    def judge_voltages(self, small_v: float, large_v: float, small_again_v: float) -> PullFinding:
        """What a voltmeter across the resistors comes to: the small one, the large one, the small one again, in volts.

        A bare meter proves nothing: it hardly loads the input. The small resistor shows that the leads touch.
        """
        read_v = (small_v, large_v, small_again_v)
        if not all(isfinite(volts) and 0 <= volts <= _STRONGEST_SHARE * self.logic_v for volts in read_v):
            return _not_judged(
                f"a voltage here is a number from 0 to {self.logic_v:g} V; see that the leads of the meter are the "
                "right way round and on no other terminal"
            )
        if small_v > self.overruled_v:
            return self._not_fitted(f"1 kΩ left {small_v:.2f} V across it")
        if small_again_v > self.overruled_v:
            return _not_judged("1 kΩ did not bring the voltage down a second time: the leads do not hold")
        stood = f"with 220 kΩ {large_v:.2f} V stood across it, and it takes {self.held_v:.2f} V"
        if large_v < self.held_v:
            return PullFinding(PullConclusion.WEAK, f"Too weak or absent: {stood} to be sure of the level.")
        return PullFinding(PullConclusion.PROVEN, f"The pull is proven: {stood} to be sure of the level.")

    def _not_fitted(self, how: str = "1 kΩ did not change the reading") -> PullFinding:
        limit_v = self.overruled_v
        strongest_ohm = parts().model.bridge_ohm * (self.logic_v - limit_v) / limit_v
        return PullFinding(
            PullConclusion.NOT_FITTED,
            f"Nothing was fitted: {how}. The leads do not touch this input, or it is not the "
            f"input that is read, or something holds it harder than {_kilohm(strongest_ohm)}, or nothing holds it.",
        )


def pull_proof(installation: Installation) -> PullProof:
    """The proof for this installation.

    Raises:
        WiringError: nothing can be proven here, or not safely; the text says why.
    """
    if installation.pull is Pull.NONE:
        raise WiringError("No pull was declared: there is none to prove.")
    if installation.pull_by is PullBy.MODULE:
        raise WiringError(
            "The pull sits on the module and goes away with the plug: there is none to prove at the header."
        )
    if installation.pull is Pull.DOWN and not _safe_supply(installation):
        raise WiringError(
            "A pull-down is proven against the input's own logic supply, and this header gives "
            f"{installation.supply_v:g} V: no resistor goes there. Leave the proof out, and say so."
        )
    return PullProof(installation.input, installation.pull, installation.logic_v, installation.board_pull_ohm)


def _safe_supply(installation: Installation) -> bool:
    return installation.supply_v <= min(LARGEST_SUPPLY_V, installation.logic_v + installation.input.over_logic_v)


_UNSTEADY, _NOT_READ = "unsteady", "not read"


def _steady(readings: Sequence[Reading]) -> Reading | str:
    """What a dwell read throughout."""
    known = [reading for reading in readings if reading is not Reading.UNKNOWN]
    if not known or len(known) < _LEAST_KNOWN * len(readings):
        return _NOT_READ
    return known[0] if len(set(known)) == 1 else _UNSTEADY


def _not_judged(why: str) -> PullFinding:
    return PullFinding(PullConclusion.NOT_JUDGED, f"Not judged: {why}.")


def _kilohm(ohm: float) -> str:
    return f"{ohm / 1000:.0f} kΩ" if ohm >= 10_000 else f"{ohm / 1000:.1f} kΩ"
