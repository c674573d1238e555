"""Phase: one pin is read whose mode asking changes: by release, never where anything else is on it.

Where a console tells of no sensor, one of its words may read a single pin, and makes it an input with a pull-up. So it
is no question. It goes out only after a release that says what changes; the board's drawing decides what is on
the pin, and anything but the sensor's signal alone refuses it. Six looks say whether the pin follows the filament.
That proves the input and nothing of the printer's own detection. What was changed stays open until the board was seen
to start anew.
"""

from collections.abc import Sequence

from commission.asking.message import Punch, Tell, Weight
from commission.asking.phase import Phase, steps_of
from commission.asking.power import power_cycle
from commission.asking.request import Choose, Confirm, Enter, Option, Recall, Release
from commission.asking.response import Interrupted
from commission.asking.steps import Steps, ask, choose, confirm, enter, establish, release
from commission.dialect.commands import Effect
from commission.dialect.family import Identified
from commission.dialect.sources.report import SourceKind, SourceReport
from commission.dialect.sources.source import CannotBeAsked, Source
from commission.dialect.sources.ways import WAYS, Purity
from commission.evidence.findings.wiring import InputClaims, PinLook, PinLooked, PinReported
from commission.procedure.meeting.printing import not_printing
from commission.vocabulary import Presence, PunchClass, Reading
from commission.wiring.claims import claims

PIN_LOOK = Phase("pin_look", "One pin, read by release", "one pin, read by release")
OFFER = Confirm(
    "pin.now",
    "Read the one pin that the sensor is wired to, by a release of its own?",
    (
        "This console tells of no sensor. It can read a single pin, but asking makes the pin an input with a pull-up "
        "until the board starts anew. It shows whether the input follows the filament, and nothing of a pause.",
    ),
)
RELEASE, POWER = "pin.release", "pin.power"
TRIES, LOOKS = 3, 3
NUMBER = Enter(
    "pin.number",
    "Number of the pin in the firmware",
    optional=True,
    lines=("By the board's drawing and the firmware's pin table, never by trying. Empty: not known.",),
)
ALONE, OUTPUT, UNKNOWN = "alone", "output", "unknown"
NOT_READ = "No pin was read, and none was changed."
LOOK_UP = "Find out from the board's drawing which pin the sensor is on and what else is on it."
OFF = "An input with a pull-up switches off whatever the pin works, or leaves it to itself."
MOVE_IT = "Put the sensor on a pin of its own."


def changed_by_asking(printer: Identified | None) -> bool:
    """Whether this printer reads a single pin only by changing its mode."""
    way = None if printer is None else WAYS.get((printer.family, SourceKind.PIN))
    return way is not None and way.purity is Purity.SETS_INPUT


@steps_of(PIN_LOOK)
def pin_look(printer: Identified) -> Steps[bool]:
    """Read one pin with filament in and out, three times each by turns; returns whether one was read.

    Args:
        printer: as identified; asking it changes a pin's mode.
    """
    source = yield from _named(printer)
    if source is None:
        yield Tell((NOT_READ,))
        return False
    why = (yield from _on_record(source.name)) or (yield from _claimed(source.name))
    if why:
        yield Tell((why, NOT_READ), weight=Weight.CAUTION)
        return False
    yield from not_printing()
    if not (yield from release(_release(source.name))):
        yield Tell((f"Not released. {NOT_READ}",))
        return False
    return (yield from _read(source))


def _named(printer: Identified) -> Steps[Source | None]:
    for _ in range(TRIES):
        number = (yield from enter(NUMBER)).strip()
        if not number:
            return None
        try:
            return Source(printer, SourceKind.PIN, number)
        except CannotBeAsked as cannot:
            yield Tell((str(cannot), "On this console a pin is a number of up to three digits."))
    return None


def _on_record(pin: str) -> Steps[str]:
    """What the record has on that pin, beside the sensor; empty for nothing."""
    noted, reported = (yield Recall(InputClaims, earlier=True)), (yield Recall(PinReported, earlier=True))
    if isinstance(noted, InputClaims) and noted.pin == pin and noted.claims:
        return f"By the record this is also on pin {pin}: {', '.join(noted.claims)}."
    if isinstance(reported, PinReported) and reported.pin == pin and len(reported.names) > 1:
        return f"By the record the printer named two users of pin {pin}: {', '.join(reported.names)}."
    return ""


