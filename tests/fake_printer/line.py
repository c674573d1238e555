"""A host at the simulated printer's line, for these tests."""

import dataclasses
from random import Random

from fake_printer.memory import Memory
from fake_printer.printer import Printer
from fake_printer.profile import load_profile
from fake_printer.specs import Profile


def chance(seed: int) -> Random:
    """A repeatable source of chance."""
    return Random(seed)  # noqa: S311 - repeatable, not secret


class Host:
    """Asks, and lets time pass.

    Change a unit by keyword: the name of a part and the fields to replace, as in `firmware={"busy": "none"}`.
    """

    def __init__(
        self, unit: str = "sound", *, seed: int = 0, memory: Memory | None = None, **changes: dict[str, object]
    ) -> None:
        self.printer = Printer(changed(load_profile(unit), **changes), seed=seed, memory=memory)

    def send(self, text: str) -> None:
        """Send one line."""
        self.printer.receive(text.encode("latin-1") + b"\n")

    def lines(self) -> list[str]:
        """What has come, as lines."""
        return self.printer.take_output().decode("latin-1").splitlines()

    def ask(self, text: str) -> list[str]:
        """Send one line and take what comes at once."""
        self.send(text)
        return self.lines()

    def after(self, elapsed_s: float) -> list[str]:
        """Let time pass and take what has come."""
        self.printer.advance(elapsed_s)
        return self.lines()

    def do(self, verb: str, *words: str, settle_s: float = 1.0) -> None:
        """Have the hands do something and wait until it is done."""
        self.printer.perform(verb, *words)
        self.printer.advance(settle_s)

    def filament_word(self) -> str | None:
        """The word behind the filament's name; None without such a line."""
        found = [line.partition(": ")[2] for line in self.ask("M119") if line.startswith("filament:")]
        return found[0] if found else None

    def words(self, count: int = 60, gap_s: float = 0.1) -> set[str | None]:
        """Every word seen in that many readings."""
        seen = set()
        for _ in range(count):
            seen.add(self.filament_word())
            self.printer.advance(gap_s)
        return seen


def changed(profile: Profile, **changes: dict[str, object]) -> Profile:
    """The profile with fields of its parts replaced; `runout` and `input` are reached by their own names."""
    for part, fields in changes.items():
        if part == "runout":
            firmware = profile.firmware
            fields = {"runout": dataclasses.replace(firmware.runout, **fields)}  # type: ignore[arg-type]  # noqa: PLW2901
            part = "firmware"  # noqa: PLW2901
        if part == "input":
            fields = {"input": dataclasses.replace(profile.board.input, **fields)}  # type: ignore[arg-type]  # noqa: PLW2901
            part = "board"  # noqa: PLW2901
        profile = dataclasses.replace(profile, **{part: dataclasses.replace(getattr(profile, part), **fields)})
    return profile
