"""What an earlier run left switched on is put back first, once it is known that this is the printer it was left on."""

from commission.asking.message import Tell, Weight
from commission.asking.steps import Steps
from commission.dialect.identity import Identity

LEFT_ON = Tell(
    ("An earlier run of this printer was broken off with something switched on or changed: that comes first.",),
    heading="Before this run",
    weight=Weight.CAUTION,
)


def nothing_to_ask(_identity: Identity | None) -> Steps[None]:
    """Of whatever answers it is known beforehand that it is the printer."""
    yield from ()
