"""The proof of the pull as it is read: by resistors and the input, by a current, or by voltages.

Between two leads from the free header: nothing, 1 kilohm, 220 kilohm and 1 kilohm again. The last shows that the leads
still touched. What gives way to 220 kilohm is laid once more before it is called too weak.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from commission.asking.message import Tell, Weight
from commission.asking.request import Confirm, Enter, EntryKind, Watch
from commission.asking.steps import Steps, confirm, enter, establish, watch
from commission.evidence.findings.pull import PullProof as PullProofFound
from commission.evidence.findings.pull import PullProofBy
from commission.judge.exposure import watched
from commission.judge.plan import Plan
from commission.vocabulary import PullConclusion, Reading
from commission.wiring.pull_proof import PullFinding, PullProof

FREE, SMALL, LARGE, SMALL_AGAIN = "pull.free", "pull.small", "pull.large", "pull.small_again"
LARGE_AGAIN = "pull.large_again"
SMALL_R, LARGE_R = "1 kΩ", "220 kΩ"
GAVE_WAY = (
    "With 220 kΩ the reading was another one. See that it is 220 kΩ (red, red, yellow, or red, red, black, orange) and "
    "that the 1 kΩ is off, and keep your fingers off its wires.",
)
ON_WORD = (
    "That 220 kΩ lay there rests on the operator's word: with a sound pull it reads as open leads do, and only a "
    "voltage tells them apart."
)
TWICE = "Not judged: 220 kΩ changed the reading once and not the other time."


@dataclass(frozen=True)
class _Readings:
    """What was read with nothing fitted, and with each resistor; None where it was not tried."""

    free: tuple[Reading, ...] | None = None
    small: tuple[Reading, ...] | None = None
    large: tuple[Reading, ...] | None = None
    again: tuple[Reading, ...] | None = None
    large_again: tuple[Reading, ...] | None = None


_NOTHING_READ = _Readings()


def by_meter(proof: PullProof) -> Steps[PullFinding | None]:
    """What the current through 1 kilohm comes to; None where it was not measured."""
    least_a, greatest_a = proof.sound_a
    lines = (
        f"Set the meter to µA and put {SMALL_R} in series with it, between the free ends of the leads.",
        f"A sound pull of this input gives {1e6 * least_a:.0f} to {1e6 * greatest_a:.0f} µA, one that was fitted by "
        "hand more, and none less than 15 µA.",
    )
    asked = Enter(
        "pull.current", "The current through the resistor", EntryKind.NUMBER, "µA", optional=True, lines=lines
    )
    said = yield from enter(asked)
    if not said.strip():
        return None
    current_a = 1e-6 * float(said)
    found = proof.judge_current(current_a)
    yield from establish(_stated(proof, found, PullProofBy.METER, current_a=current_a))
    return found


def by_voltmeter(proof: PullProof) -> Steps[PullFinding | None]:
    """What the voltages across the resistors come to; None where one was not measured."""
    read_v = []
    for key, resistor in ((SMALL, SMALL_R), (LARGE, LARGE_R), (SMALL_AGAIN, SMALL_R)):
        lines = (
            f"Set the meter to volts, clip {resistor} between the free ends of the leads and read across it.",
            f"At most {proof.overruled_v:.2f} V with {SMALL_R} shows that it is fitted; at least {proof.held_v:.2f} V "
            f"with {LARGE_R} that the pull holds.",
        )
        title = f"The voltage across {resistor}"
        asked = Enter(f"{key}.volts", title, EntryKind.NUMBER, "V", optional=True, lines=lines)
        said = yield from enter(asked)
        if not said.strip():
            return None
        read_v.append(float(said))
    found = proof.judge_voltages(*read_v)
    yield from establish(_stated(proof, found, PullProofBy.VOLTMETER, volts=tuple(read_v)))
    return found


def by_resistors(proof: PullProof, plan: Plan, switch: str) -> Steps[PullFinding | None]:
    """None where a resistor was not laid; too weak only where 220 kilohm was laid twice and gave way each time."""
    free = yield from _watched(plan, switch, FREE, "nothing between the leads")
    small = yield from _with(SMALL_R, plan, switch, SMALL)
    if small is None:
        return None
    found, read = proof.judge_readings(free, small, free), _Readings(free, small)
    if found.conclusion is not PullConclusion.PROVEN:  # 1 kilohm does not overrule it: the large one tells nothing
        yield from establish(_stated(proof, found, PullProofBy.RESISTORS, read))
        return found
    large = yield from _with(LARGE_R, plan, switch, LARGE)
    again = None if large is None else (yield from _with(SMALL_R, plan, switch, SMALL_AGAIN))
    if large is None or again is None:
        return None
    found, large_again = proof.judge_readings(free, small, large, again), None
    if found.conclusion is PullConclusion.WEAK:
        yield Tell(GAVE_WAY, heading="Once more", weight=Weight.CAUTION)
        large_again = yield from _with(LARGE_R, plan, switch, LARGE_AGAIN)
        if large_again is None:
            return None
        found = proof.judge_readings(free, small, large_again, again)
        if found.conclusion is PullConclusion.PROVEN:
            found = PullFinding(PullConclusion.NOT_JUDGED, TWICE)
    if found.conclusion is PullConclusion.PROVEN:
        found = replace(found, sentence=f"{found.sentence} {ON_WORD}")
    read = replace(read, large=large, again=again, large_again=large_again)
    yield from establish(_stated(proof, found, PullProofBy.RESISTORS, read))
    return found


def _stated(
    proof: PullProof,
    found: PullFinding,
    how: PullProofBy,
    read: _Readings = _NOTHING_READ,
    volts: Sequence[float | None] = (None, None, None),
    current_a: float | None = None,
) -> PullProofFound:
    small_v, large_v, small_again_v = volts
    return PullProofFound(
        sentences=(found.sentence,),
        how=how,
        conclusion=found.conclusion,
        to=proof.to,
        current_a=current_a,
        free=_one(read.free),
        small=_one(read.small),
        large=_one(read.large),
        small_again=_one(read.again),
        large_again=_one(read.large_again),
        small_v=small_v,
        large_v=large_v,
        small_again_v=small_again_v,
    )


def _with(resistor: str, plan: Plan, switch: str, key: str) -> Steps[tuple[Reading, ...] | None]:
    """What is read with this resistor between the leads; None where it was not laid."""
    lines = (
        f"Clip {resistor} between the free ends of the leads, in place of what lies there, and take your fingers off: "
        "skin conducts as well as 220 kΩ does.",
        "Touch nothing but the free ends.",
    )
    name = key.removeprefix("pull.")
    if not (yield from confirm(Confirm(f"pull.lay.{name}", f"Is {resistor} between the leads, hands off?", lines))):
        return None
    return (yield from _watched(plan, switch, key, resistor))


def _watched(plan: Plan, switch: str, key: str, title: str) -> Steps[tuple[Reading, ...]]:
    """The readings that could be understood; none where too little could."""
    taken = yield from watch(
        Watch(
            key=key,
            title=f"Proof of the pull: {title}",
            lines=("Hands off. The input is read.",),
            switch=switch,
            presence=None,
            seconds=plan.rest_s,
            readings=plan.readings_per_dwell,
            interval_s=plan.rest_beat_s,
        )
    )
    if not watched(taken.readings, plan.rest_s).complete:
        return ()
    return tuple(reading.reading for reading in taken.readings if reading.reading is not Reading.UNKNOWN)


def _one(readings: Sequence[Reading] | None) -> Reading | None:
    """What was read throughout; unknown where there was more than one, or none."""
    if readings is None:
        return None
    known = set(readings) - {Reading.UNKNOWN}
    return known.pop() if len(known) == 1 else Reading.UNKNOWN
