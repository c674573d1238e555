"""Phase: another firmware goes on the board, with the settings safe before and looked at after."""

from collections.abc import Mapping
from dataclasses import dataclass

from commission.asking.message import Punch, Tell, Weight
from commission.asking.phase import Phase, Voiding, steps_of
from commission.asking.power import RUNNING, power_cycle
from commission.asking.request import Choose, Confirm, Enter, Hold, Option, Release
from commission.asking.response import HoldReleased, Interrupted, Interruption, InterruptionKind
from commission.asking.steps import Steps, ask, choose, confirm, enter, establish, hold, release
from commission.dialect.commands import IDENTITY, LOAD_DEFAULTS, Effect
from commission.dialect.identity import Identity, identity_of
from commission.dialect.storage import storage_events_of
from commission.evidence.findings.compared import Compared
from commission.evidence.findings.meeting import IdentityAfterReflash, announced_values
from commission.evidence.findings.settings import (
    Afresh,
    MemoryFails,
    NoStorage,
    Reflash,
    ReflashWithoutBackup,
    ReflashWorklist,
    SettingsAfterReflash,
    SettingsLostSightOf,
)
from commission.judge.power import NOT_SEEN
from commission.procedure.meeting.identify import sentences as identity_sentences
from commission.procedure.settings.after_reflash import Aftermath, Fate, aftermath
from commission.procedure.settings.backup import proven
from commission.procedure.settings.firmware_files import firmware_files, listed_conditions
from commission.procedure.settings.reading import TIMEOUT_S, SettingsRead, read_settings
from commission.procedure.settings.record import SettingsRecord, Sheet
from commission.procedure.settings.saving import Saved, save
from commission.settings.comparison import compare
from commission.settings.difference import Difference
from commission.settings.side_by_side import side_by_side
from commission.vocabulary import PunchClass

REFLASH = Phase("reflash", "Reflash: another firmware goes on the board", "the reflash", frozenset({Voiding.FIRMWARE}))
THERMAL = "THERMAL_PROTECTION"
WORKLIST = (
    "the runout input is assigned to the pin the sensor is wired to, and no other function uses that pin",
    "its logic is as the loop check found it right: inverted only where that was the advice, else unchanged",
    "its pull resistor suits the wiring",
    "the features that pause and park are in: a runout that cannot pause the job protects nothing",
    "there is a way to answer `continue`: a display, a button, or a host that is told of the prompt",
    "heating protection of every heater is on, as it was before",
    "settings storage is on, and the machine's own values (bed, drivers, motor directions) are those of the old build",
)
STEPS = (
    "Build the firmware so that all reflash conditions are met.",
    "Put it on the board as the board's maker describes. The port may vanish and come back under another name.",
    f"Let the printer start. {RUNNING}",
)


@dataclass(frozen=True)
class Reflashed:
    """What answers after a reflash.

    Attributes:
        identity: as announced now.
        settings_last: whether the firmware can store settings, as far as known.
        settings_same: whether every recorded value came back with it.
    """

    identity: Identity | None
    settings_last: bool = True
    settings_same: bool = False

    @property
    def firmware(self) -> str:
        """The firmware as announced; empty when it is not."""
        return "" if self.identity is None else self.identity.firmware_name or ""


@steps_of(REFLASH)
def reflash(sheet: Sheet, record: SettingsRecord | None) -> Steps[Reflashed | None]:
    """Hold until the new firmware is on the board, then see what became of the settings.

    Args:
        sheet: the printer and the day.
        record: the settings as found; None when the printer reports none.

    Returns:
        What answers now; None when the hold point was not opened, and nothing was changed.
    """
    before = identity_of((yield from ask(IDENTITY)).lines)
    yield from firmware_files()
    ready = (yield from _worklist()) and (yield from _settings_safe(record))
    if not ready:
        said = "The hold point was not opened: nothing was changed."
        yield from establish(Reflash(sentences=(said,), opened=False))
        return None
    released = yield from hold(
        Hold(
            "reflash.hold", "Reflash", STEPS, "Is the new firmware on the board and running?", power=True, reflash=True
        )
    )
    return (yield from look_after(sheet, record, before, released))


def look_after(
    sheet: Sheet, record: SettingsRecord | None, before: Identity | None, released: HoldReleased
) -> Steps[Reflashed]:
    """Who answers after a reflash, and what became of the settings.

    Raises:
        Interrupted: the operator says that it is another printer; nothing but questions was sent to it.
    """
    identity = yield from _who_now(before, released)
    yield from _still_the_printer(before, identity)
    if record is None:
        return Reflashed(identity)
    return Reflashed(identity, *(yield from _settings_now(sheet, record, identity, released)))


