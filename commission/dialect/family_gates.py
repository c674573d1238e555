"""The gates in front of a pause on families B to E, as far as a reply says anything of them.

The keys are the gates' own. A gate that no reply tells of is listed too, with the reason: it is unknown until a person
answers or a test shows it, and unknown is never open.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from commission.dialect.family import Family, Identified
from commission.dialect.family_events import family_event
from commission.dialect.framing import RawLine
from commission.dialect.replies import ReplyKind, classify
from commission.dialect.sources.monitors import NOT_FITTED, Watching, monitor_in
from commission.dialect.sources.reader import sources_of
from commission.dialect.sources.report import SourceKind
from commission.dialect.sources.status_model import MONITORS_KEY, model_answer_in
from commission.dialect.states import state_of

_MONITORS = (SourceKind.MONITOR, SourceKind.MONITOR_STATUS)
_Read = Callable[[Sequence[str]], bool | None]


@dataclass(frozen=True)
class FamilyGate:
    """One gate on one family.

    Attributes:
        key: the gate, by the key that all families share.
        how: how it is known, or why no reply tells of it, in one sentence.
        read: what lines of the printer say of it: open, shut, or None for not told.
    """

    key: str
    how: str
    read: _Read


def _not_told(_: Sequence[str]) -> bool | None:
    return None


def _monitor_fitted(lines: Sequence[str]) -> bool | None:
    """A monitor that describes itself, or has a status, is there; one called absent, or an empty list, is not."""
    reports = [each for each in sources_of(lines) if each.kind in _MONITORS]
    if any(each.enabled is not None for each in reports):
        return True
    listed = [answer.result for line in lines if (answer := model_answer_in(line)) and answer.key == MONITORS_KEY]
    none_there = any(isinstance(each, list) and not any(each) for each in listed)
    return False if none_there or any((each.error or "").startswith(NOT_FITTED) for each in reports) else None


def _enabled(*kinds: SourceKind) -> _Read:
    def read(lines: Sequence[str]) -> bool | None:
        stated = [each.enabled for each in sources_of(lines) if each.kind in kinds and each.enabled is not None]
        return stated[-1] if stated else None

    return read


def _every_job(lines: Sequence[str]) -> bool | None:
    """A monitor that is set to every job needs no card; one set to card jobs shuts this for a job from a host."""
    states = [monitor.watching for line in lines if (monitor := monitor_in(line))]
    return {Watching.ALWAYS: True, Watching.CARD_JOBS: False}.get(states[-1]) if states else None


def _sensor_known(lines: Sequence[str]) -> bool | None:
    reports = [each for each in sources_of(lines) if each.kind is SourceKind.NAMED_SENSOR]
    if any(each.presence is not None for each in reports):
        return True
    refused = any(
        reply.kind is ReplyKind.UNKNOWN_COMMAND and (reply.command or "").startswith("QUERY_FILAMENT_SENSOR")
        for reply in (classify(RawLine.of(line)) for line in lines)
    )
    return False if refused else None


def _serves(lines: Sequence[str]) -> bool | None:
    found = state_of(lines)
    return None if found is None else found.state.serves


def _jam_watching(lines: Sequence[str]) -> bool | None:
    events = [event for line in lines if (event := family_event(line)) and event.event == "watching"]
    return bool(events[-1].details["enabled"]) if events else None


def _counter_answers(lines: Sequence[str]) -> bool | None:
    return True if any(each.kind is SourceKind.PULSE_COUNTER and not each.error for each in sources_of(lines)) else None


GATES: Mapping[Family, tuple[FamilyGate, ...]] = MappingProxyType(
    {
        Family.B: (
            FamilyGate("support", "The drive's monitor describes itself, or is said not to be there.", _monitor_fitted),
            FamilyGate(
                "watching",
                "The monitor's own sentence, and its status, say whether it is heeded.",
                _enabled(*_MONITORS),
            ),
            FamilyGate("after_power", "What the start-up file sets; seen only after a restart.", _not_told),
            FamilyGate(
                "not_host_alone",
                "A user's file for the event may do anything, or nothing: only a pause shows it.",
                _not_told,
            ),
            FamilyGate(
                "job",
                "Newer monitors say whether they are heeded in every job; older ones are heeded in card jobs alone.",
                _every_job,
            ),
        ),
        Family.C: (
            FamilyGate("serves", "The host computer says whether it is ready.", _serves),
            FamilyGate(
                "support", "A sensor answers by its name; the question is unknown where none is set up.", _sensor_known
            ),
            FamilyGate(
                "watching",
                "Only forks with a dictionary in their answer say it; others do not tell.",
                _enabled(SourceKind.NAMED_SENSOR),
            ),
            FamilyGate("after_power", "Runout detection that was switched off is on again after a restart.", _not_told),
            FamilyGate(
                "not_host_alone",
                "Whether the sensor's settings pause at all stands in a file, not on the console.",
                _not_told,
            ),
            FamilyGate("job", "It acts only while a job runs, and not in its first two seconds.", _not_told),
        ),
        Family.D: (
            FamilyGate("support", "Nothing on the console tells of the sensor.", _not_told),
            FamilyGate("watching", "It says so when jam control is switched, and cannot be asked.", _jam_watching),
            FamilyGate("job", "A job from the host is paused by the host, if that heeds the request.", _not_told),
        ),
        Family.E: (
            FamilyGate("support", "The pulse counter answers; a plain switch is not told of.", _counter_answers),
            FamilyGate("watching", "The counter says that it is watched.", _enabled(SourceKind.PULSE_COUNTER)),
        ),
    }
)
"""Family A is not here: its gates are read by the procedure that has been built for it."""


def gates_told(printer: Identified, lines: Iterable[str]) -> dict[str, bool | None]:
    """What these lines of a printer say of each of its family's gates: open, shut, or None for not told."""
    said = list(lines)
    return {gate.key: gate.read(said) for gate in GATES.get(printer.family, ())}
