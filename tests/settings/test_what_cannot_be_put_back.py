"""Numbers that are none, lines that must not be sent, and a leftover distance that is told and never put back."""

from collections.abc import Sequence
from decimal import Decimal

import pytest

from commission.settings.leftover import changed_leftover
from commission.settings.printed import Printed, agree, agree_across_units
from commission.settings.readable_file import AS_PRINTED, printed_part, readable_file
from commission.settings.snapshot import Snapshot, snapshot_of_capture

STEPS = ("echo:; Steps per unit:", "echo:  M92 X80.00 E97.50", "ok")


def report(leftover: str) -> list[str]:
    """A settings report with that leftover distance."""
    return ["echo:; Filament runout sensor:", f"echo:  M412 S1 D{leftover}", *STEPS]


def found_in(lines: Sequence[str]) -> Snapshot:
    """What such lines hold, as a capture."""
    return snapshot_of_capture("\n".join(lines).encode())


@pytest.mark.parametrize(("now", "told"), [("25.00", ("D", "20.00", "25.00")), ("20.0", None)])
def test_a_changed_leftover_is_told(now: str, told: tuple[str, str, str] | None) -> None:
    """Both values as printed; the same value with fewer digits is no change, and nor is one that is not printed."""
    found = changed_leftover(found_in(report("20.00")), found_in(report(now)))

    assert told == (None if found is None else (found.letter, found.as_found, found.current))
    assert None is changed_leftover(found_in(report("20.00")), found_in(STEPS))


def test_a_readable_file_is_read_back() -> None:
    """Its last part is the report as printed; what else stands in it is no setting."""
    printed = report("20.00")
    snapshot = found_in(printed)
    text = readable_file(snapshot, printed, ["bench-3, 2031-03-14"], sections={"Switches": ["filament: open"]})
    lines = text.splitlines()

    assert ["bench-3, 2031-03-14", "", "Switches"] == lines[:3]
    assert any("leftover distance" in line for line in lines)
    assert lines.index(AS_PRINTED) == len(lines) - len(printed) - 2
    assert tuple(printed) == printed_part(lines)
    assert snapshot.lines == found_in(lines).lines
    assert tuple(printed) == printed_part(printed)


def test_a_readable_file_keeps_what_nobody_knows() -> None:
    """A command that is not described stands there as it was printed."""
    printed = [*STEPS[:-1], "  C100 A1.00 B2.00", "ok"]
    lines = readable_file(found_in(printed), printed, ["bench-3"], sections={}).splitlines()

    assert ["- not known here, kept as text (C100)", "  - C100 A1.00 B2.00"] == [
        line for line in lines if line.lstrip().startswith("-") and "C100" in line
    ]


def test_a_step_without_a_size_is_refused() -> None:
    """The last digit of a number stands for something."""
    with pytest.raises(ValueError, match="has no size"):
        Printed("1", Decimal(1), Decimal(-1))


def test_what_is_no_number_agrees_as_it_is_printed() -> None:
    """And stays what it is in another unit."""
    lost, other = Printed.of("nan"), Printed.of("NAN")

    assert agree(lost, other)
    assert agree_across_units(lost, other)
    assert not agree(lost, Printed.of("1.0"))
    assert lost is lost.converted(Decimal(2))
