"""A pause watched in a print that the operator starts: on families whose pause this program does not provoke itself.

The tool moves nothing. It hears what the console says, asks for the state before and after, and asks the person for
what no console tells: whether the head stands still. What was only seen by the person is said to be so.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from commission.asking.message import Tell, Weight
from commission.asking.moving import Heard, Listen
from commission.asking.request import Confirm
from commission.asking.steps import Steps, ask, confirm, establish, listen
from commission.dialect.family import Family, Identified
from commission.dialect.family_pauses import PAUSES
from commission.dialect.jobs import CARD, CardState, card_of
from commission.dialect.pausing import Sign
from commission.dialect.sources.search import ask_for
from commission.dialect.sources.source import Source
from commission.dialect.states import PrinterState, state_of, state_question
from commission.evidence.findings.function import Pause
from commission.evidence.wire import HeardSign
from commission.judge.pause_verdict import PauseSide
from commission.vocabulary import Presence, Verdict

KIND = "pause.watched"
COLLECT_S = 2.0
"""So long what was heard is collected, for a line that is still on its way."""
NOTED = frozenset({Sign.RUNOUT, Sign.RUNOUT_NOTED})
PAUSED = frozenset({Sign.PRINTER_PAUSED, Sign.HOST_ASKED})
HELD = frozenset({PrinterState.PAUSING, PrinterState.PAUSED})
NOW = Confirm(
    "pause_watch.now",
    "Watch the pause in a small print of yours now?",
    (
        "You start the print and it moves and heats by itself; this tool only listens and asks.",
        "Take a print that runs for ten minutes. Keep the power switch in reach: a runout need not pause.",
        "Keep clear of the head and the hot parts.",
    ),
)
DEED = (
    "Now let the filament run out: cut it a hand's breadth above the sensor and let the printer draw its end in. No "
    "push and no pull.",
    "The tool hears what the console says meanwhile. Say yes when the head has stopped and stays where it is.",
    "Say no when it prints on a minute after the end of the filament has passed the sensor.",
)
RESUME = (
    "Put filament in and have the printer go on as its display or its host offers it. This tool does not send that.",
    "The head moves when it goes on: hands away.",
)


@dataclass(frozen=True)
class Watched:
    """What was heard, asked and seen of one pause.

    Attributes:
        ready: before the runout neither the source read that filament is out, nor the printer that it holds a job.
        began: the printer said that a job was under way; None where it does not tell.
        heard: the signs from the runout on.
        held: the printer says of its state that it pauses, or has paused; None where it does not tell.
        out: the source read that the filament is out, or in; None where it could not be read.
        stopped: the person saw the head stop and stay.
        went_on: the person saw it go on afterwards; None where it had not stopped.
    """

    heard: Heard
    held: bool | None
    out: bool | None
    stopped: bool
    went_on: bool | None = None
    began: bool | None = None
    ready: bool = True

    @property
    def told(self) -> bool:
        """Whether the console told of the pause."""
        return self.held is True or self.heard.has(*PAUSED)


@dataclass(frozen=True)
class WatchedPause:
    """What a watched pause came to."""

    verdict: Verdict
    reasons: tuple[str, ...]

    @property
    def seen(self) -> bool:
        """Whether a pause was seen, with what came after it."""
        return self.verdict is Verdict.CONDITIONAL


def can_be_watched(printer: Identified) -> bool:
    """Whether the console and the source tell enough of a pause in a print for it to be watched."""
    return printer.family in (Family.B, Family.C)


def watched_pause(printer: Identified, switch: str) -> Steps[WatchedPause | None]:
    """Have a print started, a runout made and the pause watched; None where the person leaves it.

    Args:
        printer: the printer, whose family decides what is asked.
        switch: what the source of the sensor is called.
    """
    if not (yield from confirm(NOW)):
        return None
    began = yield from _begun(printer)
    held, out = (yield from _held(printer)), (yield from _out(Source.called(switch, printer)))
    ready = held is not True and out is not True
    seen = replace((yield from _runout(printer, switch)), began=began, ready=ready)
    if seen.stopped:
        yield Tell(RESUME, heading="Going on", weight=Weight.CAUTION)
        asked = Confirm("pause_watch.goes_on", "Did it go on, and does it print with filament?")
        seen = replace(seen, went_on=(yield from confirm(asked)))
    yield Tell(("End the print at the display or the host; the test is over.",))
    found = judged(seen)
    yield from establish(_finding(seen, found))
    return found


def _begun(printer: Identified) -> Steps[bool | None]:
    lines = (
        f"It watches in {PAUSES[printer.family].watches.value}. Start the print as you use it, with filament in.",
        "Let it print for a quarter of a minute first: some heed nothing in the first seconds.",
    )
    yield from confirm(Confirm("pause_watch.begun", "Is it printing, with the head moving?", lines))
    card = card_of((yield from ask(CARD)).lines)
    at_work = None if card is None else card.state is CardState.AT_WORK
    if at_work is False:
        said = "The printer says that no job from its card is under way. Where a host streams the print that is right."
        yield Tell((said,), weight=Weight.NOTE)
    return at_work


def _runout(printer: Identified, switch: str) -> Steps[Watched]:
    yield from listen(Listen(0.0, frozenset()))  # what was said before does not count
    source = Source.called(switch, printer)
    live = switch if source.way.pace.while_printing else ""
    asked = Confirm(
        "pause_watch.stopped", "Has the head stopped, and does it stay?", DEED, weight=Weight.CAUTION, watch=live
    )
    stopped = yield from confirm(asked)
    heard = yield from listen(Listen(COLLECT_S, frozenset(), "what was said is collected"))
    held = yield from _held(printer)
    return Watched(heard, held, (yield from _out(source)), stopped)


def _held(printer: Identified) -> Steps[bool | None]:
    question = state_question(printer)
    told = None if question is None else state_of((yield from ask(question)).lines)
    if told is None or told.state not in HELD | {PrinterState.PRINTING}:
        return None
    return told.state in HELD


def _out(source: Source) -> Steps[bool | None]:
    presence = source.read((yield from ask(next(ask_for(source)))).lines).presence
    return None if presence is None else presence is Presence.OUT


def judged(seen: Watched) -> WatchedPause:
    """What follows: one pause is at best a conditional pass, and silence passes nothing."""
    if not seen.ready:
        said = "Before the runout filament was out already, or the job held: what came after it shows nothing."
        return WatchedPause(Verdict.NOT_JUDGED, (said,))
    if seen.out is False:
        return WatchedPause(Verdict.NOT_JUDGED, ("The source reads that filament is in: no runout was made.",))
    if not seen.stopped:
        return _did_not_stop(seen)
    if seen.held is False:
        said = "The head was seen to stand still, and the printer says that it prints: that contradicts itself."
        return WatchedPause(Verdict.NOT_JUDGED, (said,))
    if seen.went_on is False:
        return WatchedPause(Verdict.FAIL, ("It paused, and did not go on.",))
    by = "the console told of it" if seen.told else "the console told nothing of it: it stands on the operator's word"
    return WatchedPause(Verdict.CONDITIONAL, (f"One pause was seen in a print, and it went on; {by}.",))


def _did_not_stop(seen: Watched) -> WatchedPause:
    if seen.held is True:
        said = "The printer says that it has paused, and the head was seen to move: that contradicts itself."
        return WatchedPause(Verdict.NOT_JUDGED, (said,))
    if seen.heard.has(Sign.HOST_ASKED):
        return WatchedPause(Verdict.FAIL, ("The host was asked to pause, and the printer went on.",))
    if seen.heard.has(*NOTED):
        return WatchedPause(Verdict.FAIL, ("A runout was announced, and the printer went on.",))
    if seen.out is None:
        return WatchedPause(Verdict.NOT_JUDGED, ("Nothing was told, and whether filament was out could not be read.",))
    return WatchedPause(Verdict.FAIL, ("The filament was out, nothing was told, and the printer went on.",))


def _finding(seen: Watched, found: WatchedPause) -> Pause:
    stopped = PauseSide.BOARD if seen.stopped else PauseSide.NEITHER
    host_alone = not seen.stopped and seen.heard.has(Sign.HOST_ASKED)
    return Pause(
        sentences=(*found.reasons, *_heard(seen.heard)),
        kind=KIND,
        end="the head stood still" if seen.stopped else "the head went on",
        verdict=found.verdict,
        side=PauseSide.HOST_ONLY if host_alone else stopped,
        predicted_mm=None,
        agrees=None,
        shut="not_host_alone" if found.verdict is Verdict.FAIL and not seen.stopped else "",
        silent=not seen.heard.signs,
        signs=tuple(HeardSign(round(sign.at_s, 3), sign.sign.value, sign.text) for sign in seen.heard.signs),
    )


def _heard(heard: Heard) -> Sequence[str]:
    if not heard.signs:
        return ("The console said nothing of a runout or a pause.",)
    return tuple(f"The console said: {sign.text.strip()!r} ({sign.sign.value})." for sign in heard.signs)
