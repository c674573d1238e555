"""The settings' share of an installation: each phase is offered where it belongs and may be left out with a reason."""

from collections.abc import Sequence

from commission.dialect.commands import RUNOUT_CONTROL
from commission.dialect.identity import Identity
from commission.dialect.runout import RunoutControl, runout_of
from commission.evidence.findings.compared import Compared
from commission.evidence.findings.meeting import LeftOut
from commission.evidence.findings.reported import RunoutControlAfterReflash, SwitchesAfterReflash
from commission.evidence.findings.settings import SettingsAsFound, SettingsAsLeft, SettingsAsLeftUnknown
from commission.procedure.as_found import AsFound, look, runout_sentences, switch_sentences
from commission.procedure.backup import backup
from commission.procedure.message import Punch, Tell
from commission.procedure.reflash import NAME as REFLASH
from commission.procedure.reflash import VOIDED_BY as REFLASH_VOIDED_BY
from commission.procedure.reflash import Reflashed, look_after, reflash
from commission.procedure.request import Confirm, Enter, PhaseBegins, PhaseEnds
from commission.procedure.response import HoldReleased
from commission.procedure.restore import NAME as RESTORE
from commission.procedure.restore import VOIDED_BY as RESTORE_VOIDED_BY
from commission.procedure.restore import restore
from commission.procedure.resume import Change, Progress
from commission.procedure.settings_reading import read_settings
from commission.procedure.settings_record import SettingsRecord, Sheet
from commission.procedure.steps import Steps, ask, confirm, enter, establish, recall
from commission.procedure.stored_values import stored_values
from commission.procedure.watching import NAME as WATCHING
from commission.procedure.watching import VOIDED_BY as WATCHING_VOIDED_BY
from commission.procedure.watching import watching
from commission.settings.comparison import compare
from commission.settings.side_by_side import side_by_side, summary
from commission.vocabulary import PunchClass


def keep_settings(sheet: Sheet, identity: Identity | None, found: AsFound | None) -> Steps[SettingsRecord | None]:
    """Offer the record of the settings as found; `found` is shown in its file.

    A record that this run has already stands: after a reflash in the same run the settings are not as found any more.
    """
    standing = yield from recall(SettingsAsFound)
    if standing is not None:
        yield Tell(("The record of the settings that this run took stands.",))
        return SettingsRecord.on_record(standing)
    lines = (
        "A record of the settings takes seconds, changes nothing, and is the only way back if a reflash loses them.",
    )
    if not (yield from confirm(Confirm("backup.now", "Keep a record of the settings now?", lines))):
        yield from skipped("backup", "the record of the settings")
        return None
    record = yield from backup(sheet, _firmware(identity), {} if found is None else states(found))
    if record is not None:
        yield from stored_values(record)
    return record


def states(found: AsFound) -> dict[str, Sequence[str]]:
    """Switch states and runout control as found, for the readable file."""
    return {
        "Switches as found": switch_sentences(found.switches),
        "Watching for runout as found": runout_sentences(found.runout),
    }


def offered_reflash(
    sheet: Sheet, record: SettingsRecord | None, identity: Identity | None, progress: Progress | None = None
) -> Steps[AsFound | None]:
    """Offer the reflash hold point, and the restore behind it.

    Args:
        sheet: the printer and the day.
        record: the settings as found.
        identity: as announced now.
        progress: what of a run that is taken up again still stands. One that was broken off between the new firmware
            and the restore goes on with what became of the settings, and asks nothing about a reflash.

    Returns:
        What the new firmware reports of switches and runout control; None when the firmware stays.
    """
    taken_up = yield from _reflashed_before(sheet, record, identity, Progress() if progress is None else progress)
    if taken_up:
        return (yield from _after_reflash())
    lines = ("A reflash is needed where the sensor's input is not built in, or its logic has to be inverted.",)
    stays = Confirm("reflash.stays", "Does the printer keep the firmware it has?", lines)
    if (yield from confirm(stays)):
        return None
    if record is None:
        record = yield from backup(sheet, _firmware(identity), {})
    reflashed = yield from reflash(sheet, record, identity)
    if reflashed is None:
        return None
    if record is not None:
        yield from restored(sheet, record, reflashed)
    return (yield from _after_reflash())


