"""Which sensors are tested in one run: one, several that are named, or all that the printer's detection goes by."""

from collections.abc import Sequence

from commission.asking.request import Option
from commission.asking.response import Interrupted, Interruption, InterruptionKind
from commission.asking.steps import Steps
from commission.dialect.sources.search import Found
from commission.procedure.meeting.sources import Looked, chosen_source, meant, which

ALL_SENSORS = "all"
"""Every sensor that the printer's own detection goes by, one after the other."""
BETWEEN = ","
"""Between the names of several."""


def chosen_sources(
    found: Looked,
    wanted: str = "",
    on_record: str = "",
    together: Sequence[str] | None = None,
    *,
    unattended: bool = False,
) -> Steps[tuple[Found, ...]]:
    """The sources to test, one after the other; none where there is none, or nobody to say which is meant.

    Args:
        found: what the printer has.
        wanted: what the operator named beforehand: one, `all`, or several with commas between; empty for nothing.
        on_record: what was tested last; empty for nothing.
        together: the sensors that were tested together last, and may be so now; None in a job that tests one.
        unattended: nobody is there: nothing is asked.

    Raises:
        Interrupted: what the operator named cannot be read, or this job tests one only.
    """
    if wanted == ALL_SENSORS or BETWEEN in wanted:
        if together is None:
            raise _cannot("This command tests one sensor at a time: name it with `--source`.")
        return (yield from _all_of(found, wanted))
    asks = together is not None and not (wanted or unattended) and (together or not on_record)
    if asks and len(found.best) > 1:
        names = ", ".join(each.source.text for each in found.best)
        everything = Option(ALL_SENSORS, f"all of them, one after the other: {names}", "each gets its own verdict")
        answer = yield from which(found, everything)
        one = None if answer == ALL_SENSORS else (yield from meant(found, answer))
        return found.best if answer == ALL_SENSORS else () if one is None else (one,)
    one = yield from chosen_source(found, wanted, on_record, unattended=unattended)
    return () if one is None else (one,)


def _all_of(found: Looked, wanted: str) -> Steps[tuple[Found, ...]]:
    """All that there are, or all that were named; one that gives no reading ends the run in `chosen_source`."""
    if wanted == ALL_SENSORS:
        if not found.best:
            raise _cannot("'all' was named, and the printer tells of no sensor that can be tested. Name one, or none.")
        return found.best
    chosen: list[Found] = []
    for name in dict.fromkeys(each.strip() for each in wanted.split(BETWEEN) if each.strip()):
        one = yield from chosen_source(found, name)
        chosen += [] if one is None or one in chosen else [one]
    if not chosen:
        raise _cannot("`--source` names no sensor: give names with commas between, or `all`.")
    return tuple(chosen)


def _cannot(why: str) -> Interrupted:
    return Interrupted(Interruption(InterruptionKind.NO_SOURCE, why))
