"""Part of the backup: are the stored values those the printer runs by? A reload tells, and it is not a read."""

from commission.asking.message import Punch, Tell
from commission.asking.phase import Phase, steps_of
from commission.asking.request import Confirm
from commission.asking.steps import Steps, confirm, establish
from commission.command_lines import RESTORE as RESTORE_LINE
from commission.evidence.findings.compared import Compared
from commission.evidence.findings.settings import StoredValues
from commission.procedure.settings.reading import read_settings
from commission.procedure.settings.record import SettingsRecord
from commission.procedure.settings.restore import put_back, reload
from commission.procedure.settings.saving import save
from commission.settings.comparison import compare
from commission.settings.difference import Difference
from commission.settings.plan_items import Decision
from commission.settings.restore_plan import plan_restore
from commission.settings.side_by_side import side_by_side
from commission.vocabulary import PunchClass

STORED_VALUES = Phase("stored_values", "Stored settings beside the working ones", "the stored settings")
EXPLAINED = (
    "The working values are in the book. The stored ones can only be seen by loading them, which replaces the working "
    "ones; if the store is bad, the printer loads its defaults instead.",
    "It is worth it when somebody tuned this printer and may not have saved. What is lost by it is offered back.",
)


def stored_values(record: SettingsRecord) -> Steps[None]:
    """Offer to load the stored values, compare, and offer back what that lost."""
    enough = Confirm("backup.working_enough", "Are the working values enough for the record?", EXPLAINED)
    if (yield from confirm(enough)):
        return
    yield from _loaded(record)


@steps_of(STORED_VALUES)
def _loaded(record: SettingsRecord) -> Steps[None]:
    if (yield from reload("backup.reload", "in place of the working ones, which the book holds")):
        yield from _compared(record)
    else:
        yield Tell(("Nothing was loaded; the stored values are not known.",))


def _compared(record: SettingsRecord) -> Steps[None]:
    read = yield from read_settings()
    if read.snapshot is None:
        said = f"{read.trouble} The stored values are not known."
        yield from establish(StoredValues(sentences=(said,), known=False))
        yield Punch(PunchClass.INCOMPLETE, "After the reload the settings could not be read.", "Power off and on.")
        return
    comparison = compare(record.snapshot, read.snapshot)
    changed = [item for item in comparison.items if item.difference is not Difference.SAME]
    sentence = (
        f"{len(changed)} working values were not the stored ones: they would have been lost at the next power-off."
        if changed
        else "The stored values are the working values."
    )
    yield from establish(StoredValues(sentences=(sentence,), known=True, comparison=Compared.of(comparison)))
    if not changed:
        return
    yield Tell(tuple(side_by_side(comparison)), heading="Working values (before) beside stored values (after)")
    plan = plan_restore(record.snapshot, read.snapshot)
    if not (plan.of(Decision.SEND) or plan.of(Decision.ASK)):
        return
    if (yield from confirm(Confirm("backup.put_back", "Put the working values back that the reload replaced?"))):
        progress = yield from put_back(record, read)
        if not progress.trouble and progress.proven:
            yield from save("backup.save", "the working values, put back just now")
    else:
        yield Punch(
            PunchClass.MINOR, "Working values were replaced by stored ones.", f"Run `{RESTORE_LINE}` to have them back."
        )
