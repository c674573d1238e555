"""What is said of a run's end: why it was not finished, and what was made safe on the way out."""

from commission.conductor.conductor import Ended
from commission.dialect.commands import Effect
from commission.evidence.findings.settings import SettingsSaved
from commission.evidence.runs import WayOut
from commission.jobs.install import JobResult
from commission.procedure.settings.saving import Saved
from commission.vocabulary import Outcome

EFFECTS_SAID = (
    (Effect.SETTING, "changed settings"),
    (Effect.SAVE, ""),
    (Effect.HOST, "wrote to its display or its job timer"),
    (Effect.ERASE, "loaded stored or default settings"),
)
SAVES_SAID = {
    Saved.STORED.value: "saved the settings",
    Saved.UNSAID.value: "sent a save that the printer did not confirm",
    Saved.FAILED.value: "sent a save that failed",
    Saved.DISABLED.value: "sent a save that this firmware cannot carry out",
}
"""By what came of the save; of one that was broken off nothing is known."""
NOT_REACHED = "No report: the printer was not reached, and the record holds that."


def still_open(count: int) -> list[str]:
    """What earlier runs found wrong, in a sentence; nothing where all is cleared."""
    return [f"Found wrong by earlier runs and not cleared since: {count}."] if count else []


def why_unfinished(ended: Ended[JobResult]) -> str:
    """Why the run did not come to its end, in one sentence; empty when it did."""
    interruption = ended.interruption
    if interruption is None:
        return ""
    kind, detail = interruption.kind.value, interruption.detail
    repeated = detail.startswith(" ".join(kind.split()[:2]))
    parts = (detail,) if repeated else (kind, detail)
    return "Not finished: " + ": ".join(part for part in parts if part).rstrip(".") + "."


def make_safe(
    ended: Ended[JobResult],
    effects: frozenset[Effect] = frozenset(),
    saved: SettingsSaved | None = None,
    *,
    has_printer: bool = True,
) -> WayOut:
    """What was made safe on the way out: nothing, where nothing moves or heats; said, not implied.

    Args:
        ended: how the run came to its end.
        effects: what the commands that were sent did to the machine.
        saved: what came of the last save; None where none is on record.
        has_printer: whether the run had a line to a printer at all.
    """
    if ended.made_safe.needed:
        return ended.made_safe.on_record()
    if not has_printer:
        sentence = "Nothing to make safe: this run had no printer, and nothing was sent."
    elif ended.outcome in (Outcome.NOT_CONNECTED, Outcome.LINK_LOST):
        sentence = (
            "There is no link to the printer, so it could not be asked. This run switched nothing on; what was hot or "
            "moving before may still be: look at the printer, and use its power switch if in doubt."
        )
    else:
        save = SAVES_SAID.get("" if saved is None else saved.saved, "sent a save of which nothing is known")
        done = [said or save for effect, said in EFFECTS_SAID if effect in effects]
        did = f"it {' and '.join(done)}, each under a release" if done else "it sent only questions"
        did_not = "moved and heated nothing" if done else "moved, heated, saved and erased nothing"
        sentence = f"Nothing to make safe: this run {did_not}; {did}."
    return WayOut(sentence=sentence)
