"""All kinds, all commissionings, over the cores: the same numbers for the same seed, however they are shared out."""

import multiprocessing
import time
import traceback
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from multiprocessing.pool import Pool

from scripts.commissioning.adapter import loop_check_once
from scripts.commissioning.came import Came
from scripts.commissioning.chance import chance_of
from scripts.commissioning.figures import LIMITS, Row
from scripts.commissioning.hands import Hands
from scripts.commissioning.kinds import KINDS, Kind
from scripts.commissioning.person import Habits, Person
from scripts.commissioning.plant import Plant
from scripts.commissioning.record import commission
from scripts.commissioning.untaught import Untaught

EXAMPLES = 3
PIECE, PIECE_WITH_BOOK = 40, 2
VERDICTS = ("pass", "conditional pass", "not judged", "fail")
BROKEN_OFF = "broken off"
CRASHED = "crashed"


@dataclass(frozen=True)
class Order:
    """What is to be done.

    Attributes:
        runs: commissionings asked for; each kind does its share of them.
        kinds: names of the kinds.
        slips: probability of a slip for every person; None leaves each kind its own.
        most_s: no new piece is waited for after this time.
        numbers: the first commissioning of each kind, and the one after the last; None for as many as are asked for.
    """

    runs: int
    seed: int
    kinds: tuple[str, ...] = tuple(KINDS)
    slips: float | None = None
    most_s: float = 3600.0
    processes: int = 1
    numbers: tuple[int, int] | None = None


@dataclass(frozen=True)
class Piece:
    """Some commissionings of one kind, by their numbers."""

    kind: str
    first: int
    last: int
    seed: int
    slips: float | None


@dataclass(frozen=True)
class Done:
    """What a campaign came to; `whole` is false when time ran out."""

    rows: list[Row]
    whole: bool


def play(kind: Kind, number: int, seed: int, slips: float | None = None) -> tuple[Came, Plant]:
    """One commissioning; the same for the same kind, number and seed."""
    chance = chance_of(seed, kind.name, number)
    plant = Plant(kind.unit(chance), chance)
    hands = Hands(plant, Person(_habits(kind, slips), chance))
    came = commission(hands, chance) if kind.several_runs else loop_check_once(hands, chance.randrange(2**32))
    return came, plant


def play_piece(piece: Piece) -> Row:
    """The commissionings of one piece, counted."""
    kind = KINDS[piece.kind]
    row = _row(kind, piece.slips)
    for number in range(piece.first, piece.last):
        try:
            came, plant = play(kind, number, piece.seed, piece.slips)
        except Untaught:
            raise
        except Exception:  # noqa: BLE001 - a procedure that breaks down is what is looked for; it is counted and shown
            _count(row, CRASHED, number)
            row.crashes.append(f"number {number}: {traceback.format_exc(limit=-1).strip()}")
            continue
        verdict = came.verdict if came.verdict in VERDICTS else BROKEN_OFF
        _count(row, verdict, number)
        row.truth = max(row.truth, ", ".join(sorted(plant.unit.harms)) or "sound")  # one for all, whatever comes first
        row.wrong_polarity += came.polarity not in ("", plant.unit.polarity)
        for reason in came.failed:
            row.reasons[reason] = row.reasons.get(reason, 0) + 1
    return row


def _count(row: Row, verdict: str, number: int) -> None:
    row.runs += 1
    row.verdicts[verdict] = row.verdicts.get(verdict, 0) + 1
    if row.claim in LIMITS and verdict == LIMITS[row.claim].verdict:
        row.examples.append(number)


def _habits(kind: Kind, slips: float | None) -> Habits:
    return kind.habits if slips is None else replace(kind.habits, slips=slips)


def _row(kind: Kind, slips: float | None) -> Row:
    return Row(kind.name, kind.claim, slips=_habits(kind, slips).slips > 0, honest=kind.honest)


def pieces(order: Order) -> list[Piece]:
    """The whole campaign in pieces, the slow ones first so that the cores end together."""
    found = []
    for name in order.kinds:
        kind = KINDS[name]
        step = PIECE_WITH_BOOK if kind.several_runs else PIECE
        first_of_all, end = order.numbers or (0, kind.runs(order.runs))
        for first in range(first_of_all, end, step):
            found.append(Piece(name, first, min(first + step, end), order.seed, order.slips))
    return sorted(found, key=lambda piece: not KINDS[piece.kind].several_runs)


def carry_out(order: Order, say: Callable[[str], None] = lambda _line: None) -> Done:
    """Play every piece, or as many as there is time for.

    Raises:
        Untaught: a procedure asks what no person here has an answer for.
    """
    rows = {name: _row(KINDS[name], order.slips) for name in order.kinds}
    todo = pieces(order)
    done = 0
    for done, row in enumerate(_played(todo, order), 1):
        add(rows[row.kind], row)
        if done % max(1, len(todo) // 10) == 0:
            say(f"{done} of {len(todo)} pieces done")
    for row in rows.values():
        shorten(row)
    return Done(list(rows.values()), whole=done == len(todo))


def _played(todo: Sequence[Piece], order: Order) -> Iterator[Row]:
    """The pieces one after the other as they come, until they are through or the time is up."""
    until_s = time.monotonic() + order.most_s
    if order.processes == 1:
        for piece in todo:
            if time.monotonic() > until_s:
                return
            yield play_piece(piece)
        return
    with multiprocessing.get_context("spawn").Pool(order.processes) as pool:  # the same on every system
        yield from _pooled(pool, todo, until_s)


def _pooled(pool: Pool, todo: Sequence[Piece], until_s: float) -> Iterator[Row]:
    coming = pool.imap_unordered(play_piece, todo)
    for _ in todo:
        try:
            yield coming.next(timeout=max(0.0, until_s - time.monotonic()))
        except multiprocessing.TimeoutError:
            return


def shorten(row: Row) -> None:
    """Keep the first examples only."""
    row.examples = sorted(row.examples)[:EXAMPLES]
    row.crashes = sorted(row.crashes)[:EXAMPLES]


def add(whole: Row, part: Row) -> None:
    """Add what other commissionings of the same kind came to."""
    whole.runs += part.runs
    whole.wrong_polarity += part.wrong_polarity
    whole.truth = max(whole.truth, part.truth)
    whole.verdicts = dict(Counter(whole.verdicts) + Counter(part.verdicts))
    whole.reasons = dict(Counter(whole.reasons) + Counter(part.reasons))
    whole.examples += part.examples
    whole.crashes += part.crashes
