"""Every kind of entry, as one tagged union."""

from commission.evidence.chains import ChainBegun
from commission.evidence.found import Established
from commission.evidence.measured import Moves, MovesBegan, Trial, TrialBegan, Watch, WatchBegan, WatchBrokenOff
from commission.evidence.runs import (
    Interrupted,
    MadeSafe,
    Note,
    Opened,
    Opening,
    PhaseAbandoned,
    PhaseEnded,
    PhaseStarted,
    RunEnded,
    RunResumed,
    RunStarted,
)
from commission.evidence.soaked import SoakBegan, SoakStretch
from commission.evidence.talk import (
    Answered,
    Asked,
    FileAsked,
    FileKept,
    FingerprintAsked,
    Fingerprinted,
    HoldOpened,
    HoldReleased,
    Punched,
    RecallAsked,
    Recalled,
    ReleaseAnswered,
    ReleaseAsked,
    RereadAsked,
    RereadDone,
    Told,
)
from commission.evidence.wire import Bytes, CountedBytes, Heard, Intent, Listening, Result

AnyEntry = (
    RunStarted
    | RunResumed
    | RunEnded
    | MadeSafe
    | PhaseStarted
    | PhaseEnded
    | PhaseAbandoned
    | Opening
    | Opened
    | Interrupted
    | Note
    | Told
    | Asked
    | Answered
    | ReleaseAsked
    | ReleaseAnswered
    | HoldOpened
    | HoldReleased
    | Punched
    | FileAsked
    | FileKept
    | FingerprintAsked
    | Fingerprinted
    | RecallAsked
    | Recalled
    | RereadAsked
    | RereadDone
    | Intent
    | Result
    | Bytes
    | CountedBytes
    | SoakBegan
    | SoakStretch
    | Listening
    | Heard
    | TrialBegan
    | Trial
    | WatchBegan
    | Watch
    | WatchBrokenOff
    | MovesBegan
    | Moves
    | Established
    | ChainBegun
)
