"""The legal moves of the conversation, as two literal tables.

One command is in flight. Around it lie three groups of states:

- nothing asked: OPENING (before the first command; a boot banner is expected there), QUIET, BOOTING (the board
  restarted under us), HALTED (dead until reset);
- asked, not acknowledged: AWAITING, BUSY (the printer says it is at work), PAUSED (it waits for a person), RESENT (we
  repeated the line: the next acknowledgement may be the repeat request's own, which some builds send and some do not);
- acknowledged, but the answer is not complete: LINGERING. Here a family that acknowledges first differs in nothing
  from a stray acknowledgement before the real answer, so the answer's own shape decides (see `answers`).

Each line becomes one signal, and the table says what a signal does in a state. Lines that come when nothing was asked,
or that no answer takes, are asides: they are handed on and change nothing. The two tables are the whole rule: a move
of ours that is not in OUR_MOVES is refused, and PRINTER_MOVES has an entry for whatever a printer may say.
"""

from enum import Enum
from typing import Literal

Belongs = Literal["answer", "aside", "end"]


class ConversationState(Enum):
    """Whose turn it is."""

    OPENING = "opening"
    QUIET = "quiet"
    AWAITING = "awaiting"
    BUSY = "busy"
    PAUSED = "paused"
    RESENT = "resent"
    LINGERING = "lingering"
    BOOTING = "booting"
    HALTED = "halted"

    __hash__ = object.__hash__  # the tables are looked into for every line that comes


class Act(Enum):
    """What we do."""

    COMMAND = "command"
    QUEUE_AHEAD = "queue ahead"
    GIVE_UP = "give up"
    SETTLE = "settle"


class Signal(Enum):
    """What a line means to the exchange in flight."""

    ASIDE = "aside"
    PART = "part"
    LAST = "last part"
    OPEN_OK = "acknowledged, answer open"
    DONE = "acknowledged, answer complete"
    BUSY = "busy"
    PAUSED = "paused"
    IDLE = "idle"
    RESEND = "resend"
    BANNER = "banner"
    HALTED = "halted"

    __hash__ = object.__hash__


_S = ConversationState

OUR_MOVES: dict[tuple[ConversationState, Act], ConversationState] = {
    (_S.OPENING, Act.COMMAND): _S.AWAITING,
    (_S.QUIET, Act.COMMAND): _S.AWAITING,
    (_S.BOOTING, Act.COMMAND): _S.AWAITING,
    (_S.AWAITING, Act.QUEUE_AHEAD): _S.AWAITING,
    (_S.AWAITING, Act.GIVE_UP): _S.QUIET,
    (_S.BUSY, Act.GIVE_UP): _S.QUIET,
    (_S.PAUSED, Act.GIVE_UP): _S.QUIET,
    (_S.RESENT, Act.GIVE_UP): _S.QUIET,
    (_S.LINGERING, Act.GIVE_UP): _S.QUIET,
    (_S.LINGERING, Act.SETTLE): _S.QUIET,
}

