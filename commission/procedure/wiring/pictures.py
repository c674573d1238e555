"""An installation put into the words of the wiring picture, which knows no wiring."""

from commission.drawing.wiring import PullSymbol, WiringPicture
from commission.vocabulary import Presence
from commission.wiring.assessment import Assessment
from commission.wiring.installation import Installation
from commission.wiring.terminals import far_ends, joined, pull_label, pull_on_board


def picture_of(installation: Installation, assessment: Assessment, board: str = "board input") -> WiringPicture:
    """The picture of an installation, with its hazards written under it."""
    label = pull_label(installation)
    up = label.startswith("pull-up")
    return WiringPicture(
        board,
        installation.facts.title,
        far_ends(installation),
        joined(installation, Presence.IN),
        joined(installation, Presence.OUT),
        PullSymbol(pull_on_board(installation), up, label) if label else None,
        assessment.hazards,
    )


def table_lines(assessment: Assessment) -> list[str]:
    """The predicted table, one line a state that this installation can be in."""
    rows = [(single.words, pair) for single, pair in assessment.states.items() if pair]
    if not rows:
        return []
    cells = [(words, pair.filament_in.words, pair.filament_out.words) for words, pair in rows]
    wide = max(22, *(len(when_in) for _, when_in, _ in cells))
    names = 28 if wide == 22 else 25  # a long cell of damage takes its room from the names
    head = ("", "filament in", "filament out")
    return [f"{name:<{names}} {when_in:<{wide}} {when_out}" for name, when_in, when_out in (head, *cells)]
