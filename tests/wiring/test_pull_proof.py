"""The proof of the pull, against an arithmetic of its own: a divider, and the leakage through both in parallel."""

import math
from dataclasses import replace

import pytest

from commission.vocabulary import Level, Pull, PullConclusion, Reading
from commission.wiring.installation import PullBy, WiringError
from commission.wiring.parts import InputClass, parts
from commission.wiring.pull_proof import SAFETY, PullFinding, PullProof, pull_proof
from tests.wiring.cases import GROUND, HIGH, LOW, NO, SUPPLY, two_wire, wired

ACTIVE, INACTIVE, UNKNOWN = Reading.ACTIVE, Reading.INACTIVE, Reading.UNKNOWN
PROVEN, WEAK, NOT_FITTED, NOT_JUDGED = PullConclusion
FITTED = (1000.0, 10_000.0)  # common practice: a resistor fitted by hand where the input has none
CLASSES = list(parts().inputs.values())
PULLED = [
    PullProof(chosen, pull, chosen.logic_v, (own[0], own[1]))
    for chosen in CLASSES
    for pull, own in ((Pull.UP, chosen.pull_up_ohm or FITTED), (Pull.DOWN, chosen.pull_down_ohm or FITTED))
    if pull is Pull.UP or chosen.logic_v < 5
]


def name(proof: PullProof) -> str:
    """A class of input and its pull."""
    return f"{proof.input.name} {proof.pull.value}"


def divided(proof: PullProof, resistor_ohm: float) -> tuple[float, float]:
    """Least and greatest voltage at the pin: divider without leakage, plus or minus leakage x both in parallel."""
    found = []
    for pull_ohm in proof.pull_ohm:
        bottom_ohm = resistor_ohm if proof.pull is Pull.UP else pull_ohm
        middle_v = proof.logic_v * bottom_ohm / (pull_ohm + resistor_ohm)
        moved_v = proof.input.leakage_a * pull_ohm * resistor_ohm / (pull_ohm + resistor_ohm)
        found += [middle_v - moved_v, middle_v + moved_v]
    return min(found), max(found)


def level(proof: PullProof, resistor_ohm: float) -> Level:
    """What stands at the input for certain with this resistor against its pull; floating where nothing is certain."""
    least_v, greatest_v = divided(proof, resistor_ohm)
    if greatest_v <= proof.input.vil.at_v(proof.logic_v):
        return Level.LOW
    return Level.HIGH if least_v >= proof.input.vih.at_v(proof.logic_v) else Level.FLOATING


def without(proof: PullProof) -> PullProof:
    """The same input with next to no pull."""
    return replace(proof, pull_ohm=(1e15, 1e15))


OWN = [proof for proof in PULLED if proof.pull_ohm != FITTED]


@pytest.mark.parametrize("proof", OWN, ids=name)
def test_a_sound_pull_gives_way_to_1_kilohm_and_holds_220(proof: PullProof) -> None:
    """In every class with a pull of its own, leakage included; and without a pull 220 kΩ alone decides the level."""
    resting, loaded = (Level.HIGH, Level.LOW) if proof.pull is Pull.UP else (Level.LOW, Level.HIGH)

    assert loaded is level(proof, 1e3)
    assert resting is level(proof, 220e3)
    assert loaded is level(without(proof), 220e3)


def test_100_kilohm_would_call_a_sound_pull_weak() -> None:
    """Against 100 kΩ a sound pull of 50 or 60 kΩ is no certain level in these: 2.17 V where 2.31 V are wanted."""
    failing = {name(proof) for proof in OWN if level(proof, 100e3) is Level.FLOATING}
    fast = next(proof for proof in OWN if name(proof) == "32-bit-f4 up")

    both = {f"{chosen} {pull}" for chosen in ("32-bit-f4", "wireless") for pull in ("up", "down")}
    assert both | {"32-bit-tolerant down"} == failing
    assert 3.3 * 100 / 150 - 1e-6 * 33_333 == pytest.approx(divided(fast, 100e3)[0], abs=1e-4)


def test_470_kilohm_would_not_show_a_missing_pull() -> None:
    """With 470 kΩ the 3 µA of a tolerant pin alone give 1.41 V, above its VIL of 1.17 V: no certain level."""
    missed = {name(proof) for proof in OWN if level(without(proof), 470e3) is Level.FLOATING}
    tolerant = next(proof for proof in OWN if name(proof) == "32-bit-tolerant up")

    assert "32-bit-tolerant up" in missed
    assert 1.41 == pytest.approx(divided(without(tolerant), 470e3)[1])


