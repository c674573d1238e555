"""What stays open of the pull: what a criterion leaves, and what earlier rules did not ask for."""

from commission.asking.message import Punch
from commission.asking.steps import Steps, recall
from commission.command_lines import FULL_CHECK
from commission.evidence.findings.pull import PullProof
from commission.judge.acceptance import Criterion
from commission.vocabulary import PunchClass, Verdict

PULL_NOT_PROVEN = "Pull not proven: an unplugged input that nothing holds can rest at out by chance."
CURE_PULL = (
    f"Run a full check, `{FULL_CHECK}`, and prove the pull in its unplug test: by 1 kΩ and 220 kΩ, or by a meter with "
    "1 kΩ. A module "
    "whose own pull goes away with its plug needs a pull at the board first."
)
CURE_WEAK = (
    "Switch the input's pull on in the firmware's configuration, or have a resistor of 4.7 to 10 kΩ fitted in its "
    "place; then run this again. A sound pull above about 90 kΩ fails with resistors too: prove it with the meter."
)
PULL = "pull"
"""Name of the criterion."""


def pull_item(criterion: Criterion) -> tuple[str, str]:
    """What an open item on the pull says, and its cure."""
    if criterion.verdict is Verdict.FAIL:
        return f"The unplugged input is not held. {criterion.observed}", CURE_WEAK
    return PULL_NOT_PROVEN, CURE_PULL


def pull_still_open() -> Steps[None]:
    """Carry the item where no earlier run of this printer proved the pull, as those of earlier rules did not."""
    before = yield from recall(PullProof, earlier=True)
    if before is None or before.result is None or not before.result.proven:
        yield Punch(PunchClass.INCOMPLETE, PULL_NOT_PROVEN, CURE_PULL)
