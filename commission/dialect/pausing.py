"""Signs of a pause: what a printer says on its way into one, in it, and out of it.

Some builds tell a host every step, some put questions with buttons, some only say that they are busy, and some say
nothing at all. Each line is one sign or none; a question is complete with its last line.
"""

import re
from dataclasses import dataclass
from enum import Enum

from commission.dialect.replies import Reply, ReplyKind


class Sign(Enum):
    """What one line says of a pause."""

    RUNOUT = "a runout is announced"
    RUNOUT_NOTED = "a runout or a jam is noted; whether the printer pauses is not said"
    PRINTER_PAUSED = "the printer says that it has paused"
    HOST_ASKED = "the host is asked to pause"
    WAITING = "the printer waits for a person"
    INSTRUCTION = "the printer tells a person what to do"
    QUESTION = "the printer puts a question"
    BUSY = "the printer is busy"
    RESUMED = "the printer says that it has resumed"
    TOO_COLD = "the change is refused: too cold"
    FEED_REFUSED = "filament is not driven: too cold"
    COOLED = "the nozzle was left to cool while waiting"
    ACKNOWLEDGED = "a command is acknowledged"


_TOO_COLD = re.compile(r"(?:echo:)?\s*(?:M600: ?)?(?:hotend )?too cold\b", re.IGNORECASE)
_FEED_REFUSED = re.compile(r"(?:echo:|error:)?\s*cold extrusion prevented\b", re.IGNORECASE)
_INSTRUCTION = re.compile(
    r"(?:echo:)?\s*(?:insert filament\b|send M108 to (?:resume|heat)|press button\b)", re.IGNORECASE
)
_COOLED = re.compile(r"(?:echo:)?\s*(?:send M108|press button (?:\(or M108\) )?)\s*to heat\b", re.IGNORECASE)
_NOTED = re.compile(
    r"extruder \d{1,3} reports no filament|error: *filament error on extruder \d{1,3}: *\w"
    r"|important: *(?:no filament|extruder jam) detected|// *filament detector has detected\b",
    re.IGNORECASE,
)
_PAUSED = re.compile(r"printing paused\s*$|// *print suspended\b", re.IGNORECASE)
_HOST_TOLD = re.compile(r"requestpause:", re.IGNORECASE)
_RUNOUT_WORDS = re.compile(r"filament_?\s*runout|out_of_filament", re.IGNORECASE)


def sign_of(reply: Reply) -> Sign | None:
    """The sign this line is, or None."""
    if reply.kind is ReplyKind.ACTION:
        return _action(reply)
    if reply.kind is ReplyKind.TEXT or reply.kind is ReplyKind.ERROR:
        return _worded(reply.text)
    return {
        ReplyKind.PAUSED_FOR_USER: Sign.WAITING,
        ReplyKind.BUSY: Sign.BUSY,
        ReplyKind.ACKNOWLEDGED: Sign.ACKNOWLEDGED,
    }.get(reply.kind)


def _worded(text: str) -> Sign | None:
    shapes = (
        (_COOLED, Sign.COOLED),
        (_INSTRUCTION, Sign.INSTRUCTION),
        (_FEED_REFUSED, Sign.FEED_REFUSED),
        (_TOO_COLD, Sign.TOO_COLD),
        (_NOTED, Sign.RUNOUT_NOTED),
        (_PAUSED, Sign.PRINTER_PAUSED),
        (_HOST_TOLD, Sign.HOST_ASKED),
    )
    return next((sign for shape, sign in shapes if shape.match(text)), None)


def _action(reply: Reply) -> Sign | None:
    named = {
        "paused": Sign.PRINTER_PAUSED,
        "pause": Sign.HOST_ASKED,
        "out_of_filament": Sign.HOST_ASKED,
        "resumed": Sign.RESUMED,
        "prompt_show": Sign.QUESTION,
    }
    if reply.action == "prompt_begin":
        if _RUNOUT_WORDS.search(reply.argument):
            return Sign.RUNOUT
        return Sign.COOLED if reply.argument.lower().startswith("heatertimeout") else None
    return named.get(reply.action or "")


@dataclass(frozen=True)
class Question:
    """A question the printer puts to the host's person.

    Attributes:
        text: what it says.
        buttons: what may be pressed, in order; the first is number 0.
    """

    text: str
    buttons: tuple[str, ...] = ()

    @property
    def goes_on(self) -> int | None:
        """The number of the button that goes on, if one does."""
        return self._button(r"continue\b|reheat\b|resume\b")

    @property
    def repeats(self) -> int | None:
        """The number of the button that feeds some more and asks again, if one does."""
        return self._button(r"purge")

    @property
    def gives_up_watching(self) -> bool:
        """Whether a button would switch the sensor off: the firmware still sees no filament."""
        return self._button(r"disable|ignore") is not None

    def _button(self, shape: str) -> int | None:
        found = [n for n, label in enumerate(self.buttons) if re.match(shape, label, re.IGNORECASE)]
        return found[0] if found else None


class Questions:
    """Puts the lines of questions together.

    Attributes:
        open: the question that is shown now; None when there is none.
    """

    def __init__(self) -> None:
        self.open: Question | None = None
        self._text = ""
        self._buttons: list[str] = []

    def hear(self, reply: Reply) -> None:
        """Take a line into account."""
        if reply.kind is not ReplyKind.ACTION:
            return
        if reply.action == "prompt_begin":
            self._text, self._buttons = reply.argument, []
        elif reply.action in ("prompt_button", "prompt_choice"):
            self._buttons.append(reply.argument)
        elif reply.action == "prompt_show":
            self.open = Question(self._text, tuple(self._buttons))
        elif reply.action in ("prompt_end", "resumed"):
            self.open = None
