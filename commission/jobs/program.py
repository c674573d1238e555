"""What is done in an installation, on one sheet before anything is done: each part may be left out there.

Every part still has its own hold points and releases, and asks for whatever is seen. Its question is asked again where
something came up since that the sheet could not know.
"""

from collections.abc import Callable
from typing import TypeVar

from commission.asking.form import Answer, Answers, Form, FormRow
from commission.asking.on_a_form import on_a_form
from commission.asking.phase import Progress
from commission.asking.request import Choose, Confirm, Option
from commission.asking.steps import Steps
from commission.dialect.identity import Identity
from commission.procedure.function.function_test import FUNCTION_TEST
from commission.procedure.function.pause_told import told_instead
from commission.procedure.function.plan import CELSIUS, MATERIAL, Mode
from commission.procedure.function.reserve import RESERVE
from commission.procedure.loop.loop_check import LOOP_CHECK
from commission.procedure.loop.moving_wiggle import OPTIONS as MOVING
from commission.procedure.loop.pull_proof import OPTIONS as PULL
from commission.procedure.meeting.as_found import AsFound
from commission.procedure.settings.backup import BACKUP
from commission.procedure.wiring.claims import CLAIMS
from commission.procedure.wiring.declaration import WIRING
from commission.procedure.wiring.mechanical import MECHANICAL
from commission.procedure.wiring.meter import METER

_T = TypeVar("_T")
TITLE = "What is done in this run"
LINES = (
    "A part left out limits the verdict. Hold points and releases come all the same.",
    "To change a row first, type the word and its number, as in: change 10",
)
NONE, ALL, EACH = "none", "all", "each"
BESIDE = ("real", "in_change", "start_empty", "long_wait", "power")
"""The tests beside the pauses, as their questions are called."""
STILL_SAID = frozenset({"unplug.ready", "pull.how", "far_end.now", *(f"function.{key}.now" for key in BESIDE)})
"""What goes with these is said where hands are wanted."""
SETTINGS = Choose(
    "program.settings",
    "Keep a record of the settings?",
    (
        Option("working", "the working values", "takes seconds and changes nothing"),
        Option("stored", "the stored values too", "they are loaded in place of the working ones, by a release"),
        Option(NONE, "none", "you say why"),
    ),
)
FUNCTION = Choose(
    "program.function",
    "Which function test?",
    (*(Option(mode.value, mode.value, mode.meaning) for mode in Mode), Option(NONE, "none", "you say why")),
)
EXTRAS = Choose(
    "program.beside",
    "Which of the tests beside the pauses?",
    (Option(ALL, "all of them", "a pass takes them"), Option(EACH, "I say so before each")),
)


def by_program(found: AsFound, progress: Progress, steps: Callable[[], Steps[_T]]) -> Steps[_T]:
    """Have the sheet filled in, then carry out the steps with what stands on it."""
    form = Form("program", TITLE, lambda given: _rows(given, found, progress), LINES, expand=_decided)
    return on_a_form(form, steps, STILL_SAID)


def asked_beforehand(found: AsFound, identity: Identity | None) -> bool:
    """Whether the sheet fits: the printer lists the sensor, and this program can move the printer."""
    return found.switch is not None and told_instead(identity) is None and not (found.met and found.met.input_only)


def _yes(key: str, label: str) -> FormRow:
    return FormRow(Confirm(key, f"{label}?"), label, usual=True)


def _rows(given: Answers, found: AsFound, progress: Progress) -> tuple[FormRow, ...]:
    """What of the job is still to be done, each part with what it takes to be known beforehand."""
    rows: list[FormRow] = []
    offered = (
        (BACKUP, (FormRow(SETTINGS, "Record of the settings", "working"), _yes("reflash.stays", "Firmware stays"))),
        (WIRING, (_yes("wiring.now", "Wiring declared and assessed"),)),
        (CLAIMS, (_yes("claims.now", "Input checklist"),)),
        (METER, (_yes("meter.now", "Check with a meter"),)),
        (MECHANICAL, (_yes("mechanical.now", "Mechanical sheet"),)),
        (LOOP_CHECK, _of_the_loop(given)),
        (RESERVE, (_yes("reserve.now", "Filament reserve"),)),
    )
    for phase, its in offered:
        rows += [] if progress.stands(phase) else its
    if found.runout.enabled:
        rows.append(_yes("watching.stays", "Runout detection stays as it is"))
    return (*rows, *([] if progress.stands(FUNCTION_TEST) else _of_the_function_test(given)))


def _of_the_loop(given: Answers) -> tuple[FormRow, ...]:
    how = Choose("moving.how", "Hands off: read while the machine moves?", MOVING)
    rows = (FormRow(how, "Read while the machine moves", "no"), _yes("unplug.ready", "Unplug test"))
    if given.get("unplug.ready") is False:
        return rows
    proof = Choose("pull.how", "Prove that something holds the unplugged input?", PULL)
    return (*rows, FormRow(proof, "Pull proven", "meter"), _yes("far_end.now", "Unplug at the sensor too"))


def _of_the_function_test(given: Answers) -> tuple[FormRow, ...]:
    mode = given.get(FUNCTION.key, Mode.WARM.value)
    rows = [FormRow(FUNCTION, "Function test", Mode.WARM.value)]
    if mode == Mode.WARM.value:
        rows += [FormRow(MATERIAL, "Material loaded"), FormRow(CELSIUS, "Nozzle in the warm test", "200")]
    return (*rows, *([] if mode == NONE else [FormRow(EXTRAS, "Tests beside the pauses", ALL)]))


def _decided(answers: Answers) -> dict[str, Answer]:
    """The answers under the keys of the questions that they answer."""
    decided = {key: answer for key, answer in answers.items() if not key.startswith("program.")}
    if settings := answers.get(SETTINGS.key):
        decided |= {"backup.now": settings != NONE, "backup.working_enough": settings != "stored"}
    if mode := answers.get(FUNCTION.key):
        decided |= {"function.now": False} if mode == NONE else {"function.now": True, "function.mode": mode}
    if answers.get(EXTRAS.key) == ALL:
        decided |= dict.fromkeys((f"function.{key}.now" for key in BESIDE), True)
    return decided
