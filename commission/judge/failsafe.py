"""What the firmware takes an unplugged or broken wire for.

The firmware takes *active* for filament in; that is the assumption of the reply form, which only a pause confirms.
The finding therefore needs no polarity: it asks what the firmware concludes when the sensor is not there. What to do
about it, together with the polarity, is in `advice`.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from commission.judge.power import PowerSeen
from commission.judge.wording import counted
from commission.vocabulary import FailSafe, Reading, SwitchBehaviour, Verdict


@dataclass(frozen=True)
class UnpluggedResult:
    """What one power-up with the sensor unplugged read.

    Attributes:
        readings: in the order they were taken: hands off, then while the filament was moved.
        watched: whether every watch of it reached its exposure; else it is not judged.
        power: how far the power-off before it was seen.
    """

    readings: tuple[Reading, ...]
    watched: bool
    power: PowerSeen = PowerSeen.WORD

    @property
    def read(self) -> bool:
        """Whether enough was watched to say anything."""
        return self.watched and any(reading is not Reading.UNKNOWN for reading in self.readings)

    @property
    def steady(self) -> Reading:
        """The one reading that was seen throughout; unknown when there was more than one, or none.

        Readings that were lost on the way are neither.
        """
        seen = set(self.readings) - {Reading.UNKNOWN}
        return seen.pop() if len(seen) == 1 else Reading.UNKNOWN


@dataclass(frozen=True)
class FailSafeFinding:
    """What a broken or unplugged wire is taken for.

    Attributes:
        fail_safe: the finding.
        power_ups: power-ups that could be read.
        sentence: the finding for a person.
        agree: whether all power-ups that were read showed the same steady reading.
        power_seen: whether the power was seen to be off before each of them.
    """

    fail_safe: FailSafe
    power_ups: int
    sentence: str
    agree: bool = True
    power_seen: bool = True

    def verdict(self, needed: int) -> Verdict:
        """What it is worth where a pass takes so many power-ups; a power-off nobody saw makes no full pass."""
        if self.fail_safe is FailSafe.NOT_TESTED:
            return Verdict.NOT_JUDGED
        if self.fail_safe is not FailSafe.SAFE:
            return Verdict.FAIL
        if self.power_ups < needed:
            return Verdict.NOT_JUDGED
        return Verdict.PASS if self.power_seen else Verdict.CONDITIONAL


def fail_safe(results: Sequence[UnpluggedResult], behaviour: SwitchBehaviour) -> FailSafeFinding:
    """Judge the unplugged readings: steadily out every time is safe, steadily in even once is dangerous.

    Args:
        results: one per power-up with the sensor unplugged.
        behaviour: the polarity found; it changes the sentence, never the finding.
    """
    done = len(results)
    broken = [r for r in results if len(set(r.readings) - {Reading.UNKNOWN}) > 1]
    dangerous = [r for r in results if r.read and r.steady is Reading.ACTIVE]
    agree = not broken and len({r.steady for r in results}) <= 1
    if dangerous:
        often = f"in {len(dangerous)} of {counted(done, 'power-up')}"
        sentence = f"Unplugged, the input read in, steadily, {often}: a broken wire would pass for filament in."
        sentence += "" if agree else " The power-ups differ: nothing holds the input when unplugged."
        if behaviour is SwitchBehaviour.DIRECT and agree:
            sentence += " The switch reads right all the same: two errors that cancel."
        return FailSafeFinding(FailSafe.DANGER, done, sentence, agree)
    if broken:
        sentence = (
            "Unplugged, the reading changed, and not as the filament moved: nothing holds the input, so a broken wire "
            "may pass for anything."
        )
        return FailSafeFinding(FailSafe.UNSTEADY, done, sentence, agree)
    if not results or not all(r.read for r in results):
        sentence = (
            f"Unplugged, too little could be read in {done} power-ups; what a broken wire reads is not known."
            if results
            else "The sensor was not unplugged; what a broken wire reads is not known."
        )
        return FailSafeFinding(FailSafe.NOT_TESTED, sum(r.read for r in results), sentence)
    sentence = f"Unplugged, the input read steadily out in {counted(done, 'power-up')}"
    if done == 1:
        sentence += "; a floating input can rest there by chance, so power up once more"
    unseen = [number for number, result in enumerate(results, 1) if result.power is not PowerSeen.POWER_OFF]
    sentence += f". {unseen_sentence(unseen)}" if unseen else "."
    return FailSafeFinding(FailSafe.SAFE, done, sentence, power_seen=not unseen)


def unseen_sentence(power_ups: Sequence[int]) -> str:
    """That the power-off before these power-ups was not seen."""
    before = " and ".join(f"power-up {number}" for number in power_ups)
    return f"That the power was off before {before} was not seen: it rests on the operator's word."


def far_end_sentence(result: UnpluggedResult, at_board: Sequence[UnpluggedResult] = ()) -> str:
    """What the input read with its cable unplugged at the sensor, for a person.

    Args:
        result: with the plug out at the sensor.
        at_board: with the plug out at the board: an input that rests at in there needs no cable to hold it.
    """
    if not result.read:
        return "Unplugged at the sensor, too little could be read."
    if result.steady is Reading.INACTIVE:
        return "Unplugged at the sensor, the input read steadily out."
    if result.steady is Reading.ACTIVE and any(each.steady is Reading.ACTIVE for each in at_board):
        return "Unplugged at the sensor, the input read in, steadily, as it did unplugged at the board."
    if result.steady is Reading.ACTIVE:
        return "Unplugged at the sensor, the input read in, steadily: the cable holds it, as a short in it does."
    return "Unplugged at the sensor, the reading changed, and not as the filament moved: nothing holds the input."
