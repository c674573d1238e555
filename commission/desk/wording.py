"""What each request reads like, as plain lines: the one place where the words of the desk are chosen.

The plain desk and the scripted desk print these lines as they are; the terminal desk frames some of them. Every text
that goes in comes out as printable characters only, so that no reply of a printer can move a cursor or fake a line.
"""

import math
from collections.abc import Sequence

from commission.asking.message import Establish, Punch, Tell, Weight
from commission.asking.request import Choose, Confirm, Enter, EntryKind, Hold, TakeTrial, Watch
from commission.asking.response import TimedReading, TrialTaken, WatchTaken
from commission.desk.base import Status
from commission.dialect.sanitise import clean_text
from commission.judge.exposure import LONGEST, exposure_s
from commission.judge.stability import unwanted_changes
from commission.units import seconds
from commission.vocabulary import Instruction, Presence, Reading

KEYS_LINE = "v: it was spoilt   n: did it, nothing changed   p: wait for me   q: stop"
HIDDEN = "The reading is shown after the dwell."
"""From the prompt to the end of the dwell nobody sees what is read, so that nobody can wish it away."""
WATCH_KEYS_LINE = "q: stop"
"""A watch is neither marked nor held up."""

# A note and a step need no mark of their own: they are what the operator reads all the time.
_MARKS = {
    Weight.NOTE: "",
    Weight.STEP: "",
    Weight.FINDING: "Finding",
    Weight.CAUTION: "CAUTION",
    Weight.DANGER: "DANGER",
}

HOLD_POINT = "HOLD POINT"
USUAL = " (Enter)"
MOST_LISTED = 6
_ORDERS = {
    Instruction.INSERT: ("INSERT", "THE FILAMENT"),
    Instruction.WITHDRAW: ("WITHDRAW", "THE FILAMENT"),
    Instruction.LEAVE: ("LEAVE IT", "AS IT IS"),
}


def clean(text: str) -> str:
    """One printable line: line ends become spaces, whatever else cannot be printed is spelled out."""
    return clean_text(" ".join(text.split()) if "\n" in text or "\t" in text else text)


def mark(weight: Weight) -> str:
    """The word that says how a message is to be taken; empty when it needs none."""
    return _MARKS[weight]


def marked(weight: Weight, text: str) -> str:
    """The text with its mark in front."""
    return f"{mark(weight)}: {clean(text)}" if mark(weight) else clean(text)


def tell(message: Tell) -> list[str]:
    """The message with its mark before the heading, or before the first line when there is no heading.

    What was found needs none where it has a heading: the heading says what it is.
    """
    head, *rest = [text for text in (message.heading, *message.lines) if text] or [""]
    weight = Weight.NOTE if message.heading and message.weight is Weight.FINDING else message.weight
    return [marked(weight, head), *map(clean, rest)]


def confirm(request: Confirm) -> list[str]:
    """The question; a caution or a danger carries its word."""
    return [*map(clean, request.lines), marked(request.weight, request.question)]


def choose(request: Choose) -> list[str]:
    """The question with one line for each option."""
    listed = [f"  {label} {text}" for label, text in options(request)]
    return [*map(clean, request.lines), clean(request.question), *listed]


def options(request: Choose) -> list[tuple[str, str]]:
    """For each option its number, with a full stop behind it, and what it means; the usual one says so."""
    texts = [
        clean(option.label)
        + (f": {clean(option.meaning)}" if option.meaning else "")
        + (USUAL if option.key == request.usual else "")
        for option in request.options
    ]
    return [(f"{label}.", text) for label, text in zip(choice_labels(request), texts, strict=True)]


def choice_labels(request: Choose) -> list[str]:
    """What the operator types for each option: its number, from 1 on."""
    return [str(place) for place in range(1, len(request.options) + 1)]


def choice_prefix(request: Choose) -> str:
    """What stands before the number being typed; of a long menu only where it begins and ends."""
    labels = choice_labels(request)
    if request.several:
        return f"1 to {labels[-1]}, all that fit, as in 1,2: "
    return f"{', '.join(labels) if len(labels) <= MOST_LISTED else f'1 to {labels[-1]}'}: "


