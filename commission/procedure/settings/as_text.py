"""Phase: the settings of a printer that keeps them in a file of its own: what it prints is kept as text.

Such text is no record from which single values could be put back, and this program puts nothing back there: the words
that save, reload or restart lose position and heat, or run the whole file anew.
"""

from commission.asking.message import Punch
from commission.asking.phase import Phase, steps_of
from commission.asking.steps import Steps, ask, establish, keep
from commission.dialect.commands import SETTINGS
from commission.dialect.family import Family, Identified, printer_of
from commission.dialect.identity import Identity
from commission.dialect.replies import ReplyKind
from commission.evidence.findings.settings import SettingsAsText
from commission.judge.wording import counted
from commission.procedure.settings.record import Sheet
from commission.session import End
from commission.vocabulary import PunchClass

AS_TEXT = Phase("settings_as_text", "Settings: what the console prints of them", "the settings as text")
KEEPS_A_FILE = (Family.B, Family.C)
TIMEOUT_S = 30.0
COPY_IT = "Copy the configuration files of the printer yourself, with their day, before anything is changed."
LIMITS = (
    "It is text to look at: the start-up file as it stands on the printer, and it may be cut when it is long.",
    "What was set since the start, and what an override file sets, does not stand in it.",
    "Nothing of it is put back by this program.",
)
NONE_PRINTED = (
    "The console prints none of its settings: they stand in a file on the host computer.",
    "Nothing is read, saved or put back by this program.",
)


def keeps_a_file(identity: Identity | None) -> Identified | None:
    """The printer that keeps its settings in a file of its own; None for one that lists them value by value."""
    printer = printer_of(identity)
    return printer if printer is not None and printer.family in KEEPS_A_FILE else None


@steps_of(AS_TEXT)
def settings_as_text(printer: Identified, sheet: Sheet) -> Steps[SettingsAsText]:
    """Keep what the console prints, with its limits said."""
    lines = () if printer.family is Family.C else (yield from _printed())
    file = ""
    said: tuple[str, ...] = NONE_PRINTED
    if lines:
        name = f"{sheet.tag}-start-up-file-{sheet.day}.txt"
        file = yield from keep(name, "\n".join((*lines, "")), "the start-up file as printed, to be read by a person")
        said = (f"Kept as text: {counted(len(lines), 'line')}, in {file}.", *LIMITS)
    found = SettingsAsText(sentences=said, lines=lines, file=file)
    yield from establish(found)
    yield Punch(PunchClass.INCOMPLETE, "There is no record from which single settings could be put back.", COPY_IT)
    return found


def _printed() -> Steps[tuple[str, ...]]:
    exchange = yield from ask(SETTINGS, TIMEOUT_S)
    if exchange.end is not End.ACKNOWLEDGED:
        return ()
    silent = (ReplyKind.ACKNOWLEDGED, ReplyKind.UNKNOWN_COMMAND, ReplyKind.ERROR, ReplyKind.BLANK)
    return tuple(reply.text for reply in exchange.answer if reply.kind not in silent)
