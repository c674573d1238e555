"""`wiring`: predict what a wiring reads, whether it fails safe, and what to do instead."""

import json
import sys
from collections.abc import Callable
from contextlib import nullcontext
from pathlib import Path
from typing import Any

import click

from commission.asking.request import Choose, Enter
from commission.cli.book_place import WRITTEN_BOOK
from commission.cli.exit_codes import FAILED, NOT_A_PASS, PASSED, exits
from commission.cli.numbers import Number
from commission.cli.tag import offered_tags
from commission.cli.telling import hand_out, remark, say
from commission.cli.wiring_record import SURE, Recorded, recorder
from commission.desk.answers import NotAnAnswer, chosen, entered
from commission.desk.wording import choose, enter
from commission.drawing.wiring import WiringPicture, wiring_svg, wiring_text
from commission.files.kinds import PICTURE
from commission.files.kinds import picture as marked
from commission.files.output import write_output
from commission.procedure.wiring.asked import asked_as
from commission.procedure.wiring.declaration import described
from commission.procedure.wiring.pictures import picture_of, table_lines
from commission.vocabulary import Polarity
from commission.wiring.assessment import Assessment, assess, not_a_presence_input
from commission.wiring.declaration import (
    QUESTIONS,
    UNKNOWN,
    Question,
    assumptions,
    declared_installation,
    next_question,
    sensor_kind,
)
from commission.wiring.installation import LEAST_SUPPLY_V, MOST_SUPPLY_V, WiringError
from commission.wiring.parts import parts

NOT_ASSESSED = "The wiring is not assessed without an answer to this"
FIND_OUT = "Find it out with mains and USB both out, a meter and the firmware's configuration."


def _options(command: Callable[..., None]) -> Callable[..., None]:
    """One option per question, so that whatever can be asked can also be given."""
    for question in reversed(QUESTIONS.values()):
        kind = click.Choice(question.choices) if question.choices else Number(LEAST_SUPPLY_V, MOST_SUPPLY_V)
        usual = f"  [usual: {question.default}]" if question.default and question.name != "sensor" else ""
        command = click.option(f"--{question.name}", type=kind, help=question.text + usual)(command)
    return command


@click.command(
    name="wiring",
    epilog="Example: commission wiring --sensor switch --wires 2 --contact NO --to ground --pull up --absent high",
)
@_options
@click.option("--json", "as_json", is_flag=True, help="Print the assessment as JSON.")
@click.option("--plain", is_flag=True, help="Say in a sentence what the picture shows: for screen readers.")
@click.option(
    "--svg", "svg_file", type=click.Path(dir_okay=False, path_type=Path), help="Write the wiring picture to this file."
)
@click.option(
    "--record",
    "tag",
    metavar="TAG",
    shell_complete=offered_tags,
    help="Put it on record as the declared wiring of this printer, without a run.",
)
@click.option("--by", "person", default="", metavar="NAME", help="With --record: who declares it.")
@click.option("--source", default="", metavar="NAME", help="With --record: which one of several sensors is wired so.")
@WRITTEN_BOOK
@click.pass_context
@exits(
    {
        PASSED: "it reads right and fails safe",
        FAILED: "it does not, or must not be connected",
        NOT_A_PASS: "it reads right, and whether it fails safe is not known from the declaration",
    }
)
def wiring(
    context: click.Context,
    /,
    *,
    as_json: bool,
    plain: bool,
    svg_file: Path | None,
    tag: str | None,
    person: str,
    source: str,
    place: Path | None,
    **options: Any,
) -> None:
    """Predict what a filament sensor reads, sound and with each single fault.

    Without options the wiring is asked for, one question at a time. Nothing is sent to a printer.

    With --record it goes into the record book as the declared wiring of a printer that is on record: `check` and
    `diagnose` take it, and say where it is from. It proves nothing, and the exit code stays that of the prediction.
    """
    if tag is None and (person or source or place):
        raise click.UsageError(SURE)
    given = {name.replace("_", "-"): _plain(value) for name, value in options.items() if value is not None}
    with nullcontext() if tag is None else recorder(tag, person, source, place) as book:
        answers, assessment, picture = _predicted(given)
        if svg_file is not None:
            if picture is None:
                raise click.UsageError("There is no wiring to draw for this sensor; leave --svg out.")
            write_output(svg_file, marked(wiring_svg(picture)), PICTURE)
        recorded = None if book is None else book.record(answers)
    if as_json:
        hand_out(json.dumps(assessment.as_json() | _told(answers, assessment, recorded), indent=2))
    else:
        say(_screen(answers, assessment, picture, plain=plain) + _on_record(recorded), end="")
    context.exit(exit_code(assessment))