def _worklist() -> Steps[bool]:
    lines = yield from listed_conditions(WORKLIST)
    options = (
        Option("all", "all of them are met"),
        Option("open", "something is open", "it is named and becomes an open item"),
        Option("back", "do not reflash now", "nothing is changed"),
    )
    answer = yield from choose(Choose("reflash.worklist", "Are all reflash conditions met?", options, lines))
    missing = ""
    if answer == "open":
        missing = yield from enter(Enter("reflash.open_point", "Which of them is not met, or not known?"))
        yield Punch(PunchClass.INCOMPLETE, f"Open in the new build: {missing}", "Settle it and reflash.")
    sentence = {
        "all": "All reflash conditions are met.",
        "open": f"Open: {missing}",
        "back": "The reflash was put off.",
    }[answer]
    yield from establish(ReflashWorklist(sentences=(sentence,), answer=answer, items=WORKLIST, missing=missing))
    return answer != "back"


def _settings_safe(record: SettingsRecord | None) -> Steps[bool]:
    """Whether the hold point may open: a whole record is in the book, or the operator goes on without one."""
    if record is not None:
        back = yield from proven(record)
        if back is None or back.gaps.whole:
            return back is not None
    lacks = ("There is no settings record of this printer, and what is not written down is lost.",)
    lines = (
        *(lacks if record is None else ("The settings record is not whole.", *record.gaps.sentences)),
        "Write down what its display shows, or copy its settings file, before you say yes.",
    )
    question = f"Reflash without a {'' if record is None else 'whole '}settings record?"
    without = Confirm("reflash.without_backup", question, lines, weight=Weight.DANGER)
    agreed = yield from confirm(without)
    said = "The operator goes on without a settings record." if agreed else "Not without a settings record."
    yield from establish(ReflashWithoutBackup(sentences=(said,), agreed=agreed))
    return agreed


def _who_now(before: Identity | None, released: HoldReleased) -> Steps[Identity | None]:
    identity = identity_of((yield from ask(IDENTITY)).lines)
    said = [f"The printer is back at {released.port}."] if released.port else []
    said += ["It says nothing of its firmware."] if identity is None else identity_sentences(identity)
    said += ["It announces itself exactly as before: make sure that it is the new build."] if identity == before else []
    port, heard = released.port, released.heard
    known = announced_values(Identity() if identity is None else identity)
    yield from establish(IdentityAfterReflash(sentences=tuple(said), port=port, heard=heard, **known))
    was, now = _capabilities(before).get(THERMAL), _capabilities(identity).get(THERMAL)
    if now is False:
        yield Punch(
            PunchClass.UNSAFE,
            "The new firmware announces that it has no heating protection.",
            "Do not heat. Build it with heating protection of every heater and reflash.",
        )
    elif was and now is None:
        yield Punch(
            PunchClass.INCOMPLETE,
            "The old firmware announced heating protection, the new one says nothing of it.",
            "Look into the new build's configuration before heating.",
        )
    return identity


def _still_the_printer(before: Identity | None, now: Identity | None) -> Steps[None]:
    """A new build may announce itself otherwise, and so may another printer: somebody looks before it is written."""
    if before is None or now is None:
        return
    said = []
    if before.uuid != now.uuid and not (before.common_uuid or now.common_uuid) and before.uuid and now.uuid:
        said.append("It announces another unique number than before the reflash.")
    if before.machine and now.machine and before.machine != now.machine:
        said.append(f"It announces itself as {now.machine}; before the reflash it was {before.machine}.")
    if not said:
        return
    lines = (*said, "A new build can do that, and so does another printer on this port. Nothing was sent to it yet.")
    question = "Is the printer in front of you the one that was reflashed?"
    if not (yield from confirm(Confirm("reflash.same", question, lines, weight=Weight.DANGER))):
        detail = "After the reflash another printer answered. Nothing but questions was sent to it."
        raise Interrupted(Interruption(InterruptionKind.OTHER_PRINTER, detail))


def _capabilities(identity: Identity | None) -> Mapping[str, bool]:
    return {} if identity is None else identity.capabilities


