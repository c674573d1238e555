"""Why there is no filament sensor to test, as far as the printer tells, and the next step; an unsafe open item.

Each family tells something else of its sensors, so each has its own reasons. What was not shown is not said.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from commission import command_lines
from commission.asking.message import Punch
from commission.asking.steps import Steps, establish
from commission.dialect.family import Family
from commission.dialect.runout import RunoutControl
from commission.evidence.findings.reported import NotReported
from commission.procedure.meeting.sensor_met import SensorMet
from commission.procedure.meeting.switch_name import Reported
from commission.vocabulary import PunchClass, Verdict

NO_LINE = "The printer's list of switches has no line for a filament sensor."
BY_A_PRINT = (
    "Test it at the machine: in a print hold the filament back or let it run out, with the power switch in reach, see "
    f"that the printer pauses, and write that down: `{command_lines.NOTE}`."
)


@dataclass(frozen=True)
class Why:
    """Why nothing can be tested: sentences, the open item and what to do about it.

    Attributes:
        shown: whether the printer's own words show that it has no sensor to read; else that is not known.
    """

    reasons: tuple[str, ...]
    item: str
    cure: str
    shown: bool = False


def not_reported(met: SensorMet | None) -> Steps[Verdict]:
    """Say it, record it, and leave it open; nothing at hand means that nothing is known of the printer.

    Returns:
        Fail where the printer's own words show that it has no sensor to read; not judged where that is not known.
    """
    met = met or SensorMet(None, Reported((), (), {}, 0), RunoutControl(), None, None)
    printer = met.printer
    family = Family.A if printer is None else printer.family
    why = _of_movement(met) if met.found is not None and met.found.moving else _WHY[family](met)
    announced = None if met.identity is None else met.identity.announces_runout
    yield from establish(
        NotReported(sentences=why.reasons, support_announced=announced, control_supported=met.runout.supported)
    )
    yield Punch(PunchClass.UNSAFE, why.item, why.cure)
    return Verdict.FAIL if why.shown else Verdict.NOT_JUDGED


def _of_movement(met: SensorMet) -> Why:
    names = " and ".join(each.source.text for each in met.found.moving) if met.found is not None else ""
    return Why(
        (
            f"What the printer tells of is a sensor of movement: {names}.",
            "At rest its reading says nothing of whether filament is there, so it is not judged.",
        ),
        "Only a sensor of movement is told of: whether it works is not tested.",
        f"`{command_lines.MOTION}` counts its changes over a measured length. {BY_A_PRINT}",
    )


def _widespread(met: SensorMet) -> Why:
    reasons = [NO_LINE]
    built_in = None if met.identity is None else met.identity.announces_runout
    if built_in is False or met.runout.supported is False:
        reasons.append("The printer says that runout support is not built into its firmware.")
        reasons.append(
            "If a sensor is plugged into the display's own connector, the display reads it: the main board cannot."
        )
    elif built_in is None:
        reasons.append("Whether runout support is built in is not announced; older firmware does not say.")
    else:
        reasons.append(
            "Runout support is announced as built in, yet no switch is reported: the input may be on another board."
        )
    return Why(
        tuple(reasons),
        "The filament switch is not reported: nothing protects this printer from running out.",
        "Build the firmware with the runout input enabled on the sensor's pin, put it on the board, run this again. "
        "A sensor on another input that is listed is read with `--source` and that input's name.",
        shown=bool(met.reported.states) or built_in is False or met.runout.supported is False,
    )


def _with_monitors(_: SensorMet) -> Why:
    return Why(
        (
            NO_LINE + " On this family none has: monitors of the drives tell of filament.",
            "The drives were asked one by one, and none has a monitor that tells whether filament is there.",
        ),
        "No filament monitor is set up: nothing protects this printer from running out.",
        "Set up a simple filament monitor on the sensor's input in the printer's start-up file, restart it yourself, "
        "and run this again.",
        shown=True,
    )


def _on_a_host(met: SensorMet) -> Why:
    by_name = met.found is not None and met.found.searched.by_name
    told = (
        "No sensor answered to a name that was tried or given. The console cannot list them."
        if by_name
        else "The host computer does not know the question for a filament sensor: none is set up."
    )
    cure = (
        "Look up the sensor's name in the host computer's configuration, then run this again with it."
        if by_name
        else "Set the sensor up in the host computer's configuration, restart the host yourself, run this again."
    )
    item = "No filament sensor could be read on this console."
    return Why((NO_LINE + " On this family none has.", told), item, cure, shown=met.found is not None and not by_name)


def _older_boards(_: SensorMet) -> Why:
    return Why(
        (
            "Nothing on this family's console tells what a filament sensor reads.",
            "A single pin can be asked for, but that makes it an input: it takes a release of its own.",
            "Whether runout or jam support is built in cannot be seen from here.",
        ),
        "No plain question reads the filament sensor on this console: nothing is judged of it.",
        BY_A_PRINT,
    )


def _with_files(_: SensorMet) -> Why:
    return Why(
        (
            "The console of this family tells of pulses of a moving filament, and of switches of the axes.",
            "A plain filament switch cannot be asked for. Whether one is set up cannot be seen from here.",
        ),
        "The filament sensor cannot be read on this console: nothing about it is tested.",
        "To read its input, name its pin as a spare switch of an axis in the configuration, restart it yourself, and "
        f"run this with `--source` and that switch's name. {BY_A_PRINT}",
    )


_WHY: Mapping[Family, Callable[[SensorMet], Why]] = MappingProxyType(
    {
        Family.A: _widespread,
        Family.B: _with_monitors,
        Family.C: _on_a_host,
        Family.D: _older_boards,
        Family.E: _with_files,
    }
)