def exit_code(assessment: Assessment) -> int:
    """Pass, fail or no pass, as the help says."""
    if not assessment.usable or assessment.polarity is not Polarity.DIRECT or assessment.fail_safe is False:
        return FAILED
    return PASSED if assessment.fail_safe else NOT_A_PASS


def _plain(value: object) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


def _asked() -> dict[str, str]:
    answers: dict[str, str] = {}
    try:
        while (question := next_question(answers)) is not None:
            answers[question.name] = _ask(question)
            if answers[question.name] == UNKNOWN and UNKNOWN not in question.choices:
                raise click.UsageError(f"{NOT_ASSESSED}: {question.text} {FIND_OUT}")
    except click.Abort as error:
        if sys.stdin.isatty():
            raise  # a person stopped; else there is nobody
        raise click.UsageError(
            "Stopped before all questions were answered; nothing was assessed. Answer them, or give the options."
        ) from error
    return answers


def _ask(question: Question) -> str:
    """Ask as a guided run does, until there is an answer: a number of the list, a word, `I do not know`, a voltage."""
    request = asked_as(question)
    listed = choose(request) if isinstance(request, Choose) else enter(request)
    remark("\n".join(["", *listed]))
    while True:
        typed = click.prompt("Answer", default="", show_default=False, err=True)
        try:
            if isinstance(request, Enter):
                return entered(request, typed) or question.default
            return chosen(request, typed) if typed or not question.default else question.default
        except NotAnAnswer as wrong:
            remark(str(wrong))


def _predicted(given: dict[str, str]) -> tuple[dict[str, str], Assessment, WiringPicture | None]:
    """The answers, given or asked for, and what they come to."""
    try:
        answers = given or _asked()
        return answers, *_assessed(answers)
    except WiringError as error:
        raise click.UsageError(str(error)) from error


def _assessed(answers: dict[str, str]) -> tuple[Assessment, WiringPicture | None]:
    kind = sensor_kind(answers)
    if not parts().sensors[kind].presence_input:
        return not_a_presence_input(kind), None
    installation = declared_installation(answers)
    assessment = assess(installation)
    return assessment, picture_of(installation, assessment)


def _told(answers: dict[str, str], assessment: Assessment, recorded: Recorded | None) -> dict[str, object]:
    told: dict[str, object] = {"findings": [*assessment.findings, *assumptions(answers)]}
    return told if recorded is None else told | recorded.as_json()


# The screen --------------------------------------------------------------------------------------------------------


def _screen(answers: dict[str, str], assessment: Assessment, picture: WiringPicture | None, *, plain: bool) -> str:
    blocks = [_said(picture) if plain else wiring_text(picture).rstrip("\n")] if picture else []
    blocks += ["\n".join(table_lines(assessment)), _verdict(assessment)]
    blocks += [_listed("Do not connect:", assessment.hazards)] if assessment.hazards and not picture else []
    blocks += [_listed("Findings:", assessment.findings), _listed("Levels:", [m.sentence for m in assessment.margins])]
    blocks += [_listed("Assumed:", assumptions(answers)), _listed("What to do:", [assessment.recommendation])]
    return "\n\n".join(block for block in blocks if block) + "\n"


def _on_record(recorded: Recorded | None) -> str:
    return "" if recorded is None else f"\n{_listed('On record:', recorded.sentences)}\n"


def _said(picture: WiringPicture) -> str:
    """The picture's sentence, with the warnings that stand in it."""
    return "\n".join(click.wrap_text(text, 78) for text in (described(picture), *picture.warnings))


def _verdict(assessment: Assessment) -> str:
    if assessment.polarity is None:
        return "Verdict: not usable."
    safe = {True: "fails safe", False: "FAILS TO DANGER", None: "fail-safe not known"}[assessment.fail_safe]
    return f"Verdict: {assessment.polarity.value}, {safe}."


def _listed(title: str, sentences: tuple[str, ...] | list[str]) -> str:
    lines = [click.wrap_text(text, 78, "  - ", "    ") for text in sentences]
    return "\n".join([title, *lines]) if lines else ""
