"""The way back: which firmware file was on the board, and which one goes on it."""

import re
from collections.abc import Sequence

from commission.asking.message import Punch, Tell, Weight
from commission.asking.request import Confirm, Enter
from commission.asking.steps import Steps, confirm, enter, establish, fingerprint, recall
from commission.evidence.findings.borrow import BorrowPredicted
from commission.evidence.findings.settings import FirmwareFiles
from commission.evidence.talk import FileMark
from commission.vocabulary import PunchClass

SHA_256 = re.compile(r"[0-9a-fA-F]{64}")
TRIES = 3
OLD = "Is a file of the firmware that is on the board now kept, as a way back?"
NEW = "Is the file of the new firmware at hand?"


def firmware_files() -> Steps[None]:
    """Record both files, and what is missing as an open item."""
    old = yield from _file("way_back.old", OLD)
    new = yield from _file("way_back.new", NEW)
    said = (f"Old firmware: {_said(old)}.", f"New firmware: {_said(new)}.")
    yield from establish(FirmwareFiles(sentences=said, old=old, new=new))
    if old is None:
        yield Punch(
            PunchClass.INCOMPLETE,
            "No file of the old firmware is kept: there is no way back to it.",
            "Find the file or the configuration it was built from, or copy the board's memory, before the reflash.",
        )


def _file(key: str, question: str) -> Steps[FileMark | None]:
    if not (yield from confirm(Confirm(key, question))):
        return None
    for _ in range(TRIES):
        path = yield from enter(
            Enter(f"{key}_path", "Its path on this computer (empty: it is elsewhere)", optional=True)
        )
        if not path:
            return (yield from _typed(key))
        found = yield from fingerprint(path)
        if found is not None and found["bytes"]:
            return FileMark(**found)
        wrong = "cannot be read as a file" if found is None else "is empty: there is no firmware in it"
        yield Tell((f"{path} {wrong}. Check the path and type it again.",), weight=Weight.NOTE)
    yield Tell(("It is typed instead: its name, its place and its digest as far as known.",))
    return (yield from _typed(key))


def _typed(key: str) -> Steps[FileMark]:
    name = yield from enter(Enter(f"{key}_name", "Name of the file"))
    place = yield from enter(Enter(f"{key}_place", "Where it is kept"))
    digest = ""
    for _ in range(TRIES):
        typed = yield from enter(Enter(f"{key}_sha256", "Its SHA-256, 64 hex digits (empty: not known)", optional=True))
        if not typed or SHA_256.fullmatch(typed):
            digest = typed.lower()
            break
        yield Tell((f"That is no SHA-256: {len(typed)} characters, where 64 hex digits are due.",))
    return FileMark(name=name, place=place, sha256=digest, bytes=None)


def _said(file: FileMark | None) -> str:
    if file is None:
        return "no file kept"
    digest = f"SHA-256 {file.sha256}" if file.sha256 else "digest not known"
    return f"{file.name} in {file.place}, {digest}"


def listed_conditions(usual: Sequence[str]) -> Steps[tuple[str, ...]]:
    """The conditions of the new build as a list: the usual ones, then those that a borrowed socket showed."""
    borrowed = yield from recall(BorrowPredicted, earlier=True)
    shown = () if borrowed is None else borrowed.conditions
    items = (*usual, *(f"shown on the borrowed socket: {each}" for each in shown))
    return ("The reflash conditions: what must be true of the new build.", *(f"- {item}" for item in items))
