"""The screens of a sound commissioning as they are to be, kept beside the tests.

Write them anew with `python -m tests.cli.golden_screens` after a change that is meant, and read the difference. Each
takes some minutes on a busy machine. The walk is that of `scripts/walk.py`: the day, the order of the prompts, the port
and the person are always the same. What chance decides stands in `stable`, and nowhere else.
"""

import dataclasses
import re
import tempfile
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from scripts.walking.eyes import Size, in_words
from scripts.walking.person import Habit, Person
from scripts.walking.units import order
from scripts.walking.walk import Shot, Walk, walked

FOLDER = Path(__file__).parent / "screens"
COMPLETE = "80x24"
SIZES = ("60x20", COMPLETE, "200x60")
SEED = 21
SHORT_PLAN = (Habit("2. Plan: full: 22 cycles", "change 2"), Habit("Which plan?", "2"))
"""How the short plan is chosen. Its prompts look like those of the full one, and there are 42 fewer."""
KEY_SCREENS = (
    "Name of who does this",
    "Have you looked at each of them",
    "INSERT THE FILAMENT",
    "Start the warm test?",
)
"""Words of the first screen, a sheet, a trial and a release; the last screen is kept too."""
_MEASURED = re.compile(
    r"\b(ms|readings?|times a second|gap|glitch|Watched|trip to the stop|after the trip|heating to|Announced|queued)\b"
)
"""In a line with one of these words the numbers depend by a hair on how bytes and threads fell together."""
_NUMBER = re.compile(r"\d+")
_LEFT = re.compile(r"about \d+ min left")
"""The minutes follow the pace of the trials; where they lie near the middle between two, a hair decides."""
_BENCH_MARK = re.compile(r"(2031-03-14[-/]\d+-)[a-z0-9]{5}\b")


def golden(size: str) -> Path:
    """Where the screens of that size are kept."""
    return FOLDER / f"sound-{size}.txt"


def sound_walk(size: str) -> Walk:
    """The walk through the sound unit in a terminal of that size; only in the usual one with the full plan."""
    ordered = order("sound", Size.of(size), SEED)
    if size != COMPLETE:
        ordered = dataclasses.replace(ordered, person=Person((*SHORT_PLAN, *ordered.person.habits)))
    with tempfile.TemporaryDirectory() as place:
        return walked(ordered, Path(place))


def kept(walk: Walk, size: str) -> str:
    """The screens of a walk that are kept, as one text: all of them, or the key ones."""
    shots = walk.shots if size == COMPLETE else _key_screens(walk.shots)
    return stable("".join(f"{shot}\n" for shot in shots))


def stable(text: str) -> str:
    """The text without what chance decides: a run's bench mark, the numbers of what was measured, and minutes left."""
    lines = _LEFT.sub("about # min left", _BENCH_MARK.sub(r"\1xxxxx", text)).split("\n")
    return "\n".join(_NUMBER.sub("#", line) if _MEASURED.search(line) else line for line in lines)


def _key_screens(shots: Sequence[Shot]) -> list[Shot]:
    said = [in_words(shot.picture.splitlines()) for shot in shots]
    found = [next(place for place, each in enumerate(said) if words in each) for words in KEY_SCREENS]
    return [shots[place] for place in found] + [shots[-1]]


def _write(size: str) -> None:
    golden(size).write_text(kept(sound_walk(size), size), encoding="utf-8")


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    with ThreadPoolExecutor(2) as side_by_side:
        list(side_by_side.map(_write, SIZES))