def _after_reflash() -> Steps[AsFound]:
    name = "after_reflash"
    yield PhaseBegins(name, "After the reflash: what the new firmware reports")
    found = yield from look(SwitchesAfterReflash, RunoutControlAfterReflash)
    yield PhaseEnds(name, {"switch": found.switch})
    return found


def _reflashed_before(
    sheet: Sheet, record: SettingsRecord | None, identity: Identity | None, progress: Progress
) -> Steps[bool]:
    """Whether the run that is taken up again had the new firmware put on; its restore is caught up on."""
    kept = progress.done.get(REFLASH, {})
    if progress.stands(REFLASH, REFLASH_VOIDED_BY) and kept.get("opened"):
        yield Tell(("Already done in this run and still valid: the reflash.",))
        reflashed = Reflashed(identity, bool(kept.get("settings_last", True)))
    elif Change.FIRMWARE in progress.changes and record is not None:
        yield Tell(("Another firmware is on the board than before: first of all, what became of the settings.",))
        reflashed = yield from look_after(sheet, record, None, HoldReleased())
    else:
        return False
    if progress.stands(RESTORE, RESTORE_VOIDED_BY):
        yield Tell(("Already done in this run and still valid: putting the settings back.",))
    elif record is not None:
        yield from restored(sheet, record, reflashed)
    return True


def restored(sheet: Sheet, record: SettingsRecord, reflashed: Reflashed) -> Steps[None]:
    """Offer the restore, where what is put back can last."""
    if not reflashed.settings_last:
        yield Tell(("Nothing is put back now: it would not last. The open item says what has to be done first.",))
        return
    if (yield from confirm(Confirm("restore.now", "Put the recorded settings back now?"))):
        yield from restore(record, sheet, reflashed.firmware)
    else:
        yield from skipped("restore", "putting the settings back")
        yield Punch(PunchClass.INCOMPLETE, "The recorded settings are not put back.", "Run `restore`.")


def offered_watching(found: RunoutControl, progress: Progress | None = None) -> Steps[None]:
    """Offer to set watching and leftover distance; what is reported is shown first.

    Args:
        found: as reported before.
        progress: what of a run that is taken up again still stands; what is reported may have been set since.
    """
    progress = Progress() if progress is None else progress
    if progress.stands(WATCHING, WATCHING_VOIDED_BY):
        yield Tell(("Already done in this run and still valid: watching and leftover distance.",))
        return
    if progress.done:
        found = runout_of((yield from ask(RUNOUT_CONTROL)).lines)
    if found.supported is not True:
        return
    known = runout_sentences(found)
    if (
        yield from confirm(Confirm("watching.stays", "Are watching and leftover distance to stay as they are?", known))
    ):
        if found.enabled is not True:
            yield Punch(
                PunchClass.UNSAFE, "Watching is not on: a runout is not noticed.", "Run this again and switch it on."
            )
        return
    yield from watching()


def settings_as_left(sheet: Sheet, record: SettingsRecord | None) -> Steps[None]:
    """Read the settings a last time and hold them against the record; that nothing changed is written, not implied."""
    if record is None:
        return
    yield PhaseBegins("as_left", "As left: the settings after the last change")
    read = yield from read_settings()
    if read.snapshot is None or read.trouble:
        said = f"{read.trouble} How the settings are left is not known."
        yield from establish(SettingsAsLeftUnknown(sentences=(said,)))
        yield Punch(PunchClass.INCOMPLETE, "The settings as left are not in the record.", "Run `backup`.")
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
    yield PhaseEnds("as_left", {})


def skipped(name: str, what: str) -> Steps[None]:
    """Record that a phase was left out, and why."""
    reason = yield from enter(
        Enter(f"{name}.skip_reason", f"Why is {what} left out? (empty: no reason)", optional=True)
    )
    said = f"Left out by the operator: {what}" + (f" ({reason})." if reason else ".")
    yield from establish(LeftOut(sentences=(said,), phase=name, reason=reason))


def _firmware(identity: Identity | None) -> str:
    return "" if identity is None else identity.firmware_name or ""
