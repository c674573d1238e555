"""Whether a printer serves, and what it is doing, as it says so itself.

A host computer that has lost its board answers every question, with a fault; a board that was stopped answers nothing
or status questions only. Both acknowledge as though nothing were wrong, so the state is read from the other lines.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum

from commission.dialect.answers import Answer
from commission.dialect.commands import Command, Effect
from commission.dialect.family import Family, Identified
from commission.dialect.framing import RawLine
from commission.dialect.replies import ReplyKind, acknowledgement, classify
from commission.dialect.sources.answers import HOST_STATE_ANSWER, STATUS_ANSWER
from commission.dialect.sources.status_model import status_letter_in


class PrinterState(Enum):
    """What a printer says of itself."""

    READY = "ready"
    NOT_READY = "not ready"
    DISCONNECTED = "disconnected"
    SHUT_DOWN = "shut down"
    HALTED = "halted"
    IDLE = "idle"
    STARTING = "starting"
    BUSY = "busy"
    PRINTING = "printing"
    PAUSING = "pausing"
    PAUSED = "paused"
    RESUMING = "resuming"
    UPDATING = "updating its firmware"

    @property
    def serves(self) -> bool:
        """Whether commands are carried out in this state."""
        return self not in _DEAD


_DEAD = (PrinterState.NOT_READY, PrinterState.DISCONNECTED, PrinterState.SHUT_DOWN, PrinterState.HALTED)

_HOST_STATES = {
    "ready": PrinterState.READY,
    "not ready": PrinterState.NOT_READY,
    "shutdown": PrinterState.SHUT_DOWN,
    "disconnect": PrinterState.DISCONNECTED,
}
# I is documented; the others are from memory.
_LETTERS = {
    "I": PrinterState.IDLE,
    "C": PrinterState.STARTING,
    "B": PrinterState.BUSY,
    "P": PrinterState.PRINTING,
    "D": PrinterState.PAUSING,
    "A": PrinterState.PAUSED,
    "S": PrinterState.HALTED,
    "R": PrinterState.RESUMING,
    "H": PrinterState.HALTED,
    "F": PrinterState.UPDATING,
}

_HOST_STATE = re.compile(r"//\s*\S.{0,58}? state: (?P<state>ready|not ready|shutdown|disconnect)\s*$", re.IGNORECASE)
_FAULT = re.compile(r"!!\s*(?P<text>.*\S)")
_SHUTDOWN_REASON = re.compile(r"\bshutdown: (?P<reason>.*\S)", re.IGNORECASE)
_RESTART_WORD = re.compile(r'"(?P<word>(?:FIRMWARE_)?RESTART)"')
# A host computer that is not ready answers with this one temperature, and without a target.
_NO_TEMPERATURE = re.compile(r"T:0\s*$")


@dataclass(frozen=True)
class StateReport:
    """What these lines say of the printer's state.

    Attributes:
        state: the last state that is stated.
        reason: why it does not serve, in the printer's words; empty where it does, or does not say.
        restart_words: the commands that it names as the way out; each of them loses position and heat.
    """

    state: PrinterState
    reason: str = ""
    restart_words: tuple[str, ...] = ()


def state_in(text: str) -> PrinterState | None:
    """The state one text line states, or None. A halt is a kind of reply of its own."""
    if found := _HOST_STATE.match(text):
        return _HOST_STATES[found["state"].lower()]
    letter = status_letter_in(text)
    return None if letter is None else _LETTERS.get(letter)


def state_of(lines: Iterable[str]) -> StateReport | None:
    """What these lines say of the state; None when they say nothing. An acknowledgement among them means nothing."""
    state: PrinterState | None = None
    reason = ""
    words: tuple[str, ...] = ()
    for line in lines:
        data = acknowledgement(line)
        text = line if data is None else data
        told = _told(text, acknowledged=data is not None)
        if told is not None:
            state, reason, words = told, "", ()
        if found := _FAULT.match(text):
            why = _SHUTDOWN_REASON.search(text)
            reason = why["reason"] if why else found["text"]
        words = tuple(dict.fromkeys((*words, *(found["word"] for found in _RESTART_WORD.finditer(text)))))
    if state is None:
        return None
    return StateReport(state) if state.serves else StateReport(state, reason, words)


def _told(text: str, *, acknowledged: bool) -> PrinterState | None:
    if acknowledged and _NO_TEMPERATURE.match(text):
        return PrinterState.NOT_READY
    halted = classify(RawLine.of(text)).kind is ReplyKind.HALTED
    return PrinterState.HALTED if halted else state_in(text)


_QUESTIONS: dict[Family, tuple[str, Answer]] = {
    Family.B: ("M408 S0", STATUS_ANSWER),
    Family.C: ("STATUS", HOST_STATE_ANSWER),
}


def state_question(printer: Identified) -> Command | None:
    """What a printer is asked about its state; None where its family has no such question."""
    found = _QUESTIONS.get(printer.family)
    if found is None:
        return None
    return Command(found[0], "ask for the printer's state", Effect.READ_ONLY, found[1], asked_of=printer)
