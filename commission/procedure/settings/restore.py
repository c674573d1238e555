"""Phase: what was tuned is put back, and nothing else.

The plan is shown whole before anything is sent. Only lines that the plan built anew from parsed values go out, each
under a release; they are read back, saved once, and proven from the printer's memory.
"""

from dataclasses import dataclass

from commission.asking.message import Punch, Tell, Weight
from commission.asking.phase import Phase, Voiding, carried_out
from commission.asking.power import power_cycle
from commission.asking.request import Choose, Confirm, Option, Release
from commission.asking.steps import Steps, ask, choose, confirm, establish, release
from commission.command_lines import RESTORE as RESTORE_LINE
from commission.dialect.commands import RELOAD_STORED, Effect
from commission.dialect.storage import storage_events_of
from commission.evidence.findings.compared import Compared
from commission.evidence.findings.settings import ReloadFailed, Restore, RestoreSent, SettingsAfterRestore
from commission.judge.power import NOT_SEEN
from commission.procedure.settings.reading import TIMEOUT_S, SettingsRead, read_settings
from commission.procedure.settings.record import SettingsRecord, Sheet
from commission.procedure.settings.restore_batch import SAFE_KEY, Batch, batches, plan_lines
from commission.procedure.settings.restore_sending import GO_ON, RestoreProgress, send
from commission.procedure.settings.saving import Saved, save
from commission.procedure.settings.watching import WORK_OUT
from commission.settings.comparison import compare
from commission.settings.leftover import changed_leftover
from commission.settings.plan_items import Decision, LetterChange, RestorePlan
from commission.settings.read_back import not_taken
from commission.settings.restore_plan import plan_restore
from commission.settings.side_by_side import side_by_side
from commission.vocabulary import PunchClass, Verdict

RESTORE = Phase(
    "restore",
    "Restore the recorded settings",
    "putting the settings back",
    frozenset({Voiding.FIRMWARE, Voiding.SETTINGS}),
)
SETTING = frozenset({Effect.SETTING})
NOTHING_TO_SEND = (
    "Every working value that may be put back is as recorded already: nothing was sent.",
    "That does not tell whether they are stored: what is only in working memory is lost with the power.",
    "So they can be saved once, and proven from storage. If they are known to be stored, say no to the save.",
)
NO_MESH = "The recorded mesh was not released, so it is not put to use: the nozzle may hit the bed."
UNPROVEN = "It is not proven that the restored settings last."
READ_FROM_STORAGE = "The settings were read again from storage and compared with the record."
PROOFS = (
    Option("power", "power cycle", "the real thing: the printer starts from what is stored"),
    Option("reload", "reload", "quicker: the printer is told to load what is stored; it gets a release of its own"),
    Option("none", "not now", "then nothing proves that the values last"),
)


@dataclass(frozen=True)
class Restored:
    """What came of a restore.

    Attributes:
        verdict: pass when every safe value is as found and proven from storage.
        why: in a sentence.
    """

    verdict: Verdict
    why: str


def restore(record: SettingsRecord, sheet: Sheet, firmware: str) -> Steps[Restored]:
    """Put back what may be put back of this record.

    Args:
        record: the settings as found.
        sheet: the printer and the day.
        firmware: as announced now.
    """
    phase = RESTORE.titled(f"Restore the settings recorded on {record.day}")
    return (yield from carried_out(phase, _restored(record, sheet, firmware)))


def _restored(record: SettingsRecord, sheet: Sheet, firmware: str) -> Steps[Restored]:
    now = yield from read_settings()
    if now.snapshot is None or now.trouble:
        restored = yield from _impossible(now)
    else:
        progress = yield from put_back(record, now)
        yield from _leftover_changed(changed_leftover(record.snapshot, now.snapshot))
        restored = yield from _judged(record, progress, sheet, firmware)
    said = f"Restore: {restored.verdict.value}. {restored.why}"
    yield from establish(Restore(sentences=(said,), verdict=restored.verdict))
    return restored


