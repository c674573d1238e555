"""Where two declarations of one wiring differ: by what they come to, not by how they were asked for."""

import pytest

from commission.wiring.differing import differing

SHORT = {"sensor": "switch", "wires": "2", "contact": "NO", "to": "ground", "pull": "up", "absent": "high"}
ASKED = SHORT | {"pressed-when": "in", "pull-by": "board", "logic": "3.3", "supply": "3.3"}


@pytest.mark.parametrize(
    ("before", "now", "said"),
    [
        (SHORT, SHORT, ()),
        (SHORT, ASKED, ()),
        (ASKED, {name: answer for name, answer in ASKED.items() if name != "absent"}, ()),
        (SHORT, SHORT | {"contact": "NC", "absent": "low"}, ("contact NO, now NC", "absent high, now low")),
        (ASKED, SHORT | {"logic": "5", "supply": "5"}, ("logic 3.3, now 5", "supply 3.3, now 5")),
        ({"sensor": "motion-wheel"}, {"sensor": "motion-wheel"}, ()),
        (
            {"sensor": "motion-wheel"},
            SHORT,
            (
                "sensor motion-wheel, now switch",
                "contact not said, now NO",
                "pull not said, now up",
                "absent not said, now high",
            ),
        ),
    ],
)
def test_only_what_comes_to_another_wiring_differs(
    before: dict[str, str], now: dict[str, str], said: tuple[str, ...]
) -> None:
    """The usual answer is the same, given or left out; a level that was left open differs from none that fits."""
    assert said == differing(before, now)
