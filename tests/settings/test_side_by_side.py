"""The comparison on screen: two columns within 80 characters."""

import pytest

from commission.settings.comparison import compare
from commission.settings.side_by_side import side_by_side
from tests.settings.reports import GENERATIONS, report, snapshot

WHOLE_SCREEN = """\
Changed                                     before           after
------------------------------------------------------------------
  M92 E  extruder                            93.00          196.00  steps/mm
      More filament is fed for the same job: over-extrusion by the same ratio
        (+110.8 %).
? M851 Z  height of the probe's..            -1.85           -1.70  mm
      The first layer is printed higher above the bed.

Same place, other meaning                   before           after
------------------------------------------------------------------
  M205 X  X jerk                              9.00               -  mm/s
  M205 Y  Y jerk                              9.00               -  mm/s
  M205 J  junction deviation                     -            0.02  mm
      A jerk in mm/s and a junction deviation in mm do the same job: the number
        never carries over.

Only in the report before                   before           after
------------------------------------------------------------------
x C100
    before  C100 A1.00 B2.00 D3.00
    after   -
      The later report does not show it; its meaning is not known here, so the
        record keeps it as text.

Looks wrong
------------------------------------------------------------------
  after: echo:  M92 X80.000 E196.00
      M92 E (extruder) was 93.00, is 196.00: a factor of 2.1 against the last
        record.

Before a value: ? is asked about when putting back, x is never put back.

Same as far as printed, with digits on one side only: M203 X.

Values: 2 the same, 2 changed, 1 only before, 0 only after, 3 with another
  meaning. 1 value looks wrong."""


def test_the_whole_screen() -> None:
    """Every difference stands with both values, its unit and its consequence; what is the same is counted."""
    before = report("M92 X80.00 E93.00", "M205 X9.00 Y9.00", "M203 X300.0", "M851 Z-1.85", "C100 A1.00 B2.00 D3.00")
    after = report("M92 X80.000 E196.00", "M205 J0.02", "M203 X300.04", "M851 Z-1.70")

    assert WHOLE_SCREEN.splitlines() == side_by_side(compare(before, after))


@pytest.mark.parametrize("before", GENERATIONS.values(), ids=GENERATIONS)
@pytest.mark.parametrize("after", GENERATIONS.values(), ids=GENERATIONS)
def test_it_fits_the_screen(before: str, after: str) -> None:
    """No line is wider than 80 characters, with the same values listed too."""
    lines = side_by_side(compare(snapshot(before), snapshot(after)), everything=True)

    assert [] == [line for line in lines if len(line) > 80]


def test_nothing_differs() -> None:
    """Two equal reports give one sentence."""
    assert [
        "Values: 1 the same, 0 changed, 0 only before, 0 only after, 0 with another",
        "  meaning. No value looks wrong.",
    ] == side_by_side(compare(report("M92 X80.00"), report("M92 X80.00")))


def test_everything_lists_what_is_the_same() -> None:
    """On demand the same values stand there as well."""
    lines = side_by_side(compare(report("M92 X80.00"), report("M92 X80.00")), everything=True)

    assert "  M92 X  X axis                              80.00           80.00  steps/mm" in lines
