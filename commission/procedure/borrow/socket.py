"""Phase: which socket is borrowed, what is on it, and that its own switch is the one that is read there."""

from collections.abc import Sequence

from commission.asking.message import Punch, Tell, Weight
from commission.asking.phase import Phase, steps_of
from commission.asking.request import Choose, Confirm, Option
from commission.asking.steps import Steps, choose, confirm, establish
from commission.dialect.sources.report import SourceKind
from commission.dialect.sources.spelling import spelled
from commission.dialect.switches import SwitchState
from commission.evidence.findings.borrow import SocketBorrowed
from commission.judge.plan import Plan
from commission.procedure.borrow.own_switch import OwnSwitch, seen_to_follow
from commission.procedure.meeting.switch_name import ask_switches
from commission.vocabulary import PunchClass, Reading

SOCKET = Phase("borrow_socket", "Which socket is borrowed?", "the choice of the socket")
NONE = "none"
NOTHING_MOVES = (
    "From now on nobody homes or moves the printer, at its display, from a host or from a card, until this tool says "
    "that the endstop works again. With its endstop away an axis does not stop at its end: the machine crashes.",
    "This tool moves, heats, saves and erases nothing in the whole run. It only asks for the switch states.",
)
NOBODY = Confirm("borrow.nobody_homes", "Does everybody who can reach this printer know that?", NOTHING_MOVES)
ON_IT = (
    Option("switch", "a plain end switch", "a lever switch with two or three wires of its own, and nothing else"),
    Option("probe", "a probe", "its socket is not borrowed: it may give the probe's supply, or wake it"),
    Option("driver", "a motor driver's output", "a wire or a jumper joins it to a driver that homes without a switch"),
    Option("unknown", "I do not know", "then it is not borrowed"),
)
NOT_LENT = {
    "probe": "A probe's socket is not borrowed.",
    "driver": "A socket that is joined to a motor driver's output is not borrowed: the driver drives it.",
    "unknown": "A socket of which nobody knows what is on it is not borrowed.",
}
CURE = "Borrow the socket of a plain end switch that is easy to reach and far from the supply bay."
CURE_SWITCH = (
    "See which plug belongs to that switch and which line of the switch report it moves, then run this again. Nothing "
    "was unplugged."
)


@steps_of(SOCKET)
def socket_to_borrow(plan: Plan) -> Steps[tuple[str, OwnSwitch] | None]:
    """The socket and what its own switch reads; None where none is borrowed, with the reason as an open item."""
    reported = yield from ask_switches()
    lent = lendable(reported.states)
    if not lent:
        yield from _not_borrowed("The switch report has no endstop that could be borrowed.", CURE)
        return None
    options = [Option(name, f"{name} (now reads {reading.value})") for name, reading in lent]
    lines = ("Take the one whose switch you can press by hand and whose plug you can reach.",)
    none = Option(NONE, "none of these", "nothing is borrowed")
    answer = yield from choose(Choose("borrow.socket", "Which endstop's socket is borrowed?", (*options, none), lines))
    if answer == NONE:
        yield from _not_borrowed("No socket was borrowed.", CURE)
        return None
    on_it = yield from choose(Choose("borrow.on_it", f"What is plugged into the socket of {answer}?", ON_IT))
    if on_it in NOT_LENT:
        yield from _not_borrowed(NOT_LENT[on_it], CURE)
        return None
    if not (yield from confirm(NOBODY)):
        yield from _not_borrowed("The socket was not borrowed: the printer may be moved meanwhile.", NOTHING_MOVES[0])
        return None
    return (yield from _its_own_switch(plan, answer))


def lendable(states: Sequence[SwitchState]) -> list[tuple[str, Reading]]:
    """The sources whose socket may be borrowed: what is read, and is neither a probe nor a filament sensor."""
    kept = (each for each in states if not (each.is_filament or each.is_probe))
    return [(spelled(SourceKind.SWITCH_LINE, each.name), each.reading) for each in kept if _is_read(each)]


def _is_read(state: SwitchState) -> bool:
    return state.reading is not Reading.UNKNOWN


def _its_own_switch(plan: Plan, socket: str) -> Steps[tuple[str, OwnSwitch] | None]:
    yield Tell(
        ("First its own switch: it shows which endstop this is, and how it must read at the end of this run.",),
        heading=f"The endstop {socket} as it is",
        weight=Weight.STEP,
    )
    own = yield from seen_to_follow(plan, socket, f"Its own switch at {socket}")
    if not own.follows:
        yield from _not_borrowed(f"The reading of {socket} did not follow its own switch.", CURE_SWITCH)
        return None
    said = (
        f"Borrowed is the socket of {socket}. Its own switch reads {own.pressed.value} pressed and {own.free.value} "
        f"let go. The order of the prompts is from seed {plan.seed}."
    )
    yield from establish(
        SocketBorrowed(sentences=(said,), socket=socket, pressed=own.pressed, free=own.free, seed=plan.seed)
    )
    return socket, own


def _not_borrowed(why: str, cure: str) -> Steps[None]:
    yield Tell((why,), weight=Weight.CAUTION)
    yield Punch(PunchClass.INCOMPLETE, why, cure)
