"""What the build must say, put into the record; and an installation held against it afterwards."""

from commission.asking.message import Punch, Tell, Weight
from commission.asking.steps import Steps, establish, recall
from commission.evidence.findings.borrow import AsPredicted, BorrowPredicted
from commission.judge.borrowed import CANNOT_SHOW, BorrowedPrediction, BorrowedReadings, DeclaredContact, predict
from commission.vocabulary import FailSafe, PunchClass, SwitchBehaviour

CURE = "Put that right and borrow the socket again, before a build is made."
CURE_PULL = (
    "Borrow the socket again and lay 1 kΩ where its pull goes up. Where it goes down, 1 kΩ to ground cannot show it: "
    "measure the empty socket's signal with a meter in volts, and write it into the record."
)
NOT_SHOWN = "It rests on the declared pull of the socket: 1 kΩ was not laid, or did not show its direction."
SHOWN = "1 kΩ showed that the socket's pull goes up."


def predicted(socket: str, readings: BorrowedReadings, declared: DeclaredContact) -> Steps[BorrowedPrediction]:
    """Say and record what the build must say, or why none follows."""
    found = predict(readings, declared)
    yield from establish(
        BorrowPredicted(
            sentences=sentences(found),
            socket=socket,
            empty=readings.empty,
            filament_in=readings.filament_in,
            filament_out=readings.filament_out,
            with_small=readings.with_small,
            seen=found.seen,
            fail_safe=found.fail_safe,
            absent=found.absent,
            pull=found.pull,
            pull_shown=found.pull_shown,
            as_declared=found.as_declared,
            why_not=found.why_not,
            conditions=tuple(each.sentence for each in found.conditions),
        )
    )
    if found.unambiguous and not found.pull_shown:
        yield Punch(PunchClass.INCOMPLETE, NOT_SHOWN, CURE_PULL)
    if not found.unambiguous:
        yield Punch(PunchClass.INCOMPLETE, f"No build follows. {found.why_not}.", CURE)
        yield Tell((f"{found.why_not}.", CURE), heading="No build follows", weight=Weight.CAUTION)
    return found


def sentences(found: BorrowedPrediction) -> tuple[str, ...]:
    """The prediction in words, the conclusion first, and what the socket cannot show."""
    if not found.unambiguous:
        said = [f"No build follows from the borrowed socket. {found.why_not}."]
        return (*said, *([_declared(found)] if found.as_declared is False else []))
    conditions = tuple(f"Condition for the build. {each.sentence}" for each in found.conditions)
    return (
        f"Predicted: the contact is {found.seen.value}, and this wiring fails safe.",
        *([_declared(found)] if found.as_declared is False else []),
        *conditions,
        SHOWN if found.pull_shown else NOT_SHOWN,
        *CANNOT_SHOW,
    )


_SAFETY = {FailSafe.SAFE: "fail-safe", FailSafe.DANGER: "fail-to-danger", FailSafe.UNSTEADY: "unsteady when unplugged"}


def _declared(found: BorrowedPrediction) -> str:
    return f"That is not the contact as it was declared: it is {found.seen.value}."


def held_against_prediction(behaviour: SwitchBehaviour, fail_safe: FailSafe) -> Steps[None]:
    """Say whether a loop check came out as a borrowed socket had predicted; nothing where none did."""
    before = yield from recall(BorrowPredicted, earlier=True)
    if before is None or before.absent is None or behaviour is SwitchBehaviour.UNDECIDED:
        return
    if fail_safe is FailSafe.NOT_TESTED:
        return
    holds = behaviour is SwitchBehaviour.DIRECT and fail_safe is FailSafe.SAFE
    said = f"As predicted on the borrowed socket {before.socket}: direct, and fail-safe."
    if not holds:
        said = (
            f"Not as predicted on the borrowed socket {before.socket}: the check came out {behaviour.value} "
            f"and {_SAFETY[fail_safe]}. Look first at the level at no filament ({before.absent.value}) and at the "
            "pull of the input in the build."
        )
    yield from establish(AsPredicted(sentences=(said,), holds=holds))
