"""`reserve`: how much filament is left between sensor and drive gear when the pause comes, and when it comes."""

import json
import re
from pathlib import Path as FilePath

import click

from commission.cli.exit_codes import FAILED, PASSED, exits
from commission.cli.numbers import Count, Number
from commission.cli.telling import hand_out, say
from commission.drawing.filament_path import path_svg, path_text
from commission.files.kinds import PICTURE, picture
from commission.files.output import write_output
from commission.judge.reserve import Path, Reserve, reserve
from commission.judge.volume import (
    Bead,
    Queue,
    bead_of_nozzle,
    queue_of_moves,
    usual_moves,
)
from commission.judge.volume import long_moves as long_moves_of
from commission.procedure.function.reserve import picture_of
from commission.units import millimetres, seconds

_LENGTH = Number(0, 100_000)
_ABOVE_ZERO = Number(0, 100_000, min_open=True)
_BEAD = re.compile(r"(\d{0,3}(?:\.\d{1,3})?)\s*[xX]\s*(\d{0,3}(?:\.\d{1,3})?)$")


def _bead(_context: click.Context, _parameter: click.Parameter, text: str | None) -> Bead | None:
    if text is None:
        return None
    found = _BEAD.match(text.strip())
    if found is None or not found[1] or not found[2]:
        raise click.BadParameter("write WIDTHxHEIGHT in mm, as in 0.45x0.2")
    try:
        return Bead(float(found[1]), float(found[2]))
    except ValueError as error:
        raise click.BadParameter(str(error)) from error


@click.command(name="reserve", epilog="Example: commission reserve --trip-to-gear 40 --gear-to-nozzle 60 --flow 5")
@click.option(
    "--trip-to-gear", type=_LENGTH, required=True, help="mm from the trip point to where the drive gear grips."
)
@click.option("--gear-to-nozzle", type=_LENGTH, help="mm from where the gear grips to the nozzle tip.")
@click.option("--trip-uncertainty", type=_LENGTH, default=3.0, show_default=True, help="mm the trip point varies.")
@click.option("--queue", type=_LENGTH, help="mm of filament in moves already queued.  [default: 5]")
@click.option("--nozzle", type=_ABOVE_ZERO, help="mm of bore: work the queue out instead of naming it.")
@click.option("--bead", callback=_bead, metavar="WxH", help="Bead in mm, with --move: work the queue out.")
@click.option("--move", type=_ABOVE_ZERO, help="mm of travel of each queued move, with --bead or --nozzle.")
@click.option("--long-moves", is_flag=True, help="Reckon with long straight moves, of 100 mm each.")
@click.option("--blocks", type=Count(1, 1024), default=16, show_default=True, help="Moves the queue holds.")
@click.option("--retract", type=_LENGTH, default=5.0, show_default=True, help="mm of the longest retraction.")
@click.option("--grip", type=_LENGTH, default=12.0, show_default=True, help="mm kept upstream of the gear to pull at.")
@click.option("--leftover", type=_LENGTH, help="mm still printed after the trip; chosen if not given.")
@click.option("--unload", type=_LENGTH, help="mm the printer unloads; 0 when the tail is pushed out.")
@click.option("--load", type=_LENGTH, help="mm it loads fast.")
@click.option("--diameter", type=_ABOVE_ZERO, default=1.75, show_default=True, help="mm of the filament.")
@click.option("--flow", type=_ABOVE_ZERO, default=5.0, show_default=True, help="mm³/s while the pause is awaited.")
@click.option("--json", "as_json", is_flag=True, help="Print the result as JSON; lengths in mm, times in s.")
@click.option("--plain", is_flag=True, help="Say in a sentence what the picture shows: for screen readers.")
@click.option(
    "--svg", "svg_file", type=click.Path(dir_okay=False, path_type=FilePath), help="Write the picture to this file."
)
@click.pass_context
@exits({PASSED: "it fits", FAILED: "it does not; the cures are listed"})
def reserve_command(
    context: click.Context,
    /,
    *,
    nozzle: float | None,
    bead: Bead | None,
    move: float | None,
    long_moves: bool,
    blocks: int,
    as_json: bool,
    plain: bool,
    svg_file: FilePath | None,
    **lengths: float | None,
) -> None:
    """Check that the pause comes while the gear still holds the filament.

    All lengths are millimetres of filament along the path. Nothing is sent to a printer. When the lengths do not fit,
    the cures are listed.
    """
    diameter = lengths["diameter"] or 1.75
    printed = bead or bead_of_nozzle(nozzle or 0.4)
    harder = long_moves_of(printed, diameter_mm=diameter, blocks=blocks)
    named = lengths.pop("queue")
    if long_moves:
        if named is not None or move is not None:
            raise click.UsageError("--long-moves is a queue by itself: leave --queue and --move out.")
        queue = harder
    else:
        queue = _queue(named, nozzle, bead, move, blocks, diameter)
    path = _path(lengths, queue, harder)
    found = reserve(path)
    if svg_file is not None:
        write_output(svg_file, picture(path_svg(picture_of(path, found))), PICTURE)
    if as_json:
        hand_out(json.dumps(found.as_json(), indent=2))
    else:
        say(screen(path, found, plain=plain), end="")
    context.exit(FAILED if found.refused else PASSED)


