"""What else may be on the input, and the note of it for the record."""

from importlib.resources import files

import pytest

from commission.vocabulary import Level, Pull, PunchClass
from commission.wiring.claims import InputNote, claims, read_claims
from commission.wiring.installation import WiringError
from commission.wiring.parts import PartsError

TEXT = files("commission.wiring").joinpath("claims.toml").read_text(encoding="utf-8")


def test_every_conflict_of_the_trade_is_asked_about() -> None:
    """Buzzer, probe, stall output, display, boot strap, high header and screen: each is asked and has its cure."""
    wanted = {"buzzer", "servo-or-probe", "driver-stall-output", "display", "boot-strap", "high-voltage-header"}

    assert wanted | {"screen-connector"} <= {claim.name for claim in claims()}
    assert all(claim.question.endswith("?") and claim.cure for claim in claims())


def test_a_claim_is_one_line_of_the_list() -> None:
    """No line of the list is too long for 80 columns with its number in front, and none is said twice."""
    lines = [claim.short for claim in claims()]

    assert 72 >= max(len(line) for line in lines)
    assert len(lines) == len(set(lines))


def test_a_header_with_12_or_24_volts_is_the_one_that_is_unsafe() -> None:
    """Only the high header makes an A item: the others make the sensor useless, not dangerous to the board."""
    assert ["high-voltage-header"] == [claim.name for claim in claims() if claim.weight is PunchClass.UNSAFE]


def test_a_note_keeps_pin_pull_and_level_and_tells_the_unsafe_conflict_first() -> None:
    """The note holds what is needed to find the input again, and its conflicts begin with the heaviest."""
    known = {claim.name: claim for claim in claims()}
    both = (known["buzzer"], known["high-voltage-header"])
    note = InputNote("runout header, bench-3", "B7", Pull.UP, Level.HIGH, both, "LAMP")

    assert "12 or 24 V" in note.conflicts[0]
    assert "LAMP" in note.conflicts[-1]
    assert ("runout header, bench-3", "B7") == (note.name_on_board, note.pin)
    assert (Pull.UP, Level.HIGH) == (note.pull, note.absent)


def test_an_input_nobody_can_find_again_is_refused() -> None:
    """A note without the name on the board is refused and says why."""
    with pytest.raises(WiringError, match="nobody will find it again"):
        InputNote("  ", "", Pull.UP, None)


@pytest.mark.parametrize(
    ("old", "new", "complaint"),
    [
        ("format = 1", "format = 9", "format = 1"),
        ("format = 1", "format =", "not TOML"),
        ('weight = "A"', 'weight = "Z"', "Z"),
        ("cure =", "remedy =", "remedy"),
        ("on this pin?", "on this pin.", "buzzer"),
    ],
)
def test_a_wrong_file_of_claims_is_refused(old: str, new: str, complaint: str) -> None:
    """Another format, an unknown key or weight, or a question without its mark is refused by name."""
    assert old in TEXT
    with pytest.raises(PartsError, match=complaint):
        read_claims(TEXT.replace(old, new, 1))


def test_an_input_with_nothing_else_on_it_has_no_conflict() -> None:
    """Neither a claim nor a second use of the pin."""
    assert () == InputNote("runout header, bench-3", "B7", Pull.UP, Level.HIGH, (), "").conflicts
