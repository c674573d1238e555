"""Three ways to a right build: as it comes, by the declared wiring alone, and by a borrowed socket before the first."""

import random
from collections.abc import Callable
from dataclasses import dataclass, replace

from commission.procedure.wiring.declaration import Declared, assessed
from commission.vocabulary import Level
from scripts.commissioning.circuit import Form
from scripts.commissioning.untaught import Untaught
from scripts.installs.asked import NOT_BEGUN, SAYS, Told, borrowed, declared
from scripts.installs.priors import Build, Installation
from scripts.installs.rework import reworked

MOST_TRIALS = 4
"""So often a person borrows the socket; then the build is made from the declared wiring."""
USUAL, BORROWED = "as it comes", "by a borrowed socket"
FOLLOWED, ON_PAPER = "a build followed from the socket", "built from the declared wiring"


@dataclass(frozen=True)
class Way:
    """One installation on one way.

    Attributes:
        builds: of the firmware until it was right.
        right: whether it came to be.
        at_once: whether it was at the first check, with nothing changed after the first build.
        hardware: changes with the iron, those before the first build among them.
        looked_right: under one of its builds in and out read right, and the unplugged cable not *out*.
        pull_follows: the real input had the pull of the sensor as it was wired at the first build.
        trials: how often the socket was borrowed.
        why: how the first build came about.
    """

    builds: int
    right: bool
    at_once: bool
    hardware: int
    looked_right: bool
    pull_follows: bool
    trials: int = 0
    why: str = ""


def usual(made: Installation, _chance: random.Random) -> Way:
    """Build it as it comes, check, and build again until it is right."""
    return _built(made, made.usual)


def on_paper(made: Installation, _chance: random.Random) -> Way:
    """Build what the tool predicts from the wiring as it is declared, without a printer."""
    return _on_paper(made, 0, 0, "nothing was borrowed")


def borrowing(made: Installation, chance: random.Random) -> Way:
    """Borrow the socket until a build follows or there is no more to learn, then build that."""
    hardware = 0
    for trial in range(1, MOST_TRIALS + 1):
        told = borrowed(made, chance)
        if told.build is not None:
            return _built(made, told.build, hardware, trial, FOLLOWED)
        after = _put_right(made, told)
        if after is None:
            break
        hardware += after.sensor != made.sensor
        made = after
    return _on_paper(made, hardware, trial, _short(told))


def _put_right(made: Installation, told: Told) -> Installation | None:
    """What the person does about what was said; None where borrowing again would tell no more."""
    if told.seen == NOT_BEGUN:
        return None
    if told.other_contact:
        return made.moved()
    if "declared" in told.said:  # the empty socket is measured with a meter, as its cure says
        return None if made.socket is None else replace(made, says_socket=made.socket)
    to_its_pull = made.sensor.to is made.says_socket
    if told.seen == "never seen closed" and to_its_pull and made.sensor.form is Form.CONTACT:
        return replace(made, sensor=replace(made.sensor, to=made.sensor.to.other))
    return made  # once more, with more care


def _on_paper(made: Installation, hardware: int, trials: int, why: str) -> Way:
    found = _assessed(made)
    if found.assessment.fail_safe is False:
        made, hardware = made.moved_unseen(), hardware + 1
        found = _assessed(made)
    if found.installation is None:
        raise Untaught("A sensor that tells no presence is in no table of this campaign.")
    build = Build(found.installation.absent is Level.HIGH, made.sensor.to.other)
    return _built(made, build, hardware, trials, f"{ON_PAPER}: {why}")


def _assessed(made: Installation) -> Declared:
    return assessed(declared(made) | {"pull": SAYS[made.sensor.to.other]})


def _short(told: Told) -> str:
    """Why no build followed, as far as the first comma or stop."""
    return told.said.partition(".")[0].partition(",")[0].partition(":")[0]


def _built(made: Installation, first: Build, hardware: int = 0, trials: int = 0, why: str = "") -> Way:
    found = reworked(made, first)
    return Way(
        builds=found.builds,
        right=found.right,
        at_once=found.right and (found.builds, found.hardware) == (1, 0),
        hardware=hardware + found.hardware,
        looked_right=found.looked_right,
        pull_follows=made.pull_follows,
        trials=trials,
        why=why,
    )


WAYS: dict[str, Callable[[Installation, random.Random], Way]] = {
    USUAL: usual,
    "by the declared wiring": on_paper,
    BORROWED: borrowing,
}
