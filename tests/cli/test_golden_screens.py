"""A sound commissioning as a new user sees it, whole screens, in terminals of three sizes.

Every part of it is the real one: the command as a process at a pseudo-terminal of that size, the port, and a person
who knows only the screen. Time is simulated.
"""

import pytest

pytest.importorskip("termios", reason="terminals of this kind exist on POSIX only")

from tests.cli.golden_screens import COMPLETE, SIZES, golden, kept, sound_walk
from tests.support.sweeps import a_part

pytestmark = pytest.mark.timeout(1800)
"""Tens of thousands of moments are looked at, one after the other."""
MOST_ANSWERS = 35
CHOOSES_A_PLAN = 2
"""So many answers it takes to have another plan than the one that is offered."""


@pytest.mark.swept
@pytest.mark.parametrize("size", a_part(SIZES, one_in=3))
def test_a_new_user_sees_these_screens(size: str) -> None:
    """The run ends as a pass; each question is wholly visible when asked, no line is cut, the screens are as kept.

    In the two less usual sizes the short plan is chosen, which makes it conditional; `scripts/walk.py` has the full one
    in all of them.
    """
    walk = sound_walk(size)
    full = size == COMPLETE

    assert ((0, "pass.") if full else (4, "conditional pass.")) == (walk.code, walk.said("Verdict"))
    assert ([], []) == (walk.unseen, walk.cut)
    assert walk.answers <= MOST_ANSWERS + CHOOSES_A_PLAN * (not full)
    assert golden(size).read_text(encoding="utf-8") == kept(walk, size)
