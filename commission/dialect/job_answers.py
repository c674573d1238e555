"""The shapes of what a printer says of its card."""

import re

from commission.dialect.answers import Answer

CARD_AT_WORK = re.compile(r"(?:echo:)?\s*sd printing byte (?P<position>\d{1,12})/(?P<size>\d{1,12})\s*$", re.IGNORECASE)
CARD_IDLE = re.compile(r"(?:echo:)?\s*not sd printing\b", re.IGNORECASE)
CARD_MISSING = re.compile(r"(?:echo:)?\s*(?:no (?:sd card|media)\b|sd init fail)", re.IGNORECASE)

CARD_ANSWER = Answer(
    "card",
    part=re.compile(
        "|".join(f"(?:{shape.pattern})" for shape in (CARD_IDLE, CARD_MISSING)) + r"|(?:echo:)?\s*sd printing byte \d",
        re.IGNORECASE,
    ),
)
