"""The soak of a run: its line, each change with its time, and the traffic that was counted."""

from commission.drawing.soak import Piece, SoakLine, hours, soak_svg, soak_text
from commission.evidence.soaked import SoakStretch
from commission.evidence.wire import CountedBytes
from commission.judge.nuisance import Around
from commission.report.document import Block, Figure, Paragraph, Section, Table
from commission.report.record import RunFacts

MOST_CHANGES = 60
JOINED_S = 1.0
"""Stretches that follow each other so closely are drawn as one."""


def soak_section(run: RunFacts) -> Section:
    """Nothing where no soak was done."""
    stretches = [record.entry for record in run.of(SoakStretch)]
    line = soak_line(stretches)
    if line is None:
        return Section("soak", "Soak", ())
    blocks: list[Block] = [Figure(line.description, soak_svg(line), soak_text(line))]
    changes = [change for each in stretches for change in each.changes]
    rows = tuple(
        (hours(change.at_s), f"{1000 * (change.at_s - change.before_s):.0f} ms", change.reading.value)
        for change in changes[:MOST_CHANGES]
    )
    if rows:
        more = f", the first {MOST_CHANGES} of {len(changes)}" if len(changes) > MOST_CHANGES else ""
        blocks.append(Table(f"Changes nobody asked for{more}", ("At", "Not sooner than before", "Read then"), rows))
    return Section("soak", "Soak", (*blocks, *_counted(run)))


def soak_line(stretches: list[SoakStretch]) -> SoakLine | None:
    """What was watched, as it is drawn; None where nothing was."""
    if not stretches or not stretches[-1].ended_s > 0:
        return None
    pieces: list[Piece] = []
    for each in stretches:
        if not each.exposure_s > 0:
            continue
        printing = each.around is Around.PRINTING
        last = pieces[-1] if pieces else None
        joins = last is not None and last.printing is printing and each.began_s - last.ended_s <= JOINED_S
        began_s = last.began_s if last is not None and joins else each.began_s
        pieces = [*(pieces[:-1] if joins else pieces), Piece(began_s, each.ended_s, printing)]
    changes = tuple(change.at_s for each in stretches for change in each.changes)
    return SoakLine(stretches[-1].ended_s, tuple(pieces), changes)


def _counted(run: RunFacts) -> tuple[Block, ...]:
    counted = [record.entry for record in run.of(CountedBytes) if not record.entry.after_us]
    if not counted:
        return ()
    sent = sum(each.exchanges[number].sent * times for each in counted for number, times in each.order)
    received = sum(each.exchanges[number].received * times for each in counted for number, times in each.order)
    said = f"{sent} bytes were sent in the soak and {received} received; the book keeps exchanges that are alike once."
    return (Paragraph(said, "quiet"),)
