"""The settings' share of an installation: each phase is offered where it belongs and may be left out with a reason."""

from collections.abc import Sequence

from commission.asking.message import Punch, Tell
from commission.asking.phase import FROM_THE_START, Phase, Progress, Voiding, carried_out, offer, steps_of
from commission.asking.request import Confirm
from commission.asking.response import HoldReleased
from commission.asking.steps import Steps, ask, confirm, establish, recall
from commission.command_lines import BACKUP as BACKUP_LINE
from commission.command_lines import BORROW
from commission.command_lines import RESTORE as RESTORE_LINE
from commission.dialect.commands import RUNOUT_CONTROL
from commission.dialect.family import Family, printer_of
from commission.dialect.identity import Identity
from commission.dialect.runout import RunoutControl, runout_of
from commission.evidence.findings.compared import Compared
from commission.evidence.findings.meeting import IdentityAfterReflash
from commission.evidence.findings.reported import RunoutControlAfterReflash, SwitchesAfterReflash
from commission.evidence.findings.settings import SettingsAsFound, SettingsAsLeft, SettingsAsLeftUnknown
from commission.procedure.meeting.as_found import AS_FOUND, AsFound, look, runout_sentences, switch_sentences
from commission.procedure.settings.as_text import AS_TEXT, keeps_a_file, settings_as_text
from commission.procedure.settings.backup import BACKUP, backup
from commission.procedure.settings.reading import read_settings
from commission.procedure.settings.record import SettingsRecord, Sheet
from commission.procedure.settings.reflash import REFLASH, Reflashed, look_after, reflash
from commission.procedure.settings.restore import RESTORE, restore
from commission.procedure.settings.stored_values import STORED_VALUES, stored_values
from commission.procedure.settings.watching import WATCHING, watching
from commission.settings.comparison import compare
from commission.settings.side_by_side import side_by_side, summary
from commission.vocabulary import PunchClass

AFTER_REFLASH = Phase(
    "after_reflash",
    "After the reflash: what the new firmware reports",
    "what the new firmware reports",
    frozenset({Voiding.FIRMWARE}),
)
BEFORE_REFLASH = frozenset({AS_FOUND.name, BACKUP.name, STORED_VALUES.name})
"""The phases that come before the firmware is decided on."""
NOT_LISTED = "The printer lists no filament switch: with this firmware no line of its switch report reads the sensor."
BORROW_FIRST = f"What the build must say is no guess: `{BORROW}` tries the sensor on an endstop's socket first."
AS_LEFT = Phase("as_left", "As left: the settings after the last change", "the settings as left")


def keep_settings(
    sheet: Sheet, identity: Identity | None, found: AsFound | None, progress: Progress = FROM_THE_START
) -> Steps[SettingsRecord | None]:
    """Offer the record of the settings as found; `found` is shown in its file.

    A record that this run has already stands: after a reflash in the same run the settings are not as found any more.
    """
    if (printer := keeps_a_file(identity)) is not None:
        yield from progress.do(AS_TEXT, lambda: settings_as_text(printer, sheet))
        return None
    firmware, shown = _firmware(identity), {} if found is None else states(found)
    record = yield from progress.again(BACKUP, backup(sheet, firmware, shown))
    if record is not None:
        return record
    standing = yield from recall(SettingsAsFound)
    if standing is not None:
        yield Tell(("The record of the settings that this run took stands.",))
        return SettingsRecord.on_record(standing)
    lines = (
        "A record of the settings takes seconds, changes nothing, and is the only way back if a reflash loses them.",
    )
    if not (yield from offer(BACKUP, Confirm("backup.now", "Keep a record of the settings now?", lines))):
        return None
    record = yield from backup(sheet, firmware, shown)
    if record is not None:
        yield from stored_values(record)
    return record


def states(found: AsFound) -> dict[str, Sequence[str]]:
    """Switch states and runout control as found, for the readable file."""
    return {
        "Switches as found": switch_sentences(found.switches),
        "Runout detection as found": runout_sentences(found.runout),
    }


def offered_reflash(
    sheet: Sheet,
    record: SettingsRecord | None,
    identity: Identity | None,
    progress: Progress = FROM_THE_START,
    *,
    lists_sensor: bool = True,
    together: Sequence[str] | None = None,
) -> Steps[AsFound | None]:
    """Offer the reflash hold point, and the restore behind it.

    Args:
        sheet: the printer and the day.
        record: the settings as found.
        identity: as announced now.
        progress: what of a run that is taken up again still stands. One that was broken off between the new firmware
            and the restore goes on with what became of the settings, and asks nothing about a reflash. Nor does one
            that went on with the firmware it had.
        lists_sensor: whether the printer lists a filament switch with the firmware it has.
        together: the sensors that were tested together last, and may be so now; None in a job that tests one.

    Returns:
        What the new firmware reports of switches and runout control; None when the firmware stays.
    """
    reflashed = yield from _reflashed_before(sheet, record, progress)
    if reflashed is None:
        if _kept_before(progress) or (yield from _firmware_stays(lists_sensor=lists_sensor)):
            return None
        if record is None and keeps_a_file(identity) is None:
            record = yield from backup(sheet, _firmware(identity), {})
        reflashed = yield from reflash(sheet, record)
    if reflashed is None:
        return None
    if record is not None:
        yield from restored(sheet, record, reflashed, progress)
    return (yield from progress.do(AFTER_REFLASH, lambda: _after_reflash(reflashed.identity, together)))