def _settings_now(
    sheet: Sheet, record: SettingsRecord, identity: Identity | None, released: HoldReleased
) -> Steps[tuple[bool, bool]]:
    """Whether the firmware can store settings, begun afresh if need be, and whether every recorded value came back."""
    read = yield from read_settings()
    if read.snapshot is None or read.trouble:
        yield from establish(SettingsLostSightOf(sentences=(read.trouble,), lines=read.lines))
        yield Punch(
            PunchClass.INCOMPLETE,
            "The new firmware does not report its settings: nothing can be put back and proven.",
            "Build it with the settings report on, or enter the values of the record by hand.",
        )
        return False, False
    comparison = compare(record.snapshot, read.snapshot)
    judged = aftermath(storage_events_of(released.heard), comparison)
    yield Tell(tuple(side_by_side(comparison)), heading="Settings before and after the reflash", weight=Weight.STEP)
    firmware = "" if identity is None else identity.firmware_name or ""
    yield from establish(
        SettingsAfterReflash(
            sentences=judged.sentences,
            fate=judged.fate.value,
            errors=judged.errors,
            comparison=Compared.of(comparison),
            **read.record(sheet, firmware).values(),
        )
    )
    if judged.fate is Fate.SURVIVED:
        return True, all(item.difference in (Difference.SAME, Difference.ONLY_AFTER) for item in comparison.items)
    return (yield from _afresh(judged)), False


def _afresh(judged: Aftermath) -> Steps[bool]:
    """Defaults, save, power cycle, check: a store of another build must not come back to life later."""
    if judged.storage_disabled:
        yield from _no_storage()
        return False
    lines = (
        "Before anything is put back, the new firmware begins with its own defaults: load, save, power off, check.",
        "Otherwise what is left of the old layout can be read as settings at a later start.",
    )
    if not (yield from confirm(Confirm("reflash.afresh", "Begin afresh with the new firmware's defaults?", lines))):
        yield from _begun("The new firmware was not begun afresh.", done=False)
        return True
    loading = ("The working values become the firmware's defaults. The record has the old ones.", LOAD_DEFAULTS.caution)
    key = "reflash.defaults"
    if not (yield from release(Release(key, "load the new firmware's defaults", loading, frozenset({Effect.ERASE})))):
        yield from _begun("The defaults were not loaded: not released.", done=False)
        return True
    yield from ask(LOAD_DEFAULTS, TIMEOUT_S, release=key)
    defaults = yield from read_settings()
    saved = yield from save("reflash.save", "the new firmware's own defaults")
    if saved is Saved.DISABLED:
        yield from _no_storage()
        return False
    if not saved.may_hold:
        yield from _memory_fails(saved.value)
        return saved is Saved.DECLINED
    returned = yield from power_cycle("reflash.power", "Power off and on: does the new memory hold?")
    return (yield from _checked(defaults, returned))


def _checked(defaults: SettingsRead, returned: HoldReleased) -> Steps[bool]:
    errors = [event.kind for event in storage_events_of(returned.heard) if event.event == "error"]
    again = yield from read_settings()
    if defaults.snapshot is None or again.snapshot is None:
        yield from _begun("Whether the memory holds is not known: no report could be read.", done=False)
        return True
    differs = [item for item in compare(defaults.snapshot, again.snapshot).items if item.before != item.after]
    if errors or differs:
        yield from _memory_fails(f"errors {errors or 'none'}, {len(differs)} values differ after the power cycle")
        return False
    if not returned.power.restart:
        yield from _begun(f"{NOT_SEEN}: whether the new firmware's memory holds is not proven.", done=False)
        return True
    yield from _begun("The new firmware's memory holds: its defaults came back after a power-off.", done=True)
    return True


def _begun(said: str, *, done: bool) -> Steps[None]:
    yield from establish(Afresh(sentences=(said,), done=done))


def _no_storage() -> Steps[None]:
    said = "This firmware stores no settings: whatever is set is lost with the power."
    yield from establish(NoStorage(sentences=(said,)))
    yield Punch(
        PunchClass.INCOMPLETE,
        "The new firmware has no settings storage: nothing that is put back would last.",
        "Build it with settings storage, or put the values of the record into the build itself; then reflash.",
    )


def _memory_fails(why: str) -> Steps[None]:
    said = f"The settings memory of the new firmware is not to be relied on: {why}."
    yield from establish(MemoryFails(sentences=(said,)))
    yield Punch(PunchClass.INCOMPLETE, "The settings memory does not hold.", "Check its size and kind in the build.")
