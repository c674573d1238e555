"""`commission check`: the periodic check of a printer, held against its record."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from commission.cli.all_options import all_options, demand_roster_alone
from commission.cli.exit_codes import NO_CONSENT
from commission.cli.guided_options import DWELL_HELP, guided_options, source_option
from commission.cli.numbers import Count, Number
from commission.cli.tag import tag_argument
from commission.command_lines import filled

if TYPE_CHECKING:
    from commission.cli.options import Context, Job
    from commission.procedure.check.condition import Subject
    from commission.records.book import Book

CHECK_CYCLES = 6
NOT_SETTINGS = frozenset({"full", "unattended", "prove", "steady", "gentle"})
"""Options of the check itself; the others are those of a guided run."""
UNATTENDED = Path(__file__).with_name("unattended.toml")


@click.command(epilog="Example: commission check bench-3 --port /dev/ttyUSB0 --full")
@tag_argument(required=False)
@guided_options(port_required=False)
@source_option
@click.option("--full", is_flag=True, help="Also unplug the sensor, cycle the power and provoke a pause.")
@click.option("--unattended", is_flag=True, help="Only what needs no hands; takes the consent on record.")
@click.option("--prove", is_flag=True, help="Show TAG on the printer's display first; nothing moves.")
@click.option("--countdown", type=Number(0, 60), help="Fix the seconds to act; else they follow your pace, at most 5.")
@click.option("--dwell", type=Number(0.2, 60), help=DWELL_HELP)
@click.option("--wiggle", type=Number(0, 3600), default=60.0, show_default=True, help="Seconds of wiggle.")
@click.option("--steady", type=Number(1, 3600), default=30.0, show_default=True, help="Seconds hands off.")
@click.option("--seed", type=Count(0), help="Seed of the order of prompts; else drawn, and recorded.")
@click.option("--gentle", is_flag=True, help="Hands off, ten readings a second at most.")
@all_options
@click.option("--json", "as_json", is_flag=True, help="With --all: events and the overview as JSON.")
@click.pass_context
def check(
    context: click.Context,
    /,
    tag: str | None,
    *,
    everyone: bool,
    jobs: int,
    limit: float | None,
    may_restart: bool,
    roster: Path | None,
    as_json: bool,
    **options: Any,
) -> None:
    """Check the printer TAG again and compare with its record.

    Brief: identity, drift of the settings, whether runouts are watched for, a steady reading, six cycles of in and out,
    a minute of wiggle. Full: also unplugged, after a power cycle, and the pause. What a check cannot know is said to be
    not judged. A printer of which nothing is on record is better met by `commission install`.

    A check that was broken off is offered to be taken up again: what was done by hand stays done, unless wiring,
    firmware or settings were touched meanwhile and make it void. The condition is looked at again.

    Unattended it does what needs no hands, if the owner's consent to open the port is on record, and says what it
    could not do; fit for a timer. It asks only questions; at a printer it knows, what a killed run left switched on is
    switched off first.

    With --all each printer of the roster is checked so, gently, several at once, each with its own limit of time. What
    happens is told on the error stream, one event a line; the overview comes last, on the output. The exit code is the
    worst of theirs. No port is opened whose opening could restart the board: --may-restart allows it. Reports are drawn
    of the printers that did not pass; where --reports names a folder, of all.
    """
    if everyone:
        demand_roster_alone(tag, options)
        if options["full"] or options["prove"]:
            raise click.UsageError("With --all nobody is there: leave out --full and --prove.")
        context.exit(_check_all(roster, options, jobs, limit, may_restart=may_restart, as_json=as_json))
    if as_json or may_restart:
        raise click.UsageError("--json and --may-restart go with --all.")
    if tag is None or not options["port"]:
        raise click.UsageError("Give the printer's TAG and its --port; or --all with a roster.")
    context.exit(_check_one(tag, **options))


def _check_all(
    roster: Path | None,
    options: Mapping[str, Any],
    jobs: int,
    limit_s: float | None,
    *,
    may_restart: bool,
    as_json: bool,
) -> int:
    from commission.cli.beside import Wanted, run_beside
    from commission.cli.roster_file import roster_required
    from commission.cli.several import LIMIT_S

    steady_s = options["steady"]

    job = _check_of(steady_s, unattended=True, gentle=True)
    limit_s = 2 * steady_s + LIMIT_S if limit_s is None else limit_s
    own = {key: value for key, value in options.items() if key not in NOT_SETTINGS}
    wanted = Wanted(jobs, limit_s, may_restart=may_restart, as_json=as_json, options=own, job=lambda _settings: job)
    return run_beside(roster_required(roster), wanted, options["book"])


def _check_one(tag: str, *, full: bool, unattended: bool, steady: float, gentle: bool, **options: Any) -> int:
    from commission.cli.options import Settings
    from commission.cli.running import run_guided

    if full and unattended:
        raise click.UsageError("A full check needs hands: leave out --unattended, or --full.")
    if unattended and options["script"] is not None:
        raise click.UsageError("With --unattended nobody answers: leave out --operator.")
    if unattended and options["prove"]:
        raise click.UsageError("To look at the display somebody must be there: leave out --unattended, or --prove.")
    if unattended:
        demand_consent(options["book"], tag)
        options |= {"script": UNATTENDED, "person": options["person"] or "nobody (unattended)"}
    settings = Settings.of(tag, options | {"cycles": CHECK_CYCLES})
    return run_guided(settings, _check_of(steady, full=full, unattended=unattended, gentle=gentle))


def _check_of(steady_s: float, *, unattended: bool, full: bool = False, gentle: bool = False) -> "Job":
    from commission.cli.options import Job
    from commission.jobs.check import periodic_check

    return Job(
        "condition check" if unattended else "full check" if full else "brief check",
        lambda run: periodic_check(
            subject_of(run.book, run, steady_s, full=full, unattended=unattended, gentle=gentle)
        ),
        has_trials=not unattended,
        resumable=not unattended,
        asks_to_open=not unattended,
    )


def demand_consent(place: Path | None, tag: str) -> None:
    """End the command unless the owner's consent to open the port with nobody near is on record."""
    from commission.cli.opening import opened_book
    from commission.cli.telling import Ending
    from commission.records.consent import consent_on_record

    with opened_book(place) as book:
        found = consent_on_record(book, tag)
    if not found.granted:
        raise Ending(
            f"{found.sentence} Opening a port can restart a printer and kill a print, so without consent nothing is "
            f"done unattended. Run `commission check {tag} --port PORT` once: it asks for the consent at its end.",
            NO_CONSENT,
        )


