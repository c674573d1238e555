"""Raw readings as the procedures take them: with their moments, the unread among them, and as many as a watch needs.

A watch goes on until so long was watched and so often read, at most twice its length, as the conductor has it go on.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise

from commission.asking.request import Watch
from commission.asking.response import TimedReading, TrialTaken, WatchTaken
from commission.judge.exposure import LONGEST, Exposure, reached
from commission.vocabulary import Reading, Spoken
from scripts.commissioning.hands import Followed, Look
from scripts.commissioning.person import Heard
from scripts.commissioning.plant import RAW_PER_S, beats

WORDS = {True: (Reading.ACTIVE, "1"), False: (Reading.INACTIVE, "0"), None: (Reading.UNKNOWN, "")}


def timed(moments_s: tuple[float, ...], found: Heard) -> tuple[TimedReading, ...]:
    """Raw readings as the procedures take them, at the first of these moments; each is made once."""
    steady = _steady(moments_s)
    if len(set(found)) == 1:
        return steady[found[0]][: len(found)]
    return tuple([steady[says][at] for at, says in enumerate(found)])


@lru_cache(maxsize=256)
def _steady(moments_s: tuple[float, ...]) -> Mapping[bool | None, tuple[TimedReading, ...]]:
    """All in, all out, and all unread."""
    return {
        says: tuple(TimedReading(at_s, reading, word) for at_s in moments_s) for says, (reading, word) in WORDS.items()
    }


def trial_of(followed: Followed) -> TrialTaken:
    """What came of a prompt, as a trial."""
    before = timed(followed.before_s, followed.before)
    if followed.waited:
        return TrialTaken(before, (), void_reason="asked to wait", spoken=Spoken.BEFORE)
    taken = TrialTaken(before, timed(followed.dwell_s, followed.dwell), followed.dwell.count(None))
    if followed.void_s is None:
        return taken
    early = followed.void_s < followed.dwell_s[0]
    return replace(taken, void_reason="it slipped", spoken=Spoken.BEFORE if early else Spoken.LATER)


def look_of(request: Watch) -> Look:
    """The readings that a watch takes, from the end of its countdown on."""
    beat_s = max(request.interval_s, 1 / RAW_PER_S)
    needed = math.ceil(request.seconds / beat_s) + 1  # the last one when the time is up
    longest = math.ceil(LONGEST * request.seconds / beat_s) + 1
    moments_s = beats(longest, beat_s)
    return Look(moments_s, min(longest, max(request.readings, needed)), _enough(request, moments_s))


def watch_of(look: Look, found: Heard) -> WatchTaken:
    """What came of a watch."""
    readings = timed(look.moments_s, found)
    known_s = [reading.at_s for reading in readings if reading.reading is not Reading.UNKNOWN]
    gap_s = max((after - before for before, after in pairwise(known_s)), default=0.0)
    return WatchTaken(readings, readings[-1].at_s, gap_s, len(readings) - len(known_s))


def _enough(request: Watch, moments_s: tuple[float, ...]) -> Callable[[Heard], bool]:
    """Whether a watch is over; it is asked once the least readings are there, and again at each one after them."""
    made, seen, taken = _steady(moments_s), Exposure(), 0

    def over(found: Heard) -> bool:
        nonlocal taken
        if None not in found:
            return True  # the least readings reach as far as the watch is long
        for at in range(taken, len(found)):
            seen.add(made[found[at]][at])
        taken = len(found)
        return reached(seen.seconds, request.seconds) and seen.known >= request.readings

    return over
