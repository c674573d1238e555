"""What cannot be wired so, claims that say nothing, and what is left out of a comparison."""

from dataclasses import replace

import pytest

from commission.vocabulary import Level, Pull, PunchClass
from commission.wiring.assessment import not_a_presence_input
from commission.wiring.claims import Claim, InputNote, claims
from commission.wiring.declaration import declared_absent
from commission.wiring.installation import Installation, PushPull, WiringError
from commission.wiring.parts import PartsError, SensorKind
from commission.wiring.prediction import Probe
from tests.wiring.cases import GROUND, HIGH, NO, SIGNAL, two_wire, wired

SWITCH = wired(two_wire(NO, GROUND), Pull.UP, HIGH)


def test_a_contact_from_signal_to_signal_is_refused() -> None:
    """It would join nothing."""
    with pytest.raises(WiringError, match="not to itself"):
        two_wire(NO, SIGNAL)


def test_an_output_that_drives_nothing_is_refused() -> None:
    """A push-pull output is high or low."""
    with pytest.raises(WiringError, match="high or low"):
        PushPull(Level.FLOATING)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"kind": SensorKind.PUSH_PULL}, "is not wired as DryContact"),
        ({"absent": Level.FLOATING}, "declare which"),
        ({"logic_v": 12.0}, "is no logic voltage"),
        ({"supply_v": 230.0}, "measure the header again"),
        ({"own_pull_up": True}, "carries no pull-up of its own"),
    ],
)
def test_an_installation_that_cannot_be_is_refused(change: dict[str, object], said: str) -> None:
    """With what is wrong and what to do."""
    with pytest.raises(WiringError, match=said):
        replace(SWITCH, **change)  # type: ignore[arg-type]
    assert isinstance(SWITCH, Installation)


def test_a_presence_input_is_not_called_none() -> None:
    """Its wiring is asked for instead; a part that tells of movement alone has an assessment without levels."""
    with pytest.raises(WiringError, match="declare how it is wired"):
        not_a_presence_input(SensorKind.SWITCH)


@pytest.mark.parametrize(("short", "question"), [("", "Is it?"), ("x" * 200, "Is it?"), ("a heater", "It is.")])
def test_a_claim_that_asks_nothing_is_refused(short: str, question: str) -> None:
    """A line of its own, a question with its mark, a conflict and a cure."""
    with pytest.raises(PartsError, match=r"claims\.toml"):
        Claim("heater", short, question, "It heats.", "Use another input.", PunchClass.UNSAFE)


def test_an_input_with_an_unsafe_claim_is_forbidden() -> None:
    """Any other claim leaves it usable, and a second use of the pin is told with the conflicts."""
    by_weight = {claim.weight: claim for claim in claims()}
    notes = [InputNote("X1", "", Pull.UP, None, (claim,), "SERVO_2") for claim in by_weight.values()]

    assert [weight is PunchClass.UNSAFE for weight in by_weight] == [note.forbidden for note in notes]
    assert all("SERVO_2" in note.conflicts[-1] for note in notes)


def test_an_absent_level_nobody_knows_is_none() -> None:
    """Not asked for, or unknown; else the level itself."""
    assert [None, None, HIGH] == [declared_absent(each) for each in ({}, {"absent": "unknown"}, {"absent": "high"})]


def test_a_probe_without_power_needs_its_own_power_up() -> None:
    """What is metered or unplugged begins anew; what is only read does not."""
    assert not Probe.FILAMENT_IN.own_power_up
    assert any(each.own_power_up for each in Probe)
