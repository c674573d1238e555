"""Which sensor belongs to which filament path: judged by which readings follow when one filament is moved.

A reading follows when it is another one with the filament in than before and after, each read steadily. A sensor that
reads the wrong way round follows as well: which way it reads is for its loop check.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from commission.vocabulary import Reading, Verdict

WORST_FIRST = (Verdict.FAIL, Verdict.NOT_JUDGED, Verdict.CONDITIONAL, Verdict.PASS)
Readings = Mapping[str, Reading]


def worst(verdicts: Iterable[Verdict]) -> Verdict:
    """The worst of these verdicts; of none *not judged*."""
    found = set(verdicts)
    return next((verdict for verdict in WORST_FIRST if verdict in found), Verdict.NOT_JUDGED)


@dataclass(frozen=True)
class PathMoved:
    """One path whose filament was moved in and out again, and no other one.

    Attributes:
        path: what it is called.
        sensor: the sensor that belongs to it.
        before, inside, after: what each sensor read with its filament out, in, and out again; unknown where the
            reading was not steady.
    """

    path: str
    sensor: str
    before: Readings
    inside: Readings
    after: Readings

    @property
    def followed(self) -> tuple[str, ...]:
        """The sensors that followed it."""
        return tuple(name for name in self.inside if self._follows(name))

    @property
    def unread(self) -> tuple[str, ...]:
        """The sensors of which a reading is missing."""
        return tuple(name for name in self.inside if Reading.UNKNOWN in self._three(name))

    @property
    def proven(self) -> bool:
        """Whether its own sensor followed, and every other one was read and did not."""
        return self.followed == (self.sensor,) and not self.unread

    @property
    def crossed(self) -> bool:
        """Whether it moved another sensor, and not its own."""
        return bool(self.followed) and self.sensor not in self.followed and self.sensor not in self.unread

    @property
    def sentence(self) -> str:
        """What was seen, in words."""
        if self.proven:
            return f"The filament of {self.path} moves {self.sensor}, and no other sensor."
        if self.crossed:
            moved = " and ".join(self.followed)
            return f"The filament of {self.path} moves {moved}, and NOT {self.sensor}, which belongs to it."
        if self.unread:
            return f"{self.path}: {' and '.join(self.unread)} could not be read steadily."
        if not self.followed:
            return f"No sensor follows the filament of {self.path}."
        return f"The filament of {self.path} moves {' and '.join(self.followed)}: they are not told apart."

    def _three(self, name: str) -> tuple[Reading, Reading, Reading]:
        unknown = Reading.UNKNOWN
        return self.before.get(name, unknown), self.inside.get(name, unknown), self.after.get(name, unknown)

    def _follows(self, name: str) -> bool:
        before, inside, after = self._three(name)
        return Reading.UNKNOWN not in (before, inside) and before is after and inside is not before


def paths_verdict(moved: Sequence[PathMoved]) -> Verdict:
    """Fail where a filament moves another path's sensor, pass where each moves its own alone, else not judged.

    A sensor that follows nothing is not judged here: it may be dead, or the filament was not moved. Its own loop check
    tells that apart.
    """
    if any(each.crossed for each in moved):
        return Verdict.FAIL
    if moved and all(each.proven for each in moved):
        return Verdict.PASS
    return Verdict.NOT_JUDGED
