"""Drives the conversation over a link with deadlines."""

from commission.session.connect import connect
from commission.session.exchange import ConversationBroken, End, Exchange, SpeedNotFound, Traffic
from commission.session.talk import Session

__all__ = ["ConversationBroken", "End", "Exchange", "Session", "SpeedNotFound", "Traffic", "connect"]
