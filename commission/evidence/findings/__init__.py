"""Every kind of finding, as one tagged union."""

from typing import get_args

from commission.evidence.findings.base import Finding
from commission.evidence.findings.borrow import (
    AsPredicted,
    BorrowPredicted,
    SocketBorrowed,
    SocketHandedBack,
    SocketWired,
)
from commission.evidence.findings.cause import CheckJudged, Diagnosis
from commission.evidence.findings.function import (
    CardJob,
    EnabledAfterPower,
    FilamentChanged,
    FunctionTest,
    LongWait,
    Pause,
    PowerCycle,
    RealRunout,
    Reserve,
    ReserveRecalled,
    RunoutInChange,
    StartWithoutFilament,
    WireWord,
)
from commission.evidence.findings.gates import Gates, PauseTold
from commission.evidence.findings.loop import (
    Acceptance,
    Advised,
    FailSafeFound,
    MovingWiggle,
    MovingWiggleLeftOut,
    MovingWiggleMisread,
    MovingWiggleSetAside,
    Polarity,
    StartUp,
    Steady,
    SwitchNamed,
    TestsDone,
    UnpluggedAtBoard,
    UnpluggedAtSensor,
    UnpluggedSetAside,
    Wiggle,
    WiggleLeftOut,
    WiggleMisread,
    WiggleSetAside,
)
from commission.evidence.findings.meeting import (
    ChangesSince,
    Consent,
    IdentityAfterReflash,
    LeftOut,
    NextCheck,
    OpenOnRecord,
    PrinterIdentity,
    PrinterMarks,
    Repair,
    SignOff,
    TagShown,
    TakenOver,
    UnsafeOpen,
)
from commission.evidence.findings.motion import MotionChecked, MovementSensed
from commission.evidence.findings.pull import PullProof
from commission.evidence.findings.reported import (
    NotReported,
    RunoutControlAfterReflash,
    RunoutControlAfterRestart,
    RunoutControlAsFound,
    RunoutControlNow,
    SourcesFound,
    SwitchesAfterReflash,
    SwitchesAsFound,
    SwitchesNow,
)
from commission.evidence.findings.series import ChangeMade, ExaminedNothingFound, TrialSeries
from commission.evidence.findings.settings import (
    Afresh,
    BackupProven,
    Counters,
    FirmwareFiles,
    MemoryFails,
    NoStorage,
    Reflash,
    ReflashWithoutBackup,
    ReflashWorklist,
    ReloadFailed,
    Restore,
    RestoreSent,
    RestoreSource,
    RestoreStopped,
    RunoutControlAsLeft,
    SettingsAfterReflash,
    SettingsAfterRestore,
    SettingsAsFound,
    SettingsAsLeft,
    SettingsAsLeftUnknown,
    SettingsAsText,
    SettingsAtCheck,
    SettingsDrift,
    SettingsFiles,
    SettingsGaps,
    SettingsLostSightOf,
    SettingsNotKept,
    SettingsPlausibility,
    SettingsSaved,
    StoredValues,
)
from commission.evidence.findings.several import PathsSeen, SensorBegun, SensorsJudged, SensorsToTest
from commission.evidence.findings.soak import Soaked
from commission.evidence.findings.wiring import (
    InputClaims,
    MechanicalCheck,
    MeterCheck,
    NoMeter,
    PinLooked,
    PinReported,
    PredictedAndMeasured,
    Wiring,
    WiringNotKnown,
)

AnyFinding = (
    PrinterIdentity
    | IdentityAfterReflash
    | PrinterMarks
    | TagShown
    | SwitchesAsFound
    | SwitchesAfterReflash
    | SwitchesNow
    | RunoutControlAsFound
    | RunoutControlAfterReflash
    | RunoutControlNow
    | RunoutControlAfterRestart
    | SourcesFound
    | NotReported
    | ChangesSince
    | TakenOver
    | OpenOnRecord
    | UnsafeOpen
    | LeftOut
    | Consent
    | Repair
    | SignOff
    | NextCheck
    | Wiring
    | WiringNotKnown
    | InputClaims
    | PinReported
    | PinLooked
    | MechanicalCheck
    | MeterCheck
    | NoMeter
    | PredictedAndMeasured
    | TrialSeries
    | ChangeMade
    | ExaminedNothingFound
    | Acceptance
    | Polarity
    | FailSafeFound
    | Advised
    | Wiggle
    | MovingWiggle
    | Steady
    | Soaked
    | WiggleSetAside
    | MovingWiggleSetAside
    | WiggleMisread
    | MovingWiggleMisread
    | WiggleLeftOut
    | MovingWiggleLeftOut
    | StartUp
    | UnpluggedAtBoard
    | UnpluggedSetAside
    | PullProof
    | SwitchNamed
    | UnpluggedAtSensor
    | TestsDone
    | Gates
    | PauseTold
    | Reserve
    | ReserveRecalled
    | Pause
    | FilamentChanged
    | FunctionTest
    | RealRunout
    | RunoutInChange
    | StartWithoutFilament
    | LongWait
    | PowerCycle
    | EnabledAfterPower
    | WireWord
    | CardJob
    | SettingsAsFound
    | SettingsAtCheck
    | SettingsAfterReflash
    | SettingsAfterRestore
    | SettingsAsLeft
    | SettingsAsLeftUnknown
    | SettingsNotKept
    | SettingsLostSightOf
    | SettingsAsText
    | BackupProven
    | SettingsGaps
    | SettingsFiles
    | SettingsPlausibility
    | Counters
    | SettingsDrift
    | SettingsSaved
    | StoredValues
    | RestoreSource
    | RestoreSent
    | RestoreStopped
    | Restore
    | ReloadFailed
    | Afresh
    | NoStorage
    | MemoryFails
    | Reflash
    | ReflashWorklist
    | ReflashWithoutBackup
    | FirmwareFiles
    | SocketBorrowed
    | SocketWired
    | BorrowPredicted
    | SocketHandedBack
    | AsPredicted
    | RunoutControlAsLeft
    | Diagnosis
    | CheckJudged
    | SensorsToTest
    | PathsSeen
    | SensorBegun
    | SensorsJudged
    | MotionChecked
    | MovementSensed
)
KINDS: dict[str, type[Finding]] = {kind.name(): kind for kind in get_args(AnyFinding)}
"""Every kind of finding by its name."""
