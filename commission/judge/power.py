"""How far a power-off was seen: what was observed becomes one word, here and nowhere else.

For a power-off neither sign is enough alone: opening a port restarts many boards, and a pulled cable takes the port of
a board away that another supply keeps running. For what is stored a restart is enough: a printer that began anew runs
by its memory.
"""

from enum import Enum


class PowerSeen(Enum):
    """What speaks for a power-off beside the operator."""

    POWER_OFF = "power-off seen"
    RESTART = "restart seen"
    WORD = "on the operator's word"

    @property
    def restart(self) -> bool:
        """Whether the printer was seen to begin anew, and so runs by what it stores."""
        return self is not PowerSeen.WORD

    @property
    def sentence(self) -> str:
        """What was seen, for a person."""
        return _SENTENCES[self]


NOT_SEEN = "The printer was not seen to begin anew"
"""The beginning of why something is not proven."""
_SENTENCES = {
    PowerSeen.POWER_OFF: "Seen: the printer began anew, and its port was gone meanwhile.",
    PowerSeen.RESTART: "Seen: the printer began anew. Its port stayed, so this shows no loss of all power.",
    PowerSeen.WORD: (
        "Not seen: the printer was not heard to begin anew, so what it shows now may be what it showed before."
    ),
}


def power_seen(*, restarted: bool, port_gone: bool, count_lost: bool = False) -> PowerSeen:
    """The word for what was observed at a hold point with power off.

    Args:
        restarted: a boot banner was heard.
        port_gone: its port went away while the hold point was open.
        count_lost: its count of lines, which lives in its working memory alone, was lost.
    """
    if not (restarted or count_lost):
        return PowerSeen.WORD
    return PowerSeen.POWER_OFF if port_gone else PowerSeen.RESTART