def enter(request: Enter) -> list[str]:
    """The question with its unit and bounds."""
    limits = bounds(request)
    return [*map(clean, request.lines), clean(request.question) + (f" ({limits})" if limits else "")]


def bounds(request: Enter) -> str:
    """What may be typed, as `mm, from 0 to 100`; empty for a text that must be given."""
    unit = f" {clean(request.unit)}" if request.unit else ""
    parts = [unit.strip()] if unit else []
    if request.kind is EntryKind.NUMBER and (request.least is not None or request.most is not None):
        parts.append(_range(request.least, request.most))
    if request.optional and "(empty" not in request.question:
        parts.append("may be left empty")
    return ", ".join(parts)


def _range(least: float | None, most: float | None) -> str:
    if least is None:
        return f"at most {most:g}"
    return f"at least {least:g}" if most is None else f"from {least:g} to {most:g}"


def prefix(request: Enter) -> str:
    """What stands before the value being typed: its unit, where it has one."""
    return f"{clean(request.unit)}: " if request.unit else "> "


def hold_cautions(request: Hold) -> list[str]:
    """The cautions of a hold point; each carries a word of its own."""
    return [_cautioned(text) for text in request.cautions]


def _cautioned(text: str) -> str:
    words = (mark(Weight.DANGER), mark(Weight.CAUTION))
    return clean(text) if text.startswith(words) else marked(Weight.CAUTION, text)


def hold_steps(request: Hold) -> list[tuple[str, str]]:
    """The steps of a hold point, each with its number."""
    return [(f"{number}.", clean(step)) for number, step in enumerate(request.steps, 1)]


def hold(request: Hold) -> list[str]:
    """The hold point: title, cautions, steps, and the question that releases it."""
    return [
        hold_title(request),
        *hold_cautions(request),
        *(f"{number} {step}" for number, step in hold_steps(request)),
        *hold_after(request),
        clean(request.release),
    ]


def hold_title(request: Hold) -> str:
    """The title with the words that say what kind of stop this is."""
    return f"{HOLD_POINT}: {clean(request.title)}"


def hold_after(request: Hold) -> list[str]:
    """What the tool does with the port meanwhile, where it does anything."""
    if request.reflash:
        return ["The port is closed meanwhile and opened again after the release."]
    return ["The tool listens until the port goes, and opens it again after the release."] if request.power else []


def order(instruction: Instruction) -> tuple[str, str]:
    """What the hands are to do, in capitals: the word that matters, and the rest."""
    return _ORDERS[instruction]


def place(request: TakeTrial) -> str:
    """Where in the work a trial is."""
    return f"Prompt {request.number} of {request.planned}, cycle {request.cycle}"


def trial(request: TakeTrial) -> list[str]:
    """The prompt of a trial and the start of its countdown."""
    return [
        f"{place(request)}: {' '.join(order(request.instruction))}.",
        f"The readings begin in {seconds(request.countdown_s)}.",
    ]


def dwell(request: TakeTrial) -> str:
    """The start of the dwell."""
    return f"Keep still: {count(request.readings, 'reading')} over {seconds(request.dwell_s)}."


def trial_taken(request: TakeTrial, taken: TrialTaken) -> str:
    """What the dwell was, in one line."""
    name = f"Prompt {request.number}, {request.instruction.value}"
    read = f" {tally(taken.dwell)}." if taken.dwell else ""
    said = f"{name}:{read}" + _unread(taken.unread) + _remark(taken.remark)
    if taken.spoken is not None:
        said += f" Set aside {taken.spoken.value}: {clean(taken.void_reason)}."
    if taken.void_before:
        said += f" Prompt {request.number - 1} is set aside after its dwell began: {clean(taken.void_before)}."
    return said


