"""The entry with which a run begins, or is taken up again: what is fixed before anything is measured."""

import sys
from functools import cache
from importlib.metadata import version
from typing import TypeVar

from commission.asking.cautions import BLIND_SPOTS, GENERAL
from commission.cli.options import Context, Job, Settings
from commission.evidence.runs import RunResumed, RunStarted

_Beginning = TypeVar("_Beginning", RunStarted, RunResumed)


def beginning(
    kind: type[_Beginning], number: str, settings: Settings, job: Job, context: Context, follows: str, zone: str
) -> _Beginning:
    """The entry.

    Args:
        kind: whether the run begins or is taken up again.
        number: of the run.
        settings: the options of the command.
        job: what is done.
        context: who does it, by which plan.
        follows: number of the run whose advice was carried out just before; empty for none.
        zone: name of the clock's zone.
    """
    plan = context.plan if job.has_trials else None
    return kind(
        number=number,
        tag=settings.tag,
        purpose=job.purpose,
        site=settings.site,
        operator=context.person,
        port=settings.port,
        tool_version=_version(),
        python=sys.version.split()[0],
        timezone=zone,
        plan=plan,
        plan_sentences=() if plan is None else tuple(plan.describe()),
        cautions=GENERAL,
        blind_spots=BLIND_SPOTS,
        follows=follows,
    )


@cache
def _version() -> str:
    """The tool's own, which is looked up on the disk."""
    return version("commission")
