"""Work on printers without any: what each does is written in its port's name."""

import asyncio

from commission.cli.several import Came
from commission.fleet.roster import Listed


class FakeWork:
    """Does what the port's name says: `code-N` ends with N, `stuck` until it is told to, `deaf` not even then.

    `meet` ends once as many as the barrier waits for are under way at the same time; `breaks` raises.
    """

    def __init__(self, listed: Listed, together: asyncio.Barrier) -> None:
        self._together = together
        self.what = listed.port
        self.told = ""
        self._told = asyncio.Event()

    async def run(self) -> Came:
        """Do it."""
        if self.what.startswith("code-"):
            return Came(int(self.what.removeprefix("code-")), f"something on {self.what}\x1b[2J")
        if self.what == "breaks":
            raise RuntimeError("as it was told to")
        if self.what == "meet":
            await self._together.wait()
            return Came(0)
        if self.what == "deaf":
            await asyncio.Event().wait()
        await self._told.wait()
        return Came(130)

    def stop(self, reason: str) -> None:
        """Note why, and end if it is that kind of work."""
        self.told = reason
        self._told.set()