def put_back(record: SettingsRecord, now: SettingsRead) -> Steps[RestoreProgress]:
    """Show the plan, have it released, and send what was released into the working memory.

    Raises:
        ValueError: there is no report to plan against.
    """
    if now.snapshot is None:
        raise ValueError("A restore is planned against a report of the firmware at hand")
    plan = plan_restore(record.snapshot, now.snapshot)
    yield Tell(plan_lines(plan), heading="The whole plan; nothing is sent yet", weight=Weight.STEP)
    released = yield from _releases(plan)
    progress = yield from send(released, now.command)
    numbers = {batch.number for batch in released}
    progress.declined = tuple(batch.title for batch in batches(plan) if batch.number not in numbers)
    if not progress.trouble:
        yield from establish(_sent(plan, progress))
    return progress


def _leftover_changed(change: LetterChange | None) -> Steps[None]:
    """The leftover distance is never put back from an old report: one that changed is worked out anew."""
    if change is not None:
        said = f"The leftover distance was {change.as_found} mm and is {change.current} mm now; it is not put back."
        yield Punch(PunchClass.INCOMPLETE, said, WORK_OUT)


def _sent(plan: RestorePlan, progress: RestoreProgress) -> RestoreSent:
    sent = tuple(line.text for line in progress.proven)
    said = [f"Sent and read back: {', '.join(sent) or 'nothing'}."]
    said += [f"Left as it is by the operator: {_names(progress)}."] if progress.declined else []
    refused = tuple((item.command, item.reason) for item in plan.of(Decision.REFUSE))
    return RestoreSent(sentences=tuple(said), sent=sent, declined=progress.declined, refused=refused)


def _releases(plan: RestorePlan) -> Steps[list[Batch]]:
    """What the operator lets go out, in the order of the plan."""
    everything = batches(plan)
    released = yield from _safe([batch for batch in everything if not batch.asked])
    for batch in everything:
        if batch.uses_mesh and any(each.mesh and each not in released for each in everything):
            yield Tell((f"Not asked: {batch.title}. {NO_MESH}",), weight=Weight.CAUTION)
        elif batch.asked and (yield from _asked(batch)):
            released.append(batch)
    return sorted(released, key=lambda batch: batch.number)


def _safe(ticked: list[Batch]) -> Steps[list[Batch]]:
    if not ticked:
        return []
    lines = (
        f"The {len(ticked)} ticked lines are sent one by one and read back; the first that is not taken stops it.",
        "They change the working values only; saving is asked for afterwards.",
    )
    if (yield from release(Release(SAFE_KEY, f"send the {len(ticked)} ticked lines", lines, SETTING))):
        return list(ticked)
    if not (yield from confirm(Confirm("restore.one_by_one", "Decide on the ticked lines one by one?"))):
        return []
    chosen = []
    for batch in ticked:
        one = Batch(f"restore.tick.{batch.number}", batch.items, batch.number)
        if (yield from release(Release(one.key, f"send {one.title}", (one.changes or one.title,), SETTING))):
            chosen.append(one)
    return chosen


def _asked(batch: Batch) -> Steps[bool]:
    told = (batch.items[0].reason, batch.changes, batch.items[0].purpose)
    title = f"send {batch.title}"
    return (yield from release(Release(batch.key, title, tuple(line for line in told if line), SETTING)))


def _impossible(now: SettingsRead) -> Steps[Restored]:
    why = f"{now.trouble} What is sent could not be read back, so nothing was sent."
    yield Punch(PunchClass.INCOMPLETE, "The settings are not put back.", "Enter them at the printer's own display.")
    return Restored(Verdict.NOT_JUDGED, why)


def _judged(record: SettingsRecord, progress: RestoreProgress, sheet: Sheet, firmware: str) -> Steps[Restored]:
    if progress.trouble:
        return Restored(Verdict.FAIL, f"It stopped. Nothing of it was saved. {GO_ON}")
    if not progress.proven:
        if progress.declined:
            yield Punch(PunchClass.INCOMPLETE, f"Recorded values were not put back: {_names(progress)}.", GO_ON)
            return Restored(Verdict.NOT_JUDGED, "Nothing was released, so nothing was sent and nothing is to be saved.")
        yield Tell(NOTHING_TO_SEND, heading="Nothing had to be sent")
    saved = yield from save("restore.save", "the working values as they are now")
    if saved is Saved.DISABLED or saved is Saved.FAILED:
        yield Punch(
            PunchClass.INCOMPLETE,
            f"The settings are in working memory only: {saved.value}.",
            "They are lost when the power goes. Put the values into the build, or build it with settings storage."
            if saved is Saved.DISABLED
            else f"Find out why the memory does not take them (its size, its chip, the build). {GO_ON}",
        )
        return Restored(Verdict.FAIL, f"The lines are in working memory, but the save: {saved.value}.")
    started = None if saved is Saved.DECLINED else (yield from _started_from_storage())
    if started is None:
        yield Punch(PunchClass.INCOMPLETE, UNPROVEN, GO_ON)
        return Restored(Verdict.NOT_JUDGED, "It was not proven that the values are stored.")
    return (yield from _proven(record, progress, sheet, firmware, seen=started))


