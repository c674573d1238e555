"""Saves the working values under a release of its own, and judges the save by what follows it."""

from enum import Enum

from commission.dialect.commands import SAVE_STORED, Effect
from commission.dialect.storage import StorageEvent, storage_events_of, was_saved
from commission.evidence.findings.settings import SettingsSaved
from commission.procedure.request import Release
from commission.procedure.steps import Steps, ask, establish, release

TIMEOUT_S = 10.0


class Saved(Enum):
    """What came of a save."""

    STORED = "stored"
    UNSAID = "not stated"
    FAILED = "failed"
    DISABLED = "this firmware has no settings storage"
    DECLINED = "not released"

    @property
    def may_hold(self) -> bool:
        """Whether it is worth proving."""
        return self in (Saved.STORED, Saved.UNSAID)


def save(key: str, what: str) -> Steps[Saved]:
    """Save once; never in a loop, because the memory wears out.

    Args:
        key: names the release.
        what: what is saved, to end the sentence `This stores ...`.
    """
    granted = yield from release(
        Release(
            key,
            "save the settings in the printer's memory",
            (f"This stores {what}, in place of what was stored before. It is done once.",),
            frozenset({Effect.SAVE}),
        )
    )
    if not granted:
        said = "Nothing was saved: it was not released."
        yield from establish(SettingsSaved(sentences=(said,), saved=Saved.DECLINED.value))
        return Saved.DECLINED
    exchange = yield from ask(SAVE_STORED, TIMEOUT_S, release=key)
    events = storage_events_of(exchange.lines)
    saved = outcome(events)
    sentence = {
        Saved.STORED: "The printer says that the settings are stored, and no error followed.",
        Saved.UNSAID: "The printer acknowledged the save and said nothing of it: only a restart will show.",
        Saved.DISABLED: "The settings cannot be stored: this firmware was built without settings storage.",
        Saved.FAILED: "The save failed: an error stands behind it, whatever was said before.",
    }[saved]
    yield from establish(SettingsSaved(sentences=(sentence,), saved=saved.value, said=exchange.lines))
    return saved


def outcome(events: tuple[StorageEvent, ...]) -> Saved:
    """What these messages make of a save; `stored` with an error behind it is a failure."""
    if any(event.kind == "disabled" for event in events):
        return Saved.DISABLED
    if any(event.event == "error" for event in events):
        return Saved.FAILED
    return Saved.STORED if was_saved(events) else Saved.UNSAID
