"""The few runs of a printer that decide how it stands, out of all of them.

Whoever asks what is due, what is open and what was done last asks for the newest run of a purpose that came to its end
in some way. Of one printer, in one chain, the newest run of each purpose, outcome and verdict answers that: every older
one of the same three is followed by it, and what clears the newer failure of a kind clears the older one too. In
addition every run that opened an item of the asked class comes, for each item is told by itself.

Of a printer all runs come where that does not hold: where a run began before another of the same three and ended behind
it, and where the runs are to be compared one with the next.
"""

from collections.abc import Collection, Iterator, Sequence

from commission.records.facts import Line
from commission.records.numbering import CHAIN_BITS


def deciding(
    lines: Sequence[Line], opened: Collection[str], several: Collection[str], in_sight: Collection[str | None]
) -> Iterator[Line]:
    """The lines of these runs.

    Args:
        lines: of all runs.
        opened: the numbers of runs that come in any case.
        several: the numbers of runs of whose printers all runs come.
        in_sight: printers of which all runs come.
    """
    began: dict[tuple[object, ...], Line] = {}
    ended: dict[tuple[object, ...], Line] = {}
    for line in lines:
        key = (line.tag, line.purpose, line.outcome, line.verdict, line.began >> CHAIN_BITS)
        if key not in began:
            began[key] = ended[key] = line
            continue
        if line.began > began[key].began:
            began[key] = line
        if line.last > ended[key].last:
            ended[key] = line
    whole = {line.tag for line in lines if line.run in several} if several else set()
    whole |= {line.tag for key, line in began.items() if line is not ended[key]}
    whole |= {tag for tag in in_sight if tag is not None}
    yield from (line for line in began.values() if line.tag not in whole and line.run not in opened)
    yield from (line for line in lines if line.tag in whole or line.run in opened)
