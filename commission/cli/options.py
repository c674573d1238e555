"""The options of a guided run, and what a procedure is built from."""

from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import click

from commission.asking.steps import Steps
from commission.desk.base import Desk
from commission.jobs.install import JobResult
from commission.judge.advice import Advice
from commission.judge.plan import Plan
from commission.link.port import SPEEDS_BAUD, ResetLines
from commission.procedure.meeting.background import Background
from commission.procedure.settings.record import Sheet
from commission.records.book import Book
from commission.session.patience import LONGEST_TOLD_WAIT_S, LONGEST_WAIT_S
from commission.session.silence import SILENT_WAIT_S


@dataclass(frozen=True)
class Settings:
    """The options of a guided run, as named on the command line.

    Attributes:
        draws_passed: whether the reports of a run that passed are drawn too; the record has what they would say.
    """

    tag: str
    port: str
    speed: int | None = None
    busy_wait: float | None = None
    site: str = ""
    person: str = ""
    bench: str = ""
    cycles: int | None = None
    countdown: float | None = None
    dwell: float | None = None
    wiggle: float = 60.0
    seed: int | None = None
    reset: bool | None = None
    script: Path | None = None
    variables: Mapping[str, str] = field(default_factory=dict)
    plain: bool = False
    bell: bool = True
    speak: bool = False
    speak_with: str = ""
    book: Path | None = None
    reports: Path = Path()
    prove: bool = False
    as_json: bool = False
    source: str = ""
    draws_passed: bool = True

    def __post_init__(self) -> None:
        if not self.tag.strip() or not self.tag.isprintable() or len(self.tag) > 60:
            raise click.BadParameter("give the printer a short name on one line, as in bench-3", param_hint="TAG")

    @classmethod
    def of(cls, tag: str, options: Mapping[str, Any]) -> "Settings":
        """The settings from the command line's values."""
        return cls(tag=tag, **options)

    @property
    def reset_lines(self) -> ResetLines:
        """What opening does with the control lines."""
        return {None: ResetLines.AS_IS, True: ResetLines.PULSE, False: ResetLines.HOLD_LOW}[self.reset]

    def longest_wait_s(self, *, told: bool) -> float:
        """How long a printer that says that it is busy is waited for; longer where a person is told and can stop."""
        if self.busy_wait is not None:
            return self.busy_wait
        return LONGEST_TOLD_WAIT_S if told and self.script is None else LONGEST_WAIT_S

    def silent_wait_s(self, *, told: bool) -> float:
        """How long a console is waited for from which nothing came at any speed; only where a person can stop it.

        It costs who has named a wrong port, or a printer that is off, as long; so nobody else waits unless told to.
        """
        if self.busy_wait is not None:
            return self.busy_wait
        return SILENT_WAIT_S if told and self.script is None else 0.0

    @property
    def speeds_baud(self) -> tuple[int, ...]:
        """The speeds to try, the named one first."""
        return (*([] if self.speed is None else [self.speed]), *(s for s in SPEEDS_BAUD if s != self.speed))


@dataclass(frozen=True)
class Context:
    """What a procedure is built from.

    Attributes:
        person: who works.
        plan: what the loop check will be.
        repair: what a run before this one advised.
        sheet: what heads the papers of the run.
        background: what is known of the printer beforehand; None where no printer is talked to.
        book: the record book, which may be asked until the procedure is built.
    """

    person: str
    plan: Plan
    repair: Advice
    sheet: Sheet
    background: Background | None
    book: Book

    @property
    def known(self) -> Background:
        """What is known of the printer beforehand.

        Raises:
            ValueError: it is a job without a printer.
        """
        if self.background is None:
            raise ValueError("A job without a printer has no background")
        return self.background


@dataclass(frozen=True)
class Job:
    """One kind of guided run.

    Attributes:
        purpose: written into the record, as `install`.
        steps: builds the procedure, before the run begins.
        has_trials: whether the operator is asked which plan of trials to follow.
        has_printer: whether a printer is talked to at all.
        resumable: whether a broken-off run of this kind is offered to be taken up again.
        asks_to_open: whether the operator is asked before the port is opened; else consent is on record.
        before_opening: asks the operator what this job must know before; raises OperatorStop where it is not to be.
    """

    purpose: str
    steps: Callable[[Context], Steps[JobResult]]
    has_trials: bool = True
    has_printer: bool = True
    resumable: bool = False
    asks_to_open: bool = True
    before_opening: Callable[[Desk], Awaitable[None]] | None = None