@pytest.mark.parametrize("proof", PULLED, ids=name)
def test_beyond_the_weakest_pull_a_sound_one_fails(proof: PullProof) -> None:
    """Just below that resistance the level against 220 kΩ is certain, just above it is not."""
    resting = Level.HIGH if proof.pull is Pull.UP else Level.LOW
    just_held, just_lost = (
        level(replace(proof, pull_ohm=(share * proof.weakest_ohm,) * 2), 220e3) for share in (0.999, 1.001)
    )

    assert resting is just_held
    assert Level.FLOATING is just_lost


@pytest.mark.parametrize(
    ("input_class", "weakest_kilohm"),
    # 220 x (V - VIH) / (VIH + I x 220 kΩ), by hand from the datasheets' levels and leakage
    [
        ("8-bit", 136.6),
        ("32-bit", 107.4),
        ("32-bit-standard", 157.2),
        ("32-bit-tolerant", 174.9),
        ("32-bit-f4", 86.1),
        ("wireless", 67.3),
    ],
)
def test_the_weakest_pull_of_each_class(input_class: str, weakest_kilohm: float) -> None:
    """A sound pull fails the proof above 67 to 175 kΩ, by the class; without leakage 94 kΩ for 0.7 VDD."""
    chosen = parts().inputs[input_class]
    proof = PullProof(chosen, Pull.UP, chosen.logic_v, (chosen.pull_up_ohm[0], chosen.pull_up_ohm[1]))
    dry = replace(proof, input=replace(chosen, leakage_a=0.0))

    assert weakest_kilohm == pytest.approx(proof.weakest_ohm / 1000, abs=0.05)
    assert proof.pull_ohm[1] < proof.weakest_ohm < dry.weakest_ohm
    assert input_class != "32-bit-f4" or dry.weakest_ohm == pytest.approx(94_286, abs=1)


@pytest.mark.parametrize(
    ("input_class", "pull", "microampere"),
    # V / (R + 1 kΩ) at both ends of the pull, the leakage taken off and added
    [
        ("8-bit", Pull.UP, (97.0, 239.1)),
        ("32-bit", Pull.UP, (63.7, 107.5)),
        ("32-bit", Pull.DOWN, (63.7, 107.5)),
        ("32-bit-tolerant", Pull.UP, (61.7, 109.5)),
        ("wireless", Pull.UP, (53.1, 107.5)),
    ],
)
def test_a_sound_pull_gives_so_many_microamperes(
    input_class: str, pull: Pull, microampere: tuple[float, float]
) -> None:
    """Through 1 kΩ a sound pull gives 54 to 240 µA, by the class of input."""
    proof = next(one for one in PULLED if (one.input.name, one.pull) == (input_class, pull))

    assert microampere == pytest.approx(tuple(1e6 * ampere for ampere in proof.sound_a), abs=0.05)


PROOF = pull_proof(wired(two_wire(NO, GROUND), Pull.UP, HIGH))


def dwell(reading: Reading, *, other: Reading | None = None, lost: int = 0) -> list[Reading]:
    """21 readings, one of them another or some of them lost."""
    found = [reading] * 21
    found[3] = other or reading
    return [*found[: 21 - lost], *[UNKNOWN] * lost]


