"""Asks the printer behind one port who it is: the port is opened for that, because the operator said so."""

import asyncio
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from commission.cli.surroundings import surroundings
from commission.dialect.identity import identity_of
from commission.fleet.proof import Proof, Proven, answered
from commission.fleet.roster import Listed
from commission.link.base import LinkError
from commission.link.discover import FoundPort, identify
from commission.link.port import SPEEDS_BAUD, ResetLines
from commission.procedure.meeting.identity import PrinterMarks
from commission.records.place import book_path
from commission.records.run_lock import RunLock, RunUnderWay
from commission.session import Exchange, Session, connect

if TYPE_CHECKING:
    from commission.records.place import Place


def asked(
    listed: Listed, ports: Sequence[FoundPort], known: Mapping[str, PrinterMarks], place: "Place | None"
) -> Proven:
    """What the printer says, or why it cannot be asked; a run on it that is under way is not disturbed."""
    try:
        with RunLock(book_path(place), listed.tag):
            exchange = asyncio.run(_identified(listed))
    except (LinkError, RunUnderWay) as error:
        return Proven(listed, Proof.NOT_PROVEN, str(error))
    identity = identity_of(exchange.lines)
    if identity is None:
        return Proven(listed, Proof.NOT_PROVEN, "it answers, and does not say who it is")
    return answered(listed, PrinterMarks.of(identify(listed.port, ports), identity), known)


async def _identified(listed: Listed) -> Exchange:
    around = surroundings()
    link = around.make_link(listed.port, reset=ResetLines.AS_IS)
    session = Session(link, around.clock, on_traffic=lambda _traffic: None)
    speeds = (listed.speed, *(speed for speed in SPEEDS_BAUD if speed != listed.speed)) if listed.speed else SPEEDS_BAUD
    try:
        return await connect(session, speeds)
    finally:
        await session.close()