PRINTER_MOVES: dict[tuple[ConversationState, Signal], tuple[ConversationState, Belongs]] = {
    # nothing asked: whatever comes is an aside
    (_S.OPENING, Signal.ASIDE): (_S.OPENING, "aside"),
    (_S.OPENING, Signal.BANNER): (_S.OPENING, "aside"),
    (_S.OPENING, Signal.HALTED): (_S.HALTED, "aside"),
    (_S.QUIET, Signal.ASIDE): (_S.QUIET, "aside"),
    (_S.QUIET, Signal.BANNER): (_S.BOOTING, "aside"),
    (_S.QUIET, Signal.HALTED): (_S.HALTED, "aside"),
    (_S.BOOTING, Signal.ASIDE): (_S.BOOTING, "aside"),
    (_S.BOOTING, Signal.BANNER): (_S.BOOTING, "aside"),
    (_S.BOOTING, Signal.HALTED): (_S.HALTED, "aside"),
    (_S.HALTED, Signal.ASIDE): (_S.HALTED, "aside"),
    (_S.HALTED, Signal.BANNER): (_S.BOOTING, "aside"),
    (_S.HALTED, Signal.HALTED): (_S.HALTED, "aside"),
    # asked
    (_S.AWAITING, Signal.ASIDE): (_S.AWAITING, "aside"),
    (_S.AWAITING, Signal.PART): (_S.AWAITING, "answer"),
    (_S.AWAITING, Signal.LAST): (_S.QUIET, "end"),
    (_S.AWAITING, Signal.OPEN_OK): (_S.LINGERING, "answer"),
    (_S.AWAITING, Signal.DONE): (_S.QUIET, "end"),
    (_S.AWAITING, Signal.BUSY): (_S.BUSY, "aside"),
    (_S.AWAITING, Signal.PAUSED): (_S.PAUSED, "aside"),
    (_S.AWAITING, Signal.IDLE): (_S.AWAITING, "aside"),
    (_S.AWAITING, Signal.RESEND): (_S.RESENT, "aside"),
    (_S.AWAITING, Signal.BANNER): (_S.BOOTING, "aside"),
    (_S.AWAITING, Signal.HALTED): (_S.HALTED, "aside"),
    # asked, and at work
    (_S.BUSY, Signal.ASIDE): (_S.BUSY, "aside"),
    (_S.BUSY, Signal.PART): (_S.BUSY, "answer"),
    (_S.BUSY, Signal.LAST): (_S.QUIET, "end"),
    (_S.BUSY, Signal.OPEN_OK): (_S.LINGERING, "answer"),
    (_S.BUSY, Signal.DONE): (_S.QUIET, "end"),
    (_S.BUSY, Signal.BUSY): (_S.BUSY, "aside"),
    (_S.BUSY, Signal.PAUSED): (_S.PAUSED, "aside"),
    (_S.BUSY, Signal.IDLE): (_S.BUSY, "aside"),
    (_S.BUSY, Signal.RESEND): (_S.RESENT, "aside"),
    (_S.BUSY, Signal.BANNER): (_S.BOOTING, "aside"),
    (_S.BUSY, Signal.HALTED): (_S.HALTED, "aside"),
    # asked, and waiting for a person
    (_S.PAUSED, Signal.ASIDE): (_S.PAUSED, "aside"),
    (_S.PAUSED, Signal.PART): (_S.PAUSED, "answer"),
    (_S.PAUSED, Signal.LAST): (_S.QUIET, "end"),
    (_S.PAUSED, Signal.OPEN_OK): (_S.LINGERING, "answer"),
    (_S.PAUSED, Signal.DONE): (_S.QUIET, "end"),
    (_S.PAUSED, Signal.BUSY): (_S.BUSY, "aside"),
    (_S.PAUSED, Signal.PAUSED): (_S.PAUSED, "aside"),
    (_S.PAUSED, Signal.IDLE): (_S.PAUSED, "aside"),
    (_S.PAUSED, Signal.RESEND): (_S.RESENT, "aside"),
    (_S.PAUSED, Signal.BANNER): (_S.BOOTING, "aside"),
    (_S.PAUSED, Signal.HALTED): (_S.HALTED, "aside"),
    # asked again: an acknowledgement that leaves the answer open is the repeat request's own
    (_S.RESENT, Signal.ASIDE): (_S.RESENT, "aside"),
    (_S.RESENT, Signal.PART): (_S.RESENT, "answer"),
    (_S.RESENT, Signal.LAST): (_S.QUIET, "end"),
    (_S.RESENT, Signal.OPEN_OK): (_S.AWAITING, "aside"),
    (_S.RESENT, Signal.DONE): (_S.QUIET, "end"),
    (_S.RESENT, Signal.BUSY): (_S.BUSY, "aside"),
    (_S.RESENT, Signal.PAUSED): (_S.PAUSED, "aside"),
    (_S.RESENT, Signal.IDLE): (_S.RESENT, "aside"),
    (_S.RESENT, Signal.RESEND): (_S.RESENT, "aside"),
    (_S.RESENT, Signal.BANNER): (_S.BOOTING, "aside"),
    (_S.RESENT, Signal.HALTED): (_S.HALTED, "aside"),
    # acknowledged: the last part, or word that the printer has nothing to do, ends it
    (_S.LINGERING, Signal.ASIDE): (_S.LINGERING, "aside"),
    (_S.LINGERING, Signal.PART): (_S.LINGERING, "answer"),
    (_S.LINGERING, Signal.LAST): (_S.QUIET, "end"),
    (_S.LINGERING, Signal.OPEN_OK): (_S.LINGERING, "aside"),
    (_S.LINGERING, Signal.DONE): (_S.QUIET, "end"),
    (_S.LINGERING, Signal.BUSY): (_S.LINGERING, "aside"),
    (_S.LINGERING, Signal.PAUSED): (_S.LINGERING, "aside"),
    (_S.LINGERING, Signal.IDLE): (_S.QUIET, "end"),
    (_S.LINGERING, Signal.RESEND): (_S.RESENT, "aside"),
    (_S.LINGERING, Signal.BANNER): (_S.BOOTING, "aside"),
    (_S.LINGERING, Signal.HALTED): (_S.HALTED, "aside"),
}
