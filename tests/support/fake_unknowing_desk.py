"""A desk whose operator says `I do not know` wherever a question allows it."""

from fnmatch import fnmatchcase

from commission.procedure.request import Choose, Enter, EntryKind
from tests.support.fake_desk import Answers, FakeDesk

DO_NOT_KNOW = ("unknown", "skip")
"""The keys of the options by which nothing is known afterwards."""


class FakeUnknowingDesk(FakeDesk):
    """Answers as the function does, but does not know what is asked under the keys of these patterns.

    Steer it by `patterns`. Of a choice the option that says so is taken, where there is one; an entry that may be left
    empty stays empty, and one that may not gets something. `unknown` holds the keys that were answered so.
    """

    def __init__(self, answers: Answers, *patterns: str) -> None:
        super().__init__(answers)
        self.patterns = patterns
        self.unknown: list[str] = []

    async def choose(self, request: Choose) -> str:
        """The option that says that it is not known, where there is one."""
        known = await super().choose(request)
        missing = next((option.key for option in request.options if option.key in DO_NOT_KNOW), None)
        if missing is None or not self._is_meant(request.key):
            return known
        self.unknown.append(request.key)
        return missing

    async def enter(self, request: Enter) -> str:
        """Nothing, where that is allowed."""
        known = await super().enter(request)
        if known or request.optional:
            return known
        return "1" if request.kind is EntryKind.NUMBER else "not known"

    def _is_meant(self, key: str) -> bool:
        return any(fnmatchcase(key, pattern) for pattern in self.patterns)
