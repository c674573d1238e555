"""`commission soak`: hours of reading with filament in, to show how rarely the reading changes by itself."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from commission.cli.all_options import all_options, demand_roster_alone
from commission.cli.exit_codes import FAILED, NOT_A_PASS, PASSED, PRINTING, exits
from commission.cli.guided_options import guided_options, source_option
from commission.cli.tag import tag_argument

if TYPE_CHECKING:
    from commission.cli.options import Context, Job, Settings
    from commission.desk.base import Desk
    from commission.fleet.roster import Listed
    from commission.jobs.soak import SoakPlan
    from commission.records.book import Book

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
@tag_argument(required=False)
@guided_options(port_required=False)
@source_option
@click.option("--for", "seconds", type=Length(), default="2h", show_default=True, help="How long is to be watched.")
@click.option("--unattended", is_flag=True, help="Ask nobody; takes the consent on record. Fit for a timer.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object a line; if nobody is asked.")
@click.option("--beside-print", is_flag=True, help="A print from the card begins later: one question a second.")
@click.option("--gentle", is_flag=True, help="Ten readings a second at most, after a change too.")
@all_options
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
    tag: str | None,
    *,
    seconds: float,
    unattended: bool,
    as_json: bool,
    beside_print: bool,
    gentle: bool,
    everyone: bool,
    jobs: int,
    limit: float | None,
    may_restart: bool,
    roster: Path | None,
    **options: Any,
) -> None:
    """Read the sensor of the printer TAG for hours, filament in, and show how rarely it changes by itself.

    Only questions are sent, and nobody is needed. Two clean hours at rest show at most 1.5 changes an hour; a whole
    night shows 0.4. A change is told at once and read closely for a minute. q ends it; what was watched by then counts.
    A soak that was broken off is taken up again: what it watched stays, the time between is not counted.

    Never begin it while a print may run. A print from the card may begin afterwards: at most one question a second goes
    out beside it (within ten seconds of its beginning; with --beside-print from the start), and it is counted apart.

    With --all each printer of the roster is soaked so, unattended and gently, several at once, each with its own limit
    of time. What happens is told on the error stream, one event a line; the overview comes last, on the output. The
    exit code is the worst of theirs. No port is opened whose opening could restart the board: --may-restart allows it.
    Reports are drawn of the printers that did not pass; where --reports names a folder, of all.
    """
    how = _How(seconds, unattended=unattended or everyone, beside_print=beside_print, gentle=gentle or everyone)
    if everyone:
        demand_roster_alone(tag, options)
        context.exit(_soak_all(roster, options, how, jobs, limit, may_restart=may_restart, as_json=as_json))
    if may_restart:
        raise click.UsageError("--may-restart goes with --all.")
    if tag is None or not options["port"]:
        raise click.UsageError("Give the printer's TAG and its --port; or --all with a roster.")
    context.exit(_soak_one(tag, how, options, as_json=as_json))


@dataclass(frozen=True)
class _How:
    """How it is soaked, as the options have it."""

    seconds: float
    unattended: bool
    beside_print: bool
    gentle: bool


def _soak_all(
    roster: Path | None,
    options: Mapping[str, Any],
    how: _How,
    jobs: int,
    limit_s: float | None,
    *,
    may_restart: bool,
    as_json: bool,
) -> int:
    from commission.cli.beside import Wanted, run_beside
    from commission.cli.roster_file import roster_required
    from commission.cli.several import LIMIT_S, Came

    def refused(book: "Book", listed: "Listed") -> Came | None:
        why = _may_print(book, listed.tag)
        return Came(PRINTING, why) if why else None

    limit_s = 2 * how.seconds + LIMIT_S if limit_s is None else limit_s
    wanted = Wanted(jobs, limit_s, may_restart, as_json, options, lambda each: _job(each, how), refused)
    return run_beside(roster_required(roster), wanted, options["book"])


def _soak_one(tag: str, how: _How, options: dict[str, Any], *, as_json: bool) -> int:
    from commission.cli.check import demand_consent
    from commission.cli.options import Settings
    from commission.cli.running import run_guided

    unattended = how.unattended
    if unattended and options["script"] is not None:
        raise click.UsageError("With --unattended nobody answers: leave out --operator.")
    if as_json and not (unattended or options["script"]):
        raise click.UsageError("With --json nobody is asked: add --unattended, or --operator FILE.")
    if unattended:
        demand_consent(options["book"], tag)
        _demand_no_print(options["book"], tag)
        options |= {"script": UNATTENDED, "person": options["person"] or "nobody (unattended)"}
    settings = Settings.of(tag, options | {"as_json": as_json})
    return run_guided(settings, _job(settings, how))


def _job(settings: "Settings", how: _How) -> "Job":
    from commission.cli.options import Job
    from commission.jobs.soak import soaked

    return Job(
        "soak",
        lambda run: soaked(_plan(run, how)),
        has_trials=False,
        asks_to_open=not how.unattended,
        before_opening=partial(_ask_of_print, settings.book, settings.tag),
    )


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

    with opened_book(place) as book:
        why = _may_print(book, tag)
    if why:
        raise Ending(why, PRINTING)


def _may_print(book: "Book", tag: str) -> str:
    """Why the printer may still print; empty where nothing says so."""
    from commission.records.soaks import unfinished_soak

    before = unfinished_soak(book, tag)
    if before is None or not before.printing:
        return ""
    return (
        f"When the soak {before.run} was broken off a print from the card was under way. It may still run, and "
        "opening the port can kill it. See that it has ended, then begin the soak by hand, without --unattended."
    )


def _plan(run: "Context", how: _How) -> "SoakPlan":
    from commission.jobs.soak import SoakPlan, Unfinished
    from commission.records.checks import last_switch
    from commission.records.soaks import unfinished_soak

    if run.background is None:
        raise ValueError("A soak needs a printer.")
    before = unfinished_soak(run.book, run.sheet.tag)
    switch = last_switch(run.book, run.sheet.tag)
    return SoakPlan(
        surroundings=run.background.surroundings,
        seconds=how.seconds,
        switch=switch,
        unattended=how.unattended,
        beside_print=how.beside_print,
        gentle=how.gentle,
        unfinished=None
        if before is None or not before.goes_on
        else Unfinished(before.run, before.planned_s, before.watched_s, before.switch),
        sensors=run.background.sensors,
    )
