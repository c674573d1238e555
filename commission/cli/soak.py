"""`commission soak`: hours of reading with filament in, to show how rarely the reading changes by itself."""

import re
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from commission.cli.exit_codes import FAILED, NOT_A_PASS, PASSED, PRINTING, exits
from commission.cli.guided_options import guided_options, source_option
from commission.cli.tag import tag_argument

if TYPE_CHECKING:
    from commission.cli.options import Context
    from commission.desk.base import Desk
    from commission.jobs.soak import SoakPlan

UNATTENDED = Path(__file__).with_name("unattended.toml")
LEAST_S, MOST_S = 60.0, 7 * 24 * 3600.0
_UNITS = {"s": 1.0, "m": 60.0, "min": 60.0, "h": 3600.0, "d": 86400.0}


class Length(click.ParamType[float]):
    """A length of time, as in 2h, 90m or 1.5h; seconds."""

    name = "time"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """The seconds; a number without a unit, or one out of bounds, is wrong usage."""
        if isinstance(value, float):
            return value
        found = re.fullmatch(r"(\d{1,6}(?:\.\d{1,3})?) ?(s|m|min|h|d)", str(value).strip())
        seconds = float(found[1]) * _UNITS[found[2]] if found else 0.0
        if not LEAST_S <= seconds <= MOST_S:
            self.fail(f"{value!r} is no length of a soak: give 1m to 7d, as in 2h, 90m or 8h.", param, ctx)
        return seconds


@click.command(epilog="Example: commission soak bench-3 --port /dev/ttyUSB0 --for 8h")
@tag_argument()
@guided_options()
@source_option
@click.option("--for", "seconds", type=Length(), default="2h", show_default=True, help="How long is to be watched.")
@click.option("--unattended", is_flag=True, help="Ask nobody; takes the consent on record. Fit for a timer.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object a line; with --unattended or --operator.")
@click.option("--beside-print", is_flag=True, help="A print from the card begins later: one question a second.")
@click.pass_context
@exits(
    {
        PASSED: "no change in the time that was to be watched",
        FAILED: "the reading changed by itself",
        NOT_A_PASS: "less was watched, as when a key ended it",
        PRINTING: "a print runs, or may still run",
    }
)
def soak(
    context: click.Context,
    /,
    tag: str,
    *,
    seconds: float,
    unattended: bool,
    as_json: bool,
    beside_print: bool,
    **options: Any,
) -> None:
    """Read the sensor of the printer TAG for hours, filament in, and show how rarely it changes by itself.

    Only questions are sent, and nobody is needed. Two clean hours at rest show at most 1.5 changes an hour; a whole
    night shows 0.4. A change is told at once and read closely for a minute. q ends it; what was watched by then counts.
    A soak that was broken off is taken up again: what it watched stays, the time between is not counted.

    Never begin it while a print may run. A print from the card may begin afterwards: at most one question a second goes
    out beside it (within ten seconds of its beginning; with --beside-print from the start), and it is counted apart.
    """
    from commission.cli.check import demand_consent
    from commission.cli.options import Job, Settings
    from commission.cli.running import run_guided
    from commission.jobs.soak import soaked

    if unattended and options["script"] is not None:
        raise click.UsageError("With --unattended nobody answers: leave out --operator.")
    if as_json and not (unattended or options["script"]):
        raise click.UsageError("With --json nobody is asked: add --unattended, or --operator FILE.")
    if unattended:
        demand_consent(options["book"], tag)
        _demand_no_print(options["book"], tag)
        options |= {"script": UNATTENDED, "person": options["person"] or "nobody (unattended)"}
    settings = Settings.of(tag, options | {"as_json": as_json})

    def planned(run: "Context") -> "SoakPlan":
        return _plan(settings.book, run, seconds, unattended=unattended, beside_print=beside_print)

    job = Job(
        "soak",
        lambda run: soaked(planned(run)),
        has_trials=False,
        asks_to_open=not unattended,
        before_opening=partial(_ask_of_print, settings.book, tag),
    )
    context.exit(run_guided(settings, job))


async def _ask_of_print(place: Path | None, tag: str, desk: "Desk") -> None:
    """A soak that held a print is taken up once somebody has seen that the print is over.

    Raises:
        Ending: it may still run: the port is not opened.
    """
    from commission.asking.message import Weight
    from commission.asking.request import Confirm
    from commission.cli.opening import opened_book
    from commission.cli.telling import Ending
    from commission.records.soaks import unfinished_soak

    with opened_book(place) as book:
        before = unfinished_soak(book, tag)
    if before is None or not before.printing:
        return
    lines = (
        f"When the soak {before.run} was broken off a print from the card was under way. Opening the port can kill a "
        "print that still runs. Go and look at the printer.",
    )
    question = "Is that print over, and does no other one run?"
    if not await desk.confirm(Confirm("soak.print_over", question, lines, weight=Weight.CAUTION)):
        raise Ending("A print may still run: the port was not opened. Begin the soak again when it is over.", PRINTING)


def _demand_no_print(place: Path | None, tag: str) -> None:
    """With nobody there no port is opened beside a print that may still run."""
    from commission.cli.opening import opened_book
    from commission.cli.telling import Ending
    from commission.records.soaks import unfinished_soak

    with opened_book(place) as book:
        before = unfinished_soak(book, tag)
    if before is not None and before.printing:
        raise Ending(
            f"When the soak {before.run} was broken off a print from the card was under way. It may still run, and "
            "opening the port can kill it. See that it has ended, then begin the soak by hand, without --unattended.",
            PRINTING,
        )


def _plan(place: Path | None, run: "Context", seconds: float, *, unattended: bool, beside_print: bool) -> "SoakPlan":
    from commission.clock import SystemClock
    from commission.jobs.soak import SoakPlan, Unfinished
    from commission.records.book import Book
    from commission.records.checks import last_switch
    from commission.records.place import book_path
    from commission.records.soaks import unfinished_soak

    if run.background is None:
        raise ValueError("A soak needs a printer.")
    with Book(book_path(place), SystemClock()) as book:
        before = unfinished_soak(book, run.sheet.tag)
        switch = last_switch(book, run.sheet.tag)
    return SoakPlan(
        surroundings=run.background.surroundings,
        seconds=seconds,
        switch=switch,
        unattended=unattended,
        beside_print=beside_print,
        unfinished=None if before is None else Unfinished(before.run, before.planned_s, before.watched_s),
    )
