"""An installation in the plain words a picture needs: what the far ends are called, what is joined when, the pull."""

from commission.vocabulary import Contact, Presence, Pull
from commission.wiring.behaviour import joined_terminals
from commission.wiring.installation import Changeover, DryContact, Installation, PullBy, Terminal
from commission.wiring.situation import Situation


def far_ends(installation: Installation) -> dict[str, str]:
    """The sensor's terminal at the end of each wire, by the wire's function."""
    names = {terminal: f"module {terminal.value}" for terminal in installation.conductors}
    match installation.sensor:
        case DryContact() as contact:
            open_ = contact.contact is Contact.NORMALLY_OPEN
            names[Terminal.SIGNAL] = "normally open" if open_ else "normally closed"
            names[contact.to] = "common"
        case Changeover() as switch:
            names = {switch.common: "common", switch.no_side: "normally open", switch.nc_side: "normally closed"}
        case _:
            names[Terminal.SIGNAL] = "module output"
    return {terminal.value: name for terminal, name in names.items()}


def joined(installation: Installation, presence: Presence) -> tuple[str, str] | None:
    """The two functions the sensor joins with this presence, or nothing."""
    pair = joined_terminals(installation, Situation(presence))
    return (pair[0].value, pair[1].value) if pair else None


def pull_label(installation: Installation) -> str:
    """The pull with its range of resistance, or nothing when there is none."""
    if installation.pull is Pull.NONE:
        return ""
    least, greatest = (f"{ohm / 1000:g}" for ohm in installation.pull_ohm)
    rail = f"{installation.pull_rail_v:g} V" if installation.pull is Pull.UP else "ground"
    return f"pull-{installation.pull.value} {least} to {greatest} kilohm to {rail}"


def pull_on_board(installation: Installation) -> bool:
    """Whether the pull stays when the plug is pulled."""
    return installation.pull_by is PullBy.BOARD
