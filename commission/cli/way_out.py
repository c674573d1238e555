"""What is said of a run's end: why it was not finished, and what was made safe on the way out."""

from commission.conductor.conductor import Ended
from commission.dialect.commands import Effect
from commission.evidence.runs import WayOut
from commission.jobs.install import JobResult
from commission.vocabulary import Outcome

EFFECTS_SAID = (
    (Effect.SETTING, "changed settings"),
    (Effect.SAVE, "saved them"),
    (Effect.HOST, "wrote to its display or its job timer"),
    (Effect.ERASE, "loaded stored or default settings"),
)


def why_unfinished(ended: Ended[JobResult]) -> str:
    """Why the run did not come to its end, in one sentence; empty when it did."""
    interruption = ended.interruption
    if interruption is None:
        return ""
    kind, detail = interruption.kind.value, interruption.detail
    repeated = detail.startswith(" ".join(kind.split()[:2]))
    parts = (detail,) if repeated else (kind, detail)
    return "Not finished: " + ": ".join(part for part in parts if part).rstrip(".") + "."


def make_safe(ended: Ended[JobResult], effects: frozenset[Effect] = frozenset(), *, has_printer: bool = True) -> WayOut:
    """What was made safe on the way out: nothing, where nothing moves or heats; said, not implied.

    Args:
        ended: how the run came to its end.
        effects: what the commands that were sent did to the machine.
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
        done = [said for effect, said in EFFECTS_SAID if effect in effects]
        did = f"it {' and '.join(done)}, each under a release" if done else "it sent only questions"
        did_not = "moved and heated nothing" if done else "moved, heated, saved and erased nothing"
        sentence = f"Nothing to make safe: this run {did_not}; {did}."
    return WayOut(sentence=sentence)


def still_open(count: int) -> list[str]:
    """How much earlier runs found wrong that nothing cleared, if anything."""
    return [f"Found wrong by earlier runs and not cleared since: {count}."] if count else []
