"""How far a power-off was seen: what was observed becomes one word, here and nowhere else.

Neither sign is enough alone: opening a port restarts many boards, and a pulled cable takes the port of a board away
that another supply keeps running.
"""

from enum import Enum


class PowerSeen(Enum):
    """What speaks for a power-off beside the operator."""

    POWER_OFF = "power-off seen"
    RESTART = "restart seen"
    WORD = "on the operator's word"


def power_seen(*, restarted: bool, port_gone: bool) -> PowerSeen:
    """The word for what was observed at a hold point with power off.

    Args:
        restarted: the printer was seen to have begun anew: a boot banner was heard.
        port_gone: its port went away while the hold point was open.
    """
    if not restarted:
        return PowerSeen.WORD
    return PowerSeen.POWER_OFF if port_gone else PowerSeen.RESTART