@pytest.mark.parametrize(
    ("free", "small", "large", "conclusion"),
    [
        (dwell(INACTIVE), dwell(ACTIVE), dwell(INACTIVE), PROVEN),
        (dwell(ACTIVE), dwell(INACTIVE), dwell(ACTIVE), PROVEN),  # the words the other way round
        (dwell(INACTIVE, lost=2), dwell(ACTIVE), dwell(INACTIVE), PROVEN),
        (dwell(INACTIVE), dwell(ACTIVE), dwell(ACTIVE), WEAK),
        (dwell(INACTIVE), dwell(ACTIVE), dwell(INACTIVE, other=ACTIVE), WEAK),
        (dwell(INACTIVE, other=ACTIVE), dwell(ACTIVE), dwell(INACTIVE), WEAK),
        (dwell(INACTIVE), dwell(INACTIVE), dwell(INACTIVE), NOT_FITTED),
        (dwell(ACTIVE), dwell(ACTIVE), dwell(ACTIVE), NOT_FITTED),
        (dwell(INACTIVE), dwell(ACTIVE, other=INACTIVE), dwell(INACTIVE), NOT_JUDGED),
        (dwell(INACTIVE), dwell(ACTIVE), dwell(INACTIVE, lost=3), NOT_JUDGED),
        ([], dwell(ACTIVE), dwell(INACTIVE), NOT_JUDGED),
    ],
)
def test_readings_prove_the_pull_or_do_not(
    free: list[Reading], small: list[Reading], large: list[Reading], conclusion: PullConclusion
) -> None:
    """1 kΩ must change the reading and 220 kΩ must not; a flicker proves nothing, too little read judges nothing."""
    assert conclusion is PROOF.judge_readings(free, small, large).conclusion


def test_leads_that_let_go_prove_nothing() -> None:
    """220 kΩ that touches nothing looks like a pull that holds: 1 kΩ once more shows it."""
    held = PROOF.judge_readings(dwell(INACTIVE), dwell(ACTIVE), dwell(INACTIVE), dwell(ACTIVE))
    let_go = PROOF.judge_readings(dwell(INACTIVE), dwell(ACTIVE), dwell(INACTIVE), dwell(INACTIVE))

    assert (PROVEN, NOT_JUDGED) == (held.conclusion, let_go.conclusion)


@pytest.mark.parametrize(
    ("microampere", "conclusion"),
    [
        (83, PROVEN),
        (40, PROVEN),
        (15.1, PROVEN),
        (14.9, WEAK),
        (1, WEAK),
        (0, WEAK),
        (1700, PROVEN),
        (3300, NOT_JUDGED),
        (-80, NOT_JUDGED),
        (math.nan, NOT_JUDGED),
        (math.inf, NOT_JUDGED),
    ],
)
def test_a_current_proves_the_pull_or_does_not(microampere: float, conclusion: PullConclusion) -> None:
    """Through 1 kΩ at 3.3 V: from 15 µA up, the current of a 219 kΩ pull; 3.3 mA is the supply and no pull."""
    assert conclusion is PROOF.judge_current(microampere / 1e6).conclusion


@pytest.mark.parametrize("proof", PULLED, ids=name)
def test_what_gives_15_microamperes_holds_the_input(proof: PullProof) -> None:
    """In every class: 15 µA, a part of them leakage, come of a pull that still holds against leakage the other way.

    No pull at all gives at most the leakage, which is 3 µA or less.
    """
    leak_a = proof.input.leakage_a
    weakest_ohm = proof.logic_v / (15e-6 - leak_a) - 1000
    off_by_v = leak_a * weakest_ohm

    assert leak_a < 15e-6 / 4
    if proof.pull is Pull.UP:
        assert proof.logic_v - off_by_v >= proof.input.vih.at_v(proof.logic_v)
    else:
        assert off_by_v <= proof.input.vil.at_v(proof.logic_v)


@pytest.mark.parametrize("proof", OWN, ids=name)
def test_voltages_prove_a_sound_pull(proof: PullProof) -> None:
    """Across each resistor, the meter's 10 MΩ beside it, leakage against it: a sound pull is proven, none is not."""
    leak_a = proof.input.leakage_a

    def across_v(pull_ohm: float, resistor_ohm: float, sign: int) -> float:
        loaded_ohm = resistor_ohm * 10e6 / (resistor_ohm + 10e6)
        return (proof.logic_v / pull_ohm + sign * leak_a) / (1 / pull_ohm + 1 / loaded_ohm)

    for pull_ohm in proof.pull_ohm:
        small_v, large_v = across_v(pull_ohm, 1e3, 1), across_v(pull_ohm, 220e3, -1)
        assert PROVEN is proof.judge_voltages(small_v, large_v, small_v).conclusion
    small_v, large_v = across_v(1e12, 1e3, 1), across_v(1e12, 220e3, 1)
    assert WEAK is proof.judge_voltages(small_v, large_v, small_v).conclusion


