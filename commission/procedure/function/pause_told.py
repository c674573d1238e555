"""Phase: what the console tells of the pause on families whose pause has no test of its own here.

Nothing is moved and no pause is provoked by the tool. Each gate that a reply tells of is shown as open or shut; the
others are named with the reason. A shut gate fails it. Where the console can tell of a pause, one is watched in a print
that the operator starts; without that whether the printer pauses is not judged.
"""

from collections.abc import Sequence

from commission.asking.message import Punch
from commission.asking.phase import Phase, steps_of
from commission.asking.steps import Steps, ask, establish
from commission.command_lines import NOTE
from commission.dialect.family import Family, Identified, printer_of
from commission.dialect.family_gates import GATES, gates_told
from commission.dialect.family_pauses import PAUSES, PauseHabits
from commission.dialect.identity import Identity
from commission.dialect.sources.search import ask_for
from commission.dialect.sources.source import Source
from commission.dialect.states import state_question
from commission.evidence.findings.function import FunctionTest
from commission.evidence.findings.gates import GateTold, PauseTold
from commission.procedure.function.pause_watch import WatchedPause, can_be_watched, watched_pause
from commission.procedure.function.verdict import FunctionTested
from commission.vocabulary import PunchClass, Verdict

PAUSE_TOLD = Phase("pause_told", "The pause: what the console tells of it", "what the console tells of the pause")
TITLES = {
    "serves": "the printer serves",
    "support": "a sensor is set up",
    "watching": "watching is on",
    "after_power": "watching is on after a power cycle",
    "not_host_alone": "a runout really pauses",
    "job": "it acts in your kind of job",
}
WORDS = {True: "open", False: "SHUT", None: "not told"}
NOT_PROVOKED = "No pause was provoked: this program moves only printers whose way to stop and to go on it knows."
NO_PAUSE = (
    "Do not rely on the sensor. Look in the printer's own configuration at what follows a runout, restart it yourself, "
    "and watch a pause once more."
)
ONCE_MORE = f"Watch two more pauses in prints, at another moment each, and write them down: `{NOTE}`."
CURES = {
    "serves": "Find out why it does not serve, restart it yourself, and run this again.",
    "support": "Set the sensor up in the printer's own configuration, restart it yourself, and run this again.",
    "watching": "Switch watching on in the printer's own configuration, restart it yourself, and run this again.",
    "job": "Have it watched in every job, or print from the card only.",
}


def told_instead(identity: Identity | None) -> Identified | None:
    """The printer whose pause can only be told of; None where the function test serves."""
    printer = printer_of(identity)
    return None if printer is None or printer.family is Family.A else printer


@steps_of(PAUSE_TOLD)
def pause_told(printer: Identified, switch: str) -> Steps[FunctionTested]:
    """Ask what the console tells of the gates in front of a pause, and record that none was tested.

    Args:
        printer: the printer; its family decides what is asked.
        switch: what the source of the sensor is called.
    """
    told = gates_told(printer, (yield from _lines(printer, switch)))
    habits = PAUSES[printer.family]
    gates = tuple(GateTold(key=gate.key, told=told[gate.key], how=gate.how) for gate in GATES[printer.family])
    yield from establish(
        PauseTold(
            sentences=(*(_in_words(gate) for gate in gates), *_habits(habits)),
            gates=gates,
            watches=habits.watches.value,
            known_by=habits.says.value,
        )
    )
    shut = next((gate for gate in gates if gate.told is False and gate.key != "job"), None)
    watched = (yield from watched_pause(printer, switch)) if shut is None and can_be_watched(printer) else None
    tested = _tested(shut, watched)
    yield from establish(
        FunctionTest(
            sentences=(f"Function test: {tested.verdict.value}.", *tested.reasons),
            verdict=tested.verdict,
            pauses=None if watched is None else int(watched.seen),
            first_shut=tested.shut,
            reasons=tested.reasons,
        )
    )
    yield from _open_items(gates, shut, habits, watched)
    return tested


def _tested(shut: GateTold | None, watched: WatchedPause | None) -> FunctionTested:
    """What it comes to: a shut gate fails it; else a pause that was watched, if one was."""
    if shut is not None:
        return FunctionTested(Verdict.FAIL, shut.key, (f"'{TITLES[shut.key]}' is shut: {shut.how}",))
    if watched is None:
        return FunctionTested(Verdict.NOT_JUDGED, "", (NOT_PROVOKED,))
    return FunctionTested(watched.verdict, "", watched.reasons)


def _lines(printer: Identified, switch: str) -> Steps[Sequence[str]]:
    """Everything the printer says of its state and of the source."""
    lines: list[str] = []
    state = state_question(printer)
    if state is not None:
        lines += (yield from ask(state)).lines
    question = next(ask_for(Source.called(switch, printer)))
    return [*lines, *(yield from ask(question)).lines]


def _in_words(gate: GateTold) -> str:
    return f"Gate '{TITLES[gate.key]}': {WORDS[gate.told]}. {gate.how}"


def _habits(habits: PauseHabits) -> tuple[str, ...]:
    return (
        f"It watches in {habits.watches.value}.",
        f"A pause shows as {habits.says.value}.",
        *(["A runout can be announced and nothing done about it."] if habits.runout_may_not_pause else []),
    )


def _open_items(
    gates: Sequence[GateTold], shut: GateTold | None, habits: PauseHabits, watched: WatchedPause | None
) -> Steps[None]:
    if shut is not None:
        yield Punch(PunchClass.UNSAFE, f"No pause can be relied on: '{TITLES[shut.key]}' is shut.", CURES[shut.key])
    if any(gate.key == "job" and gate.told is False for gate in gates):
        yield Punch(
            PunchClass.INCOMPLETE,
            f"It watches in {habits.watches.value}: a job that a computer streams is not protected.",
            CURES["job"],
        )
    if watched is not None and watched.verdict is Verdict.FAIL:
        yield Punch(PunchClass.UNSAFE, " ".join(watched.reasons), NO_PAUSE)
        return
    if watched is not None and watched.verdict is Verdict.CONDITIONAL:
        yield Punch(PunchClass.INCOMPLETE, " ".join(watched.reasons), ONCE_MORE)
        return
    yield Punch(
        PunchClass.INCOMPLETE,
        "Whether the printer pauses was not tested.",
        f"Begin a small print of the kind you use ({habits.watches.value}). Let the filament run out with the power "
        f"switch in reach, see that it pauses and goes on, and write that down: `{NOTE}`.",
    )