def _kept_before(progress: Progress) -> bool:
    """Whether the run went on with the firmware it had, and nobody has put another one on since."""
    return bool(set(progress.done) - BEFORE_REFLASH) and Voiding.FIRMWARE not in progress.voiding


def _firmware_stays(*, lists_sensor: bool) -> Steps[bool]:
    missing = () if lists_sensor else (NOT_LISTED, BORROW_FIRST)
    lines = (*missing, "A reflash is needed where the sensor's input is not built in, or its logic has to be inverted.")
    return (yield from confirm(Confirm("reflash.stays", "Does the printer keep the firmware it has?", lines)))


@steps_of(AFTER_REFLASH)
def _after_reflash(identity: Identity | None, together: Sequence[str] | None) -> Steps[AsFound]:
    return (yield from look(SwitchesAfterReflash, RunoutControlAfterReflash, identity, together=together))


def _reflashed_before(sheet: Sheet, record: SettingsRecord | None, progress: Progress) -> Steps[Reflashed | None]:
    """What answers since the run that is taken up again had the new firmware put on; None where it did not."""
    reflashed = yield from progress.again(REFLASH, reflash(sheet, record))
    if reflashed is None and record is not None and (yield from _flashed_before(progress)):
        yield Tell(("Another firmware is on the board than before: first of all, what became of the settings.",))
        reflashed = yield from look_after(sheet, record, None, HoldReleased())
    return reflashed


def _flashed_before(progress: Progress) -> Steps[bool]:
    """Whether a firmware was put on that the book does not tell all of, or the run was broken off before it ended."""
    if Voiding.FIRMWARE in progress.voiding:
        return True
    return REFLASH.name in progress.done and (yield from recall(IdentityAfterReflash)) is not None


def restored(
    sheet: Sheet, record: SettingsRecord, reflashed: Reflashed, progress: Progress = FROM_THE_START
) -> Steps[None]:
    """Offer the restore, where what is put back can last."""
    if not reflashed.settings_last:
        yield Tell(("Nothing is put back now: it would not last. The open item says what has to be done first.",))
        return
    if reflashed.settings_same and Voiding.SETTINGS not in progress.voiding:
        yield Tell(("Every recorded value is as before: nothing has to be put back.",))
        return
    question = Confirm("restore.now", "Put the recorded settings back now?")
    done = yield from progress.offered(RESTORE, question, lambda: restore(record, sheet, reflashed.firmware))
    if done is None:
        yield Punch(PunchClass.INCOMPLETE, "The recorded settings are not put back.", f"Run `{RESTORE_LINE}`.")


def offered_watching(
    found: RunoutControl,
    progress: Progress = FROM_THE_START,
    identity: Identity | None = None,
    *,
    refused: bool = False,
) -> Steps[None]:
    """Offer to set watching and leftover distance; what is reported is shown first.

    Args:
        found: as reported before.
        identity: as announced; where another family keeps watching in a file of its own, nothing is set.
        progress: what of a run that is taken up again still stands; what is reported may have been set since.
        refused: whether the leftover distance does not fit the filament path.
    """
    printer = printer_of(identity)
    if printer is not None and printer.family is not Family.A:
        return  # what is told of its watching stands among the gates; it is set in a file of the printer's own
    if (yield from progress.again(WATCHING, watching())) is not None:
        return
    if progress.done:
        found = runout_of((yield from ask(RUNOUT_CONTROL)).lines)
    if found.supported is not True:
        return
    known = runout_sentences(found)
    if (yield from confirm(_stays(known, afresh=refused or found.enabled is not True))):
        if found.enabled is not True:
            yield Punch(
                PunchClass.UNSAFE,
                "Runout detection is not on: a runout is not noticed.",
                "Run this again and switch it on.",
            )
        return
    yield from watching()


def _stays(known: tuple[str, ...], *, afresh: bool) -> Confirm:
    question = "Are runout detection and leftover distance to stay as they are?"
    return Confirm("watching.stays", question, known, afresh=afresh)


def settings_as_left(sheet: Sheet, record: SettingsRecord | None) -> Steps[None]:
    """Read the settings a last time and hold them against the record; that nothing changed is written, not implied."""
    if record is not None:
        yield from carried_out(AS_LEFT, _as_left(sheet, record))


def _as_left(sheet: Sheet, record: SettingsRecord) -> Steps[None]:
    read = yield from read_settings()
    if read.snapshot is None or read.trouble:
        said = f"{read.trouble} How the settings are left is not known."
        yield from establish(SettingsAsLeftUnknown(sentences=(said,)))
        yield Punch(PunchClass.INCOMPLETE, "The settings as left are not in the record.", f"Run `{BACKUP_LINE}`.")
    else:
        comparison = compare(record.snapshot, read.snapshot)
        same = record.snapshot.digest == read.snapshot.digest
        if not same:
            yield Tell(tuple(side_by_side(comparison)), heading="Settings as found beside settings as left")
        said = (
            "No change of settings was made." if same else f"Settings as found against as left. {summary(comparison)}"
        )
        left = read.record(sheet, "").values()
        yield from establish(SettingsAsLeft(sentences=(said,), comparison=Compared.of(comparison), **left))


def _firmware(identity: Identity | None) -> str:
    return "" if identity is None else identity.firmware_name or ""