@pytest.mark.parametrize(
    ("volts", "conclusion"),
    [
        ((0.08, 2.9, 0.08), PROVEN),
        ((0.0, 2.9, 0.0), PROVEN),
        ((0.08, 2.0, 0.08), WEAK),
        ((3.3, 3.3, 3.3), NOT_FITTED),
        ((2.0, 2.9, 0.08), NOT_FITTED),
        ((0.08, 3.3, 3.3), NOT_JUDGED),
        ((0.08, 5.0, 0.08), NOT_JUDGED),
        ((-0.08, 2.9, 0.08), NOT_JUDGED),
        ((0.08, math.nan, 0.08), NOT_JUDGED),
        ((0.08, math.inf, 0.08), NOT_JUDGED),
    ],
)
def test_a_voltmeter_alone_proves_nothing(volts: tuple[float, float, float], conclusion: PullConclusion) -> None:
    """With 220 kΩ it takes 2.31 V (0.7 of 3.3 V); before and after, 1 kΩ must bring it down, else nothing is fitted."""
    assert conclusion is PROOF.judge_voltages(*volts).conclusion


def test_each_conclusion_has_its_sentence() -> None:
    """The sentence says what was seen, what was expected, and below what the pull holds nothing."""
    found = [
        PROOF.judge_current(83e-6),
        PROOF.judge_current(12e-6),
        PROOF.judge_readings(dwell(INACTIVE), dwell(INACTIVE), dwell(INACTIVE)),
    ]

    assert [
        PullFinding(PROVEN, "The pull is proven: 83 µA flow through 1 kΩ; 64 to 107 µA are expected."),
        PullFinding(
            WEAK,
            "Too weak or absent, or a lead does not touch: 12 µA flow through 1 kΩ; 64 to 107 µA are expected, and "
            "below 15 µA it holds nothing.",
        ),
        PullFinding(
            NOT_FITTED,
            "Nothing was fitted: 1 kΩ did not change the reading. The leads do not touch this input, or it is not the "
            "input that is read, or something holds it harder than 1.9 kΩ, or nothing holds it.",
        ),
    ] == found


def test_the_resistor_goes_to_ground_or_to_the_logic_supply() -> None:
    """Against a pull-up to ground whatever the header gives; against a pull-down to a supply of 3.3 V and no other."""
    up = pull_proof(wired(two_wire(NO, GROUND), Pull.UP, HIGH, supply_v=24.0))
    down = pull_proof(wired(two_wire(NO, SUPPLY), Pull.DOWN, LOW))

    assert (GROUND, SUPPLY) == (up.to, down.to)


@pytest.mark.parametrize(
    ("pull", "pull_by", "logic_v", "supply_v", "why"),
    [
        (Pull.NONE, PullBy.BOARD, 3.3, 3.3, "none to prove"),
        (Pull.UP, PullBy.MODULE, 3.3, 3.3, "goes away with the plug"),
        (Pull.DOWN, PullBy.BOARD, 3.3, 5.0, "no resistor goes there"),
        (Pull.DOWN, PullBy.BOARD, 3.3, 24.0, "no resistor goes there"),
        (Pull.DOWN, PullBy.BOARD, 5.0, 5.0, "no resistor goes there"),
    ],
)
def test_what_cannot_be_proven_safely_is_refused(
    pull: Pull, pull_by: PullBy, logic_v: float, supply_v: float, why: str
) -> None:
    """No pull, a pull that left with the plug, or no terminal but one of 5 or 24 V: refused, with the reason."""
    made = wired(two_wire(NO, SUPPLY), pull, LOW, pull_by=pull_by, logic_v=logic_v, supply_v=supply_v)
    with pytest.raises(WiringError, match=why):
        pull_proof(made)


def test_the_safety_rule_names_what_it_forbids() -> None:
    """Never to 5 V or 24 V, and clipped on with mains and USB out."""
    said = " ".join(SAFETY)

    assert "never to a pin of 5 V or 24 V" in said
    assert "mains and USB both out" in said
    assert "Leave the mains plug out and plug only the USB cable in." in said
    assert "Close the cover" not in said  # it may stay open: mains comes in only where USB does not power the board


def test_a_proof_needs_a_pull() -> None:
    """Nothing to lay a resistor against is refused."""
    chosen: InputClass = CLASSES[0]
    with pytest.raises(WiringError, match="Only a pull-up or a pull-down"):
        PullProof(chosen, Pull.NONE, 5.0, (1e3, 1e4))
