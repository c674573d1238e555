"""A small program at a desk, started by the tests as a process of its own: one caution, one question, one trial."""

import asyncio
import sys
from pathlib import Path

from commission.desk.base import DeskError, OperatorStop, Status
from commission.desk.choosing import make_desk
from tests.desk.requests import CAUTION, COUNTING, DWELLING, INSERT, READY, TAKEN


async def trial(desk, readings: int) -> None:  # type: ignore[no-untyped-def]
    """Take one trial with made-up readings, one every 10 ms."""
    await desk.begin_trial(INSERT)
    for status in (*[COUNTING] * readings, *[DWELLING] * 3):
        desk.show(status)
        await asyncio.sleep(0.01)
        for mark in await desk.take_marks():
            desk.show(Status(note=mark.value))
    await desk.end_trial(INSERT, TAKEN)


async def main(arguments: list[str]) -> int:
    """Run it; `--plain`, `--operator FILE` and `--wait` (a pause before the question) may be given."""
    script = Path(arguments[arguments.index("--operator") + 1]) if "--operator" in arguments else None
    try:
        desk = make_desk(sys.stdout, operator_file=script, plain="--plain" in arguments, variables={}, bell=True)
    except DeskError as error:
        print(error)  # noqa: T201 - there is no desk to say it at
        return 2
    await desk.open()
    try:
        await desk.tell(CAUTION)
        await asyncio.sleep(0.3 if "--wait" in arguments else 0)
        await desk.confirm(READY)
        await trial(desk, 2000 if "--long" in arguments else 5)
    except OperatorStop as stop:
        print(stop)  # noqa: T201 - shows what the caller is told
        return 130
    finally:
        await desk.close()
    return 0


if __name__ == "__main__":
    sys.exit(asyncio.run(main(sys.argv[1:])))
