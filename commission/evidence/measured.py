"""Entries of what was read: trials, watches and test moves."""

from msgspec import Struct, structs

from commission.evidence.entry import Count, Entry, Seconds
from commission.evidence.wire import HeardSign, Open
from commission.judge.stability import Sample, unwanted_changes
from commission.judge.trial import TimedTrial
from commission.vocabulary import Instruction, Presence, Reading, Slowed, Spoken


class TimedReading(Struct, frozen=True, array_like=True):
    """One reading with its moment.

    Attributes:
        at_s: seconds since the trial's prompt or the watch's start, when the answer was complete.
        wire_word: the printer's own word, sanitised; data for the record, never decided upon.
    """

    at_s: float
    reading: Reading
    wire_word: str

    def __post_init__(self) -> None:
        if not -1e7 < self.at_s < 1e7:
            raise ValueError(f"A reading has a moment within four months, not {self.at_s}")


Readings = tuple[TimedReading, ...]


def samples_of(readings: Readings) -> tuple[Sample, ...]:
    """Readings as they are judged: without the printer's words."""
    return tuple(Sample(each.at_s, each.reading) for each in readings)


class _Prompt(Entry, frozen=True, kw_only=True):
    """What a trial asks for; see `asking.request.TakeTrial`."""

    number: Count
    cycle: Count
    instruction: Instruction
    presence: Presence
    switch: str
    countdown_s: Seconds
    readings: Count
    dwell_s: Seconds


class TrialBegan(_Prompt, frozen=True, kw_only=True, tag="trial_began"):
    """A prompt is about to be shown."""


class Trial(_Prompt, frozen=True, kw_only=True, tag="trial"):
    """What came of a trial.

    Attributes:
        before: readings during the countdown.
        dwell: the readings that count.
        unread: queries of the dwell that brought no reading of this switch.
        void_reason: why the operator declared it spoilt, or had it wait; empty when it stands.
        spoken: when the operator did so; None when it stands, and in older books.
        void_before: why the operator declared the trial before it spoilt, during this one; empty when not.
        remark: what else the operator marked.
    """

    before: Readings
    dwell: Readings
    unread: Count = 0
    void_reason: str = ""
    remark: str = ""
    spoken: Spoken | None = None
    void_before: str = ""

    @property
    def timed(self) -> TimedTrial:
        """The trial as it is measured."""
        moved = self.instruction is not Instruction.LEAVE
        return TimedTrial(self.presence, moved, samples_of(self.before), samples_of(self.dwell), self.spoken)

    @classmethod
    def of(
        cls,
        began: TrialBegan,
        before: Readings,
        dwell: Readings,
        *,
        unread: int,
        void_reason: str,
        remark: str,
        spoken: Spoken | None = None,
        void_before: str = "",
    ) -> "Trial":
        """What came of that prompt."""
        return cls(
            **structs.asdict(began),
            before=before,
            dwell=dwell,
            unread=unread,
            void_reason=void_reason,
            remark=remark,
            spoken=spoken,
            void_before=void_before,
        )


class _Watching(Entry, frozen=True, kw_only=True):
    """What a watch is for; see `asking.request.Watch`."""

    title: str
    presence: Presence | None
    key: str = ""
    switch: str = ""
    seconds: Seconds = 0.0
    planned_readings: Count = 0


class WatchBegan(_Watching, frozen=True, kw_only=True, tag="watch_began"):
    """A watch is about to begin."""


class Watch(_Watching, frozen=True, kw_only=True, tag="watch"):
    """What came of a watch.

    Attributes:
        largest_gap_s: the longest time between two readings.
        unread: queries that brought no reading of this switch.
        void_reason: why the operator declared it spoilt before it began; empty when it stands.
        remark: what else the operator marked.
        slowed: why it was not read as fast as the wire allows; None where it was, or was not to be.
    """

    readings: Readings
    taken_s: Seconds
    largest_gap_s: Seconds
    unread: Count = 0
    void_reason: str = ""
    remark: str = ""
    slowed: Slowed | None = None

    @property
    def changes(self) -> int:
        """How often a known reading differs from the one before it."""
        return unwanted_changes([each.reading for each in self.readings])

    @classmethod
    def of(
        cls,
        began: WatchBegan,
        readings: Readings,
        taken_s: float,
        largest_gap_s: float,
        unread: int,
        void_reason: str = "",
        remark: str = "",
        slowed: Slowed | None = None,
    ) -> "Watch":
        """What came of that watch."""
        return cls(
            **structs.asdict(began),
            readings=readings,
            taken_s=taken_s,
            largest_gap_s=largest_gap_s,
            unread=unread,
            void_reason=void_reason,
            remark=remark,
            slowed=slowed,
        )


class WatchBrokenOff(_Watching, frozen=True, kw_only=True, tag="watch_broken_off"):
    """What had been read of a watch when the run was ended in it."""

    readings: Readings

    @property
    def changes(self) -> int:
        """How often a known reading differs from the one before it."""
        return unwanted_changes([each.reading for each in self.readings])

    @classmethod
    def of(cls, began: WatchBegan, readings: Readings) -> "WatchBrokenOff":
        """What had been read of that watch."""
        return cls(**structs.asdict(began), readings=readings)


class MovesBegan(Entry, frozen=True, kw_only=True, tag="moves_began"):
    """Test moves are about to begin; `sends` says whether the tool sends them."""

    key: str
    title: str
    switch: str = ""
    release: str = ""
    feed_mm: float = 0.0
    travel_mm: float = 0.0
    block_s: Seconds = 0.0
    queue_blocks: Count = 0
    sends: bool = True


class AckedMove(Struct, frozen=True, array_like=True):
    """One acknowledged move: seconds since the moves began, and the filament it feeds in mm."""

    at_s: float
    feed_mm: float


class Moves(Entry, frozen=True, kw_only=True, tag="moves"):
    """What came of test moves.

    Attributes:
        end: how they ended, in words.
        silent: the printer said nothing at all from some moment on.
        open: the question that was open at the end.
        slowed: why it was not read as fast as the wire allows; None where it was, or there was no time for it.
    """

    key: str
    end: str
    moves: tuple[AckedMove, ...]
    readings: Readings
    taken_s: Seconds
    signs: tuple[HeardSign, ...] = ()
    silent: bool = False
    open: Open = None
    slowed: Slowed | None = None
