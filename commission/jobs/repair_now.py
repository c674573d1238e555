"""What the loop check advised, done at once: asked at the end of a run, carried out at the beginning of the next."""

from collections.abc import Sequence

from commission.asking import power
from commission.asking.message import Tell
from commission.asking.phase import Phase, carried_out
from commission.asking.request import Choose, Hold, Option
from commission.asking.response import HoldReleased
from commission.asking.steps import Steps, choose, establish, hold
from commission.dialect.identity import Identity
from commission.evidence.findings.meeting import Repair
from commission.jobs.settings_share import keep_settings, restored
from commission.judge.advice import Advice
from commission.procedure.loop.loop_check import LoopChecked
from commission.procedure.loop.repair_steps import REFLASHING, REPAIRS
from commission.procedure.meeting.background import Background
from commission.procedure.meeting.identify import identify
from commission.procedure.meeting.identity import same_printer
from commission.procedure.settings.as_text import keeps_a_file
from commission.procedure.settings.record import SettingsRecord, Sheet
from commission.procedure.settings.reflash import look_after

IN_ITS_FILE = (
    "Nothing is reflashed for it: turn the sensor's input in the printer's own configuration file.",
    "Keep a copy of the file first. Restart the printer yourself, then run this again as a new run.",
)
REPAIR = Phase("repair", "Repair", "the repair")


def repaired(repair: Advice, sheet: Sheet, background: Background) -> Steps[None]:
    """What the run before this one advised, at its hold point; the settings are kept first where it is a reflash."""
    title, hold_points = REPAIRS[repair]
    identity, record = None, None
    if repair in REFLASHING:
        identity = yield from identify()
        yield from same_printer(background.surroundings, identity)
        record = yield from keep_settings(sheet, identity, None)
    yield from carried_out(REPAIR.titled(title), _repaired(repair, hold_points, sheet, record, identity))


def _repaired(
    repair: Advice, hold_points: Sequence[Hold], sheet: Sheet, record: SettingsRecord | None, identity: Identity | None
) -> Steps[None]:
    released = HoldReleased()
    for hold_point in hold_points:
        released = yield from (hold(hold_point) if hold_point.reflash else power.by_itself(hold_point))
    yield from establish(Repair(sentences=(f"Repaired before this run: {repair.value}.",), repair=repair))
    if record is not None:
        reflashed = yield from look_after(sheet, record, identity, released)
        yield from restored(sheet, record, reflashed)


def offered_repair(checked: LoopChecked, identity: Identity | None) -> Steps[Advice]:
    """The advice, where the person wants to follow it now; none where it is left for later, or nothing is advised."""
    if checked.advice not in REPAIRS:
        return Advice.NONE
    if checked.advice in REFLASHING and keeps_a_file(identity) is not None:
        yield Tell(IN_ITS_FILE, heading="On this printer the logic stands in a file")
        return Advice.NONE
    options = (
        Option(
            "now", "do it now", "this run ends here as it is; after the hold point the check starts again as a new run"
        ),
        Option("later", "do it later", "this run ends here; start it again when it is done"),
    )
    answer = yield from choose(Choose("walk.repair", f"The advice is: {checked.advice.value}. When?", options))
    return checked.advice if answer == "now" else Advice.NONE
