"""The shapes of answers to questions about sources, by which the conversation knows where each ends.

A line of a *part* is closed by the acknowledgement behind it; a *whole* says everything by itself, and is used only
where a family may acknowledge first. An answer of a *single* line is complete with it where nothing acknowledges.
"""

import re

from commission.dialect.answers import Answer


def _shape(*forms: str) -> re.Pattern[str]:
    return re.compile("|".join(f"(?:{form})" for form in forms), re.IGNORECASE)


MONITOR_ANSWER = Answer(
    "monitor",
    part=_shape(
        r"[^,]{0,100}?\b(?:sensor|monitor)\b[^,]{0,30}? on (?:pin|endstop|input) ",
        r"extruder (?:drive )?\d{1,3} has no ",
    ),
    single=True,
)

TOOL_MONITOR_ANSWER = Answer("tool_monitor", part=_shape(r"(?:echo:)?\s*filament runout (?:on|off)\b"), single=True)

MODEL_ANSWER = Answer("model", part=_shape(r'\s*\{\s*"(?:key|err|flags|result|next)"'), single=True)

STATUS_ANSWER = Answer("status", part=_shape(r'\s*\{\s*"status"'), single=True)

NAMED_SENSOR_ANSWER = Answer(
    "named_sensor", part=_shape(r".{0,120}\bfilament (?:is )?(?:not )?detected\b", r"(?://\s*)?\{'")
)

BUTTON_ANSWER = Answer("button", part=re.compile(r"(?://\s*)?\w[\w .-]{0,60}: (?:PRESSED|RELEASED)\s*$"))

# A host that serves says so and is done. One that does not gives its reasons and closes them with a fault line, which
# ends an answer by itself; an acknowledgement between them belongs to another command and must not cut them short.
HOST_STATE_ANSWER = Answer("host_state", whole=_shape(r"(?://\s*)?.{1,60} state: ready\s*$"), takes_any_text=True)

PULSE_COUNTER_ANSWER = Answer(
    "pulse_counter", part=_shape(r"extruder moved:", r"encoder pulses:", r"filament detector (?:is|triggered)\b")
)

ONE_PIN_ANSWER = Answer("one_pin", whole=_shape(r"\s*(?:pin *)?to \d{1,3} is [01]\s*$"))

SUSPENDED_ANSWER = Answer("suspended", whole=_shape(r"//\s*print suspended\b"), takes_any_text=True)
