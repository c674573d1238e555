"""What a scenario checks: one thing that has to be so, and what came of it."""

from __future__ import annotations

from dataclasses import dataclass

from scripts.usb_lab_parts.pc import Said


@dataclass(frozen=True)
class Check:
    """One thing that has to be so.

    Attributes:
        what: in a few words.
        expected, got: compared as they are.
    """

    what: str
    expected: object
    got: object

    @property
    def held(self) -> bool:
        """Whether it is so."""
        return self.expected == self.got


def sentence(said: Said, what: str, expected: str) -> Check:
    """Whether a command said a sentence; what came is the last that it said where it did not."""
    spoken = f"{said.out}\n{said.err}"
    return Check(what, expected, expected if expected in spoken else " ".join(spoken.splitlines()[-3:]))