def _queue(
    queue: float | None, nozzle: float | None, bead: Bead | None, move: float | None, blocks: int, diameter: float
) -> Queue:
    """The queue as named, or worked out from what is queued."""
    if queue is not None:
        if nozzle is not None or bead is not None or move is not None:
            raise click.UsageError("Give either --queue, or --nozzle / --bead with --move; not both.")
        return Queue(queue, "a queue as given")
    if move is None:
        if bead is not None:
            raise click.UsageError("--bead needs --move: how long each queued move is. Or take --long-moves.")
        return usual_moves(nozzle or 0.4, diameter_mm=diameter)
    if bead is None and nozzle is None:
        raise click.UsageError("--move needs --bead or --nozzle: how thick the bead is.")
    return queue_of_moves(bead or bead_of_nozzle(nozzle or 0.4), move, diameter_mm=diameter, blocks=blocks)


def _path(lengths: dict[str, float | None], queue: Queue, harder: Queue) -> Path:
    named = {f"{name}_mm": value for name, value in lengths.items() if name != "flow" and value is not None}
    return Path(**named, queue=queue, harder=harder, flow_mm3_s=lengths["flow"] or 5.0)


def screen(path: Path, found: Reserve, *, plain: bool = False) -> str:
    """The result as a person reads it, every number with its unit."""
    most = f"at most {millimetres(found.leftover_max_mm)}" if found.leftover_max_mm >= 0 else "none fits"
    rows = [
        ("leftover distance", f"{millimetres(found.leftover_mm)} ({most})"),
        (
            "spare",
            millimetres(found.margin_mm) if found.margin_mm >= 0 else f"{millimetres(-found.margin_mm)} too little",
        ),
        ("queued moves", millimetres(path.queue_mm)),
        ("pause after", f"{millimetres(found.pause_after_mm)} of filament, {seconds(found.pause_after_s)}"),
        ("at a flow of", f"{path.flow_mm3_s:g} mm³/s, {path.speed_mm_s:.2f} mm/s of filament"),
        ("at the latest after", f"{millimetres(found.latest_mm)} of filament"),
        ("a test waits", f"{seconds(found.time_limit_s)} at most"),
    ]
    if found.air_mm:
        rows.append(("with no filament left", f"up to {millimetres(found.air_mm)} print"))
    if found.reach_mm is not None:
        rows.append(("tail after unloading", f"{millimetres(found.reach_mm)} on the spool side of the trip point"))
    lines = [f"  {name:<22}{value}" for name, value in rows]
    drawn = picture_of(path, found)
    verdict = "Refused: it does not fit." if found.refused else "It fits for this job."
    return "\n".join(
        [
            f"{click.wrap_text(drawn.description, 78)}\n" if plain else path_text(drawn),
            *lines,
            "",
            *(click.wrap_text(line, 78, "  ", "  ") for line in (*found.reasons, *found.assumes)),
            verdict,
            "",
        ]
    )