def _claimed(pin: str) -> Steps[str]:
    """Why it is not read, by the board's drawing; empty where the sensor is alone on it."""
    options = [
        Option(ALONE, "the sensor's signal alone"),
        Option(OUTPUT, "a heater, fan, motor driver, lamp or another output"),
        *(Option(claim.name, claim.short) for claim in claims()),
        Option(UNKNOWN, "I do not know"),
    ]
    question = f"What is on pin {pin}, by the board's drawing?"
    said = yield from choose(Choose("pin.also", question, tuple(options), several=True, alone=frozenset({ALONE})))
    if said == ALONE:
        return ""
    picks = said.split(",")
    yield Punch(PunchClass.INCOMPLETE, f"Pin {pin} was not read: the sensor is not known to be alone on it.", LOOK_UP)
    if OUTPUT in picks:
        return f"Pin {pin} works something. {OFF} {MOVE_IT}"
    conflicts = [claim.conflict for claim in claims() if claim.name in picks]
    return " ".join(conflicts) or f"What is on pin {pin} is not known. {OFF}"


def _release(pin: str) -> Release:
    lines = (
        f"Pin {pin} becomes an input with a pull-up, and stays one until the board starts anew. It is asked "
        f"{2 * LOOKS} times; nothing moves and nothing heats.",
        f"Were it the wrong number: {OFF[0].lower()}{OFF[1:]} Look at the number once more.",
        "The board is at rest: no print, heaters off. The power switch is in reach.",
    )
    question = f"Make pin {pin} an input with a pull-up, and read it?"
    return Release(RELEASE, f"pin {pin} becomes an input with a pull-up", lines, frozenset({Effect.SETTING}), question)


def _read(source: Source) -> Steps[bool]:
    """The looks, and what came of them; a pin that the board refuses was not changed."""
    looks: list[PinLook] = []
    changed = False
    for presence in (Presence.IN, Presence.OUT) * LOOKS:
        yield from _moved(presence)
        report = yield from _asked(source, changed=changed)
        if report.error and not changed:
            yield Tell((f"The board refuses pin {source.name}: {report.error.rstrip('.')}.", NOT_READ))
            return False
        if not changed:
            yield _open(source.name)
        changed = True
        looks.append(PinLook(presence=presence, reading=report.reading, wire_word=report.wire_word))
    yield from establish(_found(source.name, looks))
    yield from _ended(source.name)
    return True


def _moved(presence: Presence) -> Steps[None]:
    """Have the filament moved and the hands taken off."""
    deed = {Presence.IN: "in: pushed past the sensor", Presence.OUT: "out: drawn out of the sensor"}[presence]
    question = f"Is the filament {deed}, and are your hands off?"
    while not (yield from confirm(Confirm(f"pin.{presence.value}", question))):
        yield Tell((f"Bring the filament {presence.value}, then say yes.",))


def _asked(source: Source, *, changed: bool) -> Steps[SourceReport]:
    """What the pin reads; broken off with the word on its way, it may have been changed."""
    try:
        return source.read((yield from ask(source.question, 5.0, RELEASE)).lines)
    except Interrupted:
        if not changed:
            yield _open(source.name)
        raise


def _open(pin: str) -> Punch:
    text = f"Pin {pin} was made an input with a pull-up to read it, and stays one until the board starts anew."
    return Punch(PunchClass.INCOMPLETE, text, "Switch the printer off and on again, USB out meanwhile.", POWER)


def _found(pin: str, looks: Sequence[PinLook]) -> PinLooked:
    """What the looks say together."""
    words = {each: {look.reading for look in looks if look.presence is each} for each in Presence}
    untold = any(Reading.UNKNOWN in each for each in words.values())
    steady = all(len(each) == 1 for each in words.values())
    follows = None if untold else steady and words[Presence.IN] != words[Presence.OUT]
    row = "; ".join(f"{look.presence.value}: {look.wire_word or 'no reading'}" for look in looks)
    said = {
        True: "It follows the filament.",
        False: "It does not follow the filament: another pin, a wire, or the sensor.",
        None: "It could not be read each time, so nothing is said of it.",
    }[follows]
    proves = "That is the input, with the pull-up that asking switched on: whether the printer acts on it is not known."
    return PinLooked(
        sentences=(f"Pin {pin} with filament {row}.", said, proves), pin=pin, looks=tuple(looks), follows=follows
    )


def _ended(pin: str) -> Steps[None]:
    """End the change by a power cycle that is seen; one that was not seen leaves it open."""
    question = f"Switch the printer off and on again now, so that pin {pin} is as it was?"
    if not (yield from confirm(Confirm("pin.restart", question, ("Without it the change stays open.",)))):
        return
    released = yield from power_cycle(POWER)
    if not released.power.restart:
        seen = f"The board was not seen to start anew: pin {pin} may still be an input with a pull-up."
        yield Punch(PunchClass.INCOMPLETE, seen, "Switch the printer off, pull USB, wait ten seconds, and back on.")
