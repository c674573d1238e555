"""What a request is answered by: its own response, or an interruption thrown in its place."""

from dataclasses import dataclass
from enum import Enum

from commission.judge.power import PowerSeen, power_seen
from commission.judge.stability import Sample
from commission.vocabulary import Slowed, Spoken


class InterruptionKind(Enum):
    """Why a request was not answered by its own response."""

    BOARD_RESTARTED = "the board restarted"
    NOT_CONNECTED = "the printer was not reached"
    PORT_BUSY = "the port is in use"
    PRINTING = "the printer is printing"
    LINK_LOST = "the link was lost"
    NO_ANSWER = "the printer does not answer"
    NO_END = "the printer sends without end"
    HALTED = "the printer has halted"
    OPERATOR_STOP = "stopped by the operator"
    WATCHDOG = "nobody answered"
    OTHER_PRINTER = "another printer answered"
    NO_SOURCE = "the sensor cannot be read as was asked for"

    @property
    def suspects_wiring(self) -> bool:
        """Whether it is what a supply shorted through the switch looks like, while the sensor is being worked."""
        return self in {InterruptionKind.BOARD_RESTARTED, InterruptionKind.LINK_LOST, InterruptionKind.NO_ANSWER}


@dataclass(frozen=True)
class Interruption:
    """What came instead of a response; `detail` is one sentence for the operator."""

    kind: InterruptionKind
    detail: str = ""


class Interrupted(Exception):
    """Thrown into a phase in place of a response."""

    def __init__(self, interruption: Interruption) -> None:
        super().__init__(f"{interruption.kind.value}: {interruption.detail}".rstrip(": "))
        self.interruption = interruption


@dataclass(frozen=True)
class TimedReading(Sample):
    """One reading with its moment: seconds since the trial's prompt or the watch's start, when the answer was complete.

    Attributes:
        wire_word: the printer's own word, sanitised; data for the record, never decided upon.
    """

    wire_word: str


@dataclass(frozen=True)
class TrialTaken:
    """What came of a trial.

    Attributes:
        before: readings during the countdown, for the timeline only.
        dwell: the readings that count, in order.
        unread: queries of the dwell that brought no reading of this switch.
        void_reason: why the operator declared it spoilt, or had it wait; empty when it stands.
        spoken: when the operator did so; None when it stands.
        void_before: why the operator declared the trial before it spoilt, during this one; empty when not.
        remark: what else the operator marked, as `I did it and nothing changed`.
    """

    before: tuple[TimedReading, ...]
    dwell: tuple[TimedReading, ...]
    unread: int = 0
    void_reason: str = ""
    remark: str = ""
    spoken: Spoken | None = None
    void_before: str = ""


@dataclass(frozen=True)
class WatchTaken:
    """What came of a watch; `largest_gap_s` is the longest time between two readings.

    Attributes:
        void_reason: why the operator declared it spoilt before it began; it has no readings then.
        remark: what else the operator marked.
        summary: said in place of the readings, where they were too many to keep; empty for none.
        slowed: why it was not read as fast as the wire allows; None where it was, or was not to be.
    """

    readings: tuple[TimedReading, ...]
    seconds: float
    largest_gap_s: float
    unread: int = 0
    void_reason: str = ""
    remark: str = ""
    summary: str = ""
    slowed: Slowed | None = None


@dataclass(frozen=True)
class HoldReleased:
    """The operator released the hold point.

    Attributes:
        restarted: whether a boot banner was heard, while it was held or when the link came back.
        port: where the printer answered afterwards.
        heard: what the printer said by itself on the way back, sanitised lines.
        same_identity: whether it announces itself as the printer did that was opened first.
        port_gone: whether the port went away while it was held.
        count_lost: whether the printer lost its count of lines meanwhile.
    """

    restarted: bool = False
    port: str = ""
    heard: tuple[str, ...] = ()
    same_identity: bool = True
    port_gone: bool = False
    count_lost: bool = False

    @property
    def power(self) -> PowerSeen:
        """How far it was seen that the power was off."""
        return power_seen(restarted=self.restarted, port_gone=self.port_gone, count_lost=self.count_lost)