def watch(request: Watch) -> list[str]:
    """What is to be done during a watch."""
    presence = {None: "", Presence.IN: " Filament in.", Presence.OUT: " Filament out."}[request.presence]
    longest = f", at most {seconds(LONGEST * request.seconds)}"
    least = f" and at least {count(request.readings, 'reading')}{longest}" if request.readings else " at most"
    time = f"Watching for {seconds(request.seconds)}{least}."
    begin = [f"The readings begin in {seconds(request.lead_s)}."] if request.lead_s > 0 and request.readings else []
    return [clean(request.title), *map(clean, request.lines), *begin, time + presence]


def watch_taken(request: Watch, taken: WatchTaken) -> str:
    """What a watch saw, in one line."""
    if taken.void_reason:
        return f"{clean(request.title)}: set aside, {clean(taken.void_reason)}."
    if taken.summary:
        return f"{clean(request.title)}: {clean(taken.summary)}."
    seen = (
        f"{clean(request.title)}: {tally(taken.readings)} in {seconds(taken.seconds)}, "
        f"{count(changes(taken.readings), 'change')}, largest gap {seconds(taken.largest_gap_s)}."
    )
    if taken.unread:
        seen = f"{seen}{_unread(taken.unread)} Watched: {seconds(exposure_s(taken.readings))}."
    return f"{seen}{f' {taken.slowed.sentence}' if taken.slowed else ''}{_remark(taken.remark)}"


def tally(readings: Sequence[TimedReading]) -> str:
    """How many readings were what, with the printer's own words, as `21 readings, all active (open)`."""
    if not readings:
        return "no reading"
    kinds = [kind for kind in Reading if any(taken.reading is kind for taken in readings)]
    if len(kinds) == 1:
        return f"{count(len(readings), 'reading')}, all {kinds[0].value}{_words(readings, kinds[0])}"
    parts = [f"{_number(readings, kind)} {kind.value}{_words(readings, kind)}" for kind in kinds]
    return f"{count(len(readings), 'reading')}, {' and '.join(parts)}"


def changes(readings: Sequence[TimedReading]) -> int:
    """How often one known reading differs from the known one before it."""
    return unwanted_changes([taken.reading for taken in readings])


def _number(readings: Sequence[TimedReading], kind: Reading) -> int:
    return sum(taken.reading is kind for taken in readings)


def _words(readings: Sequence[TimedReading], kind: Reading) -> str:
    words = dict.fromkeys(clean(taken.wire_word) for taken in readings if taken.reading is kind and taken.wire_word)
    return f" ({', '.join(words)})" if words else ""


def _unread(number: int) -> str:
    return f" {count(number, 'query', 'queries')} brought no reading." if number else ""


def _remark(text: str) -> str:
    return f" The operator says: {clean(text)}." if text else ""


def count(number: int, one: str, many: str = "") -> str:
    """A number with its noun, as `1 reading` or `21 readings`."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def establish(request: Establish) -> list[str]:
    """The finding in words, in few where there are such; its name when it has none."""
    said = request.briefly or request.finding.sentences or (request.finding.name().replace("_", " "),)
    return [marked(Weight.FINDING, text) for text in said]


def punch(item: Punch) -> str:
    """An open item with its class in words and its cure."""
    cure = f" Cure: {clean(item.cure)}" if item.cure else ""
    return f"Open item {item.grade.value} ({item.grade.meaning}): {clean(item.text)}{cure}"


def reading(status: Status, *, capitals: bool = False) -> str:
    """The reading in words with the printer's own word as it was printed, as `active (open)`."""
    if status.reading is None:
        return "not read yet"
    value = status.reading.value.upper() if capitals else status.reading.value
    word = clean(status.wire_word)
    return f"{value} ({word})" if word else value


def live_line(status: Status) -> str:
    """All that is true at this moment, in one line."""
    left = f"{math.ceil(status.seconds_left)} s left" if status.seconds_left else ""
    parts = [f"Reading: {reading(status)}", left, clean(status.progress), clean(status.note)]
    return "   ".join(part for part in parts if part)


def below(status: Status | None, where: str) -> list[tuple[str, str]]:
    """The lines below the one that is being typed, each with its style: what is read, and how far the run is."""
    read = [] if status is None else [("reverse", live_line(status))]
    return [*read, *([("", clean(where))] if where else [])]
