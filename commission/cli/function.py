"""`commission function`: does the printer really pause when the filament runs out?"""

from typing import TYPE_CHECKING

import click

from commission.cli.guided_options import guided_options, source_option
from commission.cli.numbers import Count, Number
from commission.cli.tag import tag_argument

if TYPE_CHECKING:
    from commission.asking.steps import Steps
    from commission.cli.options import Context
    from commission.jobs.install import JobResult
    from commission.procedure.function.plan import FunctionPlan

MODES = ("dry", "warm", "card", "host")


@click.command(
    name="function",
    epilog="Example: commission function bench-3 --port /dev/ttyUSB0 --mode dry --trip-to-gear 40",
)
@tag_argument()
@click.option("--mode", type=click.Choice(MODES), default="dry", show_default=True, help="How the moves are made.")
@click.option("--flow", type=Number(0, 50, min_open=True), default=5.0, show_default=True, help="mm³/s fed.")
@click.option("--diameter", type=Number(0, 5, min_open=True), default=1.75, show_default=True, help="mm.")
@click.option("--temperature", type=Number(150, 300), default=200.0, show_default=True, help="°C, if warm.")
@click.option("--material", default="", help="What is extruded in a warm test; named in the release.")
@click.option("--pauses", type=Count(1, 20), default=3, show_default=True, help="Runouts; a pass takes 3.")
@click.option("--homed", is_flag=True, help="The axes are homed already; else the tool homes them first.")
@click.option("--trip-to-gear", type=Number(0, 100_000), help="mm from trip point to drive gear, if measured.")
@click.option("--grip", type=Number(0, 1000), default=12.0, show_default=True, help="mm kept for the gear.")
@click.option("--retract", type=Number(0, 1000), default=5.0, show_default=True, help="mm of the longest retraction.")
@click.option("--queue", type=Number(0, 1000), default=5.0, show_default=True, help="mm queued in your jobs.")
@source_option
@guided_options()
@click.pass_context
def function(context: click.Context, /, tag: str, **options: object) -> None:
    """Provoke runouts on the printer TAG and see whether it pauses, and goes on after the change.

    The gates in front of a pause are read or asked first. With one shut that no move can open, nothing is moved, and
    that gate is the finding. A leftover distance that is too long shuts none of these: it pauses, but too late.
    Everything that moves or heats waits for your release, which names it. dry: cold, the path empty, the drive gear
    free. warm: real extrusion in the air over a free bed, with a real runout; a pass takes this one. card: a small job
    file that you start from the card. host: moves streamed without telling the board of a job.

    Stay with the printer. Whatever ends the run, the tool makes the printer safe and says what was delivered.
    """
    from commission.cli.options import Job, Settings
    from commission.cli.running import run_guided

    plan = _plan(options)
    job = Job("function", lambda run: _steps(run, plan), has_trials=False)
    context.exit(run_guided(Settings.of(tag, options), job))


def _plan(options: dict[str, object]) -> "FunctionPlan":
    """The plan from the options, which are taken out of them."""
    from commission.judge.reserve import Path as FilamentPath
    from commission.judge.volume import Queue
    from commission.procedure.function.plan import FunctionPlan, Mode

    to_gear = options.pop("trip_to_gear")
    grip, queue, retract = (float(str(options.pop(name))) for name in ("grip", "queue", "retract"))
    plan = FunctionPlan(
        mode=Mode(options.pop("mode")),
        flow_mm3_s=float(str(options.pop("flow"))),
        diameter_mm=float(str(options.pop("diameter"))),
        celsius=float(str(options.pop("temperature"))),
        material=str(options.pop("material")),
        pauses=int(str(options.pop("pauses"))),
        homed=bool(options.pop("homed")),
    )
    if to_gear is None:
        return plan
    as_given = Queue(queue, "a queue as given")
    path = FilamentPath(float(str(to_gear)), grip_mm=grip, queue=as_given, retract_mm=retract)
    return plan.with_room(path.leftover_max_mm, path.trip_to_gear_mm)


def _steps(run: "Context", plan: "FunctionPlan") -> "Steps[JobResult]":
    from commission.jobs.function import function_run

    return function_run(plan, run.person, run.known.surroundings, run.known.on_record, run.known.sensors)
