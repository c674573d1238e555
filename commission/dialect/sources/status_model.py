"""The printer's model of itself: one line of JSON that answers for one branch of it.

A monitor's status is `ok` while watching is off, whatever the switch does, and on the moving kinds `ok` only means
that movement was sound. So presence is taken from the member that names it wherever it stands; without it, from the
status of a simple monitor that is heeded; otherwise it is unknown.
"""

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass

from commission.dialect.sanitise import clean_bytes
from commission.dialect.sources.report import SourceKind, SourceReport, told
from commission.vocabulary import Level, Presence, Reading

MONITORS_KEY = "sensors.filamentMonitors"
_INPUT_KEY = re.compile(r"sensors\.(?P<name>gpIn\[\d{1,3}\])$")
_LONGEST_LIST = 255
"""More drives than that no printer has; a larger index is a damaged line."""
_MOVING = frozenset({"rotatingMagnet", "laser", "pulsed"})
_FROM = re.compile(r"a(?P<index>\d{1,3})")
# Status words that are no presence and no trouble, and those that are trouble.
_SOUND = frozenset({"ok", "noFilament"})
_TROUBLE = frozenset({"noMonitor", "noDataReceived", "tooLittleMovement", "tooMuchMovement", "sensorError"})


@dataclass(frozen=True)
class ModelAnswer:
    """An answer for one branch of the model.

    Attributes:
        key: the branch.
        result: what stands there; None for a branch that is not there.
        first_index: where in a long list the result begins, by the flags said back; from memory.
        next_index: from where the rest of a long list must be asked for; 0 when this is all.
        failed: the answer was too large, or the question was not understood.
    """

    key: str = ""
    result: object = None
    first_index: int = 0
    next_index: int = 0
    failed: bool = False


def model_answer_in(text: str) -> ModelAnswer | None:
    """The answer one line is, or None."""
    plain = _object(text)
    if plain is None:
        return None
    if "err" in plain and "key" not in plain:
        return ModelAnswer(failed=True)
    key, following = plain.get("key"), plain.get("next", 0)
    if not isinstance(key, str) or "result" not in plain:
        return None
    index = following if isinstance(following, int) and 0 < following <= _LONGEST_LIST else 0
    flags = plain.get("flags")
    begins = _FROM.search(flags) if isinstance(flags, str) else None
    return ModelAnswer(_printable(key), plain["result"], int(begins["index"]) if begins else 0, index)


def status_letter_in(text: str) -> str | None:
    """The letter by which the older status answer tells what the printer is doing, or None."""
    plain = _object(text)
    letter = None if plain is None or "heaters" not in plain else plain.get("status")
    return letter if isinstance(letter, str) and re.fullmatch(r"[A-Z]", letter) else None


def model_reports_in(text: str) -> tuple[SourceReport, ...]:
    """The sources that one line of the model reports, in its order; none when it is another kind of line."""
    answer = model_answer_in(text)
    if answer is None:
        return ()
    if answer.failed:
        return (SourceReport(SourceKind.MONITOR_STATUS, "", error="the answer was too large"),)
    if answer.key == MONITORS_KEY:
        return _monitors(answer.result, answer.first_index)
    found = _INPUT_KEY.match(answer.key)
    return () if found is None else (_spare_input(found["name"], answer.result),)


def moving_monitors_in(text: str) -> tuple[int, ...]:
    """The drives whose monitors, by one line of the model, sense movement and not presence."""
    answer = model_answer_in(text)
    if answer is None or answer.key != MONITORS_KEY or not isinstance(answer.result, list):
        return ()
    numbered = enumerate(answer.result, answer.first_index)
    return tuple(number for number, each in numbered if isinstance(each, dict) and each.get("type") in _MOVING)


def input_level_in(text: str) -> tuple[str, Level | None] | None:
    """Name and level of the spare input that one line of the model reports, or None."""
    answer = model_answer_in(text)
    found = None if answer is None else _INPUT_KEY.match(answer.key)
    return None if answer is None or found is None else (found["name"], _level(answer.result))


def _object(text: str) -> Mapping[str, object] | None:
    if not text.lstrip().startswith("{"):
        return None
    try:
        plain = json.loads(text)
    except (ValueError, RecursionError):
        return None
    return plain if isinstance(plain, dict) else None


def _monitors(result: object, first_index: int) -> tuple[SourceReport, ...]:
    if not isinstance(result, list):
        return (SourceReport(SourceKind.MONITOR_STATUS, "", error="there is no such branch"),)
    numbered = enumerate(result, first_index)
    return tuple(_monitor(f"extruder {index}", each) for index, each in numbered if isinstance(each, dict))


def _monitor(name: str, members: Mapping[str, object]) -> SourceReport:
    status = members.get("status")
    enabled = _enabled(members)
    presence = _presence(members, status, enabled=enabled)
    error = status if isinstance(status, str) and status in _TROUBLE else None
    if isinstance(status, str) and status not in _SOUND | _TROUBLE:
        error = f"status {_printable(status)!r}"
    word = "" if presence is None else str(members.get("filamentPresent", status))
    return told(SourceKind.MONITOR_STATUS, name, presence, word, enabled=enabled, error=error)


def _enabled(members: Mapping[str, object]) -> bool | None:
    """Whether the monitor is heeded, in either wording; None where neither stands there."""
    plain, mode = members.get("enabled"), members.get("enableMode")
    if isinstance(plain, bool):
        return plain
    return mode != 0 if isinstance(mode, int) and not isinstance(mode, bool) and mode in (0, 1, 2) else None


def _presence(members: Mapping[str, object], status: object, *, enabled: bool | None) -> Presence | None:
    stated = members.get("filamentPresent")
    if isinstance(stated, bool):
        return Presence.IN if stated else Presence.OUT
    if status == "noFilament":
        return Presence.OUT
    heeded_switch = members.get("type") == "simple" and enabled is True
    return Presence.IN if status == "ok" and heeded_switch else None


def _spare_input(name: str, result: object) -> SourceReport:
    level = _level(result)
    if level is None:
        return SourceReport(SourceKind.PIN, name, error="there is no such input")
    reading = Reading.ACTIVE if level is Level.HIGH else Reading.INACTIVE
    return SourceReport(SourceKind.PIN, name, reading, str(int(level is Level.HIGH)))


def _level(result: object) -> Level | None:
    value = result.get("value") if isinstance(result, dict) else None
    return {0: Level.LOW, 1: Level.HIGH}.get(value) if isinstance(value, int) else None


def _printable(text: str) -> str:
    return clean_bytes(text.encode("ascii", "backslashreplace"))