def subject_of(
    book: "Book", run: "Context", steady_s: float, *, full: bool, unattended: bool, gentle: bool = False
) -> "Subject":
    """What the check is about, and the record it is held against."""
    from commission.procedure.check.condition import Subject
    from commission.records.checks import exposed_now, history_before, last_switch, wiring_now
    from commission.records.notes import NUISANCE, notes_on
    from commission.records.open_items import open_items
    from commission.records.reserves import reserve_on_record
    from commission.records.unsettled import unsettled
    from commission.records.wirings import noted_wirings

    if run.background is None:
        raise ValueError("A check needs a printer.")
    tag, calendar = run.sheet.tag, run.background.calendar
    since = _last_check(book, tag)
    trips = [note for note in notes_on(book, tag) if note.entry.what == NUISANCE and note.at > since]
    one = Subject(
        surroundings=run.background.surroundings,
        operator=run.person,
        today=calendar.today,
        plan=run.plan,
        history=tuple(history_before(book, tag)),
        switch=last_switch(book, tag),
        wiring=wiring_now(book, tag),
        declared=tuple(
            filled(text, tag, "")
            for each in noted_wirings(book, tag, run.background.sensors)
            for text in each.sentences
        ),
        open_items=tuple(open_items(book, tag)),
        unsettled=tuple(each.sentence for each in unsettled(book, tag)),
        on_record=run.background.on_record,
        reserve=reserve_on_record(book, tag),
        nuisance_trips=len(trips),
        print_hours=_print_hours(book, tag, since, calendar.today),
        first_day=calendar.first_day,
        full_due=calendar.full_due,
        hidden_failures=calendar.hidden_failures,
        exposed=tuple(exposed_now(book, tag)),
        steady_s=steady_s,
        full=full,
        unattended=unattended,
        gentle=gentle,
        prove=run.background.prove,
        continuation=run.background.continuation,
        series=run.background.series,
    )
    return _of_sensors(book, one, run.background.sensors)


def _of_sensors(book: "Book", subject: "Subject", sensors: tuple[str, ...]) -> "Subject":
    """Of a printer with several sensors each with its own record: all of them, or the one that was named."""
    from commission.procedure.meeting.several_sources import ALL_SENSORS
    from commission.records.checks import exposed_now, history_before

    def of(sensor: str) -> "Subject":
        return replace(
            subject,
            switch=sensor,
            history=tuple(history_before(book, subject.surroundings.tag, sensor=sensor)),
            exposed=tuple(exposed_now(book, subject.surroundings.tag, sensor=sensor)),
            series=subject.series.of_sensor(sensor),
            of_several=True,
        )

    named = subject.surroundings.source
    if named in sensors:
        return of(named)
    every = tuple(map(of, sensors)) if sensors[1:] and named in ("", ALL_SENSORS) else ()
    history = every[0].history if every else subject.history  # whether anything is on record at all
    return replace(subject, each=every, history=history)


def _last_check(book: "Book", tag: str) -> str:
    from commission.records.history import runs
    from commission.records.purposes import HANDS_ON
    from commission.vocabulary import Outcome

    done = [run for run in runs(book, tag) if run.outcome is Outcome.COMPLETE and run.purpose in HANDS_ON]
    return done[-1].ended_at if done else ""


def _print_hours(book: "Book", tag: str, since: str, today: date) -> float | None:
    """Hours printed since the last check, from the hours a day its owner stated; None when nobody did."""
    from commission.evidence.findings.meeting import NextCheck
    from commission.records.history import newest_finding, runs

    agreed = newest_finding(book, NextCheck, [run.number for run in runs(book, tag)])
    if not since or agreed is None or not agreed.print_hours_per_day:
        return None
    days = max(1, (today - date.fromisoformat(since[:10])).days)
    return float(days * agreed.print_hours_per_day)