def _names(progress: RestoreProgress) -> str:
    return ", ".join(progress.declined)


def _started_from_storage() -> Steps[bool | None]:
    """Have the printer load what it stores: whether that was seen; None when the operator does not want to."""
    how = yield from choose(Choose("restore.proof", "How is it proven that the values are stored?", PROOFS))
    if how == "none":
        return None
    if how == "power":
        title = "Power off and on: does the printer start with the restored values?"
        return (yield from power_cycle("restore.power", title)).power.restart
    return (yield from reload("restore.reload", "to prove that the saved values are there")) or None


def reload(key: str, why: str) -> Steps[bool]:
    """Have the stored settings loaded, under a release; false when it is not given."""
    lines = (f"The printer loads its stored settings {why}.", RELOAD_STORED.caution)
    if not (yield from release(Release(key, "reload the stored settings", lines, frozenset({Effect.ERASE})))):
        return False
    exchange = yield from ask(RELOAD_STORED, TIMEOUT_S, release=key)
    errors = [event.kind for event in storage_events_of(exchange.lines) if event.event == "error"]
    if errors:
        why = ", ".join(map(str, errors))
        said = f"The stored settings could not be loaded ({why}): the defaults are loaded now."
        yield from establish(ReloadFailed(sentences=(said,), errors=tuple(errors)))
    return True


def _proven(
    record: SettingsRecord, progress: RestoreProgress, sheet: Sheet, firmware: str, *, seen: bool
) -> Steps[Restored]:
    """What stands after the printer began anew, or, unseen, what stands now: then nothing is proven from storage."""
    final = yield from read_settings()
    if final.snapshot is None or final.trouble:
        return Restored(Verdict.NOT_JUDGED, f"{final.trouble} Whether the values lasted is not known.")
    lost = [said for line in progress.proven for said in not_taken(line, final.snapshot)]
    comparison = compare(record.snapshot, final.snapshot)
    heading = "As found beside as it is now, from storage" if seen else "As found beside as it is now"
    yield Tell(tuple(side_by_side(comparison)), heading=heading)
    left = plan_restore(record.snapshot, final.snapshot)
    told = READ_FROM_STORAGE if seen else f"{NOT_SEEN}: the settings read now are not proven from storage."
    yield from establish(
        SettingsAfterRestore(
            sentences=(told, *(f"Did not last: {said}" for said in lost)),
            comparison=Compared.of(comparison),
            lost=tuple(lost),
            **final.record(sheet, firmware).values(),
        )
    )
    if lost:
        yield Punch(PunchClass.INCOMPLETE, "Restored settings were not there after the restart.", GO_ON)
        return Restored(Verdict.FAIL, f"{len(lost)} restored values did not last.")
    if not seen:
        yield Punch(PunchClass.INCOMPLETE, UNPROVEN, GO_ON)
        return Restored(Verdict.NOT_JUDGED, f"{NOT_SEEN}: it is not proven that the values are stored.")
    return (yield from _of_the_rest(left))


def _of_the_rest(left: RestorePlan) -> Steps[Restored]:
    open_safe, open_asked = left.of(Decision.SEND), left.of(Decision.ASK)
    if not open_safe and not open_asked:
        return Restored(Verdict.PASS, "Every value that may be put back is as it was found, proven from storage.")
    names = ", ".join(str(item.line) for item in (*open_safe, *open_asked))
    cure = f"Set them by hand at the printer's display, or run `{RESTORE_LINE}` and release them."
    yield Punch(PunchClass.INCOMPLETE, f"Recorded values were not put back: {names}.", cure)
    return Restored(Verdict.CONDITIONAL, f"Proven from storage; left as it is by the operator: {names}.")
