"""The command line: one file per subcommand; the only place that plugs real parts together.

Everything slow to load is imported inside the commands, so that help and version come at once.
"""

import importlib
from collections.abc import Mapping
from typing import Any

import click

COMMANDS: Mapping[str, str] = {
    "install": "commission.cli.install:install",
    "backup": "commission.cli.backup:backup",
    "restore": "commission.cli.restore:restore",
    "check": "commission.cli.check:check",
    "note": "commission.cli.note:note",
    "book": "commission.cli.book:book",
    "report": "commission.cli.report:report",
    "read": "commission.cli.read:read",
    "compare": "commission.cli.compare:compare",
    "wiring": "commission.cli.wiring:wiring",
    "diagnose": "commission.cli.diagnose:diagnose",
    "reserve": "commission.cli.reserve:reserve_command",
    "function": "commission.cli.function:function",
    "ports": "commission.cli.ports:ports",
    "demo": "commission.cli.demo:demo",
}
"""Every subcommand and where it lives, in the order in which help lists them."""


SUMMARIES: Mapping[str, str] = {
    "install": "Check a newly fitted filament sensor, step by step.",
    "backup": "Keep a record of the settings as they are.",
    "restore": "Put recorded settings back after a reflash.",
    "check": "Repeat the check, and compare with the record.",
    "note": "Write a note into the record book.",
    "book": "Look into the record book, take it elsewhere, or verify it.",
    "report": "Draw a report again from the record book.",
    "read": "Say what is understood of a saved console capture.",
    "compare": "Compare two settings reports by value.",
    "wiring": "Predict what a wiring reads, sound and with each single fault.",
    "diagnose": "Find out what is wrong with a sensor.",
    "reserve": "Work out when the pause comes and what is left by then.",
    "function": "Provoke runouts and see whether the printer pauses.",
    "ports": "List the serial ports without opening any.",
    "demo": "Run the guided check on a simulated printer.",
}
"""One line each for the overview, so that showing it loads none of them."""


class _Lazy(click.Group):
    """Loads a subcommand when it is named, and none to list them."""

    def format_commands(self, _context: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, SUMMARIES[name]) for name in COMMANDS])

    def invoke(self, context: click.Context) -> Any:
        try:
            return super().invoke(context)
        except KeyboardInterrupt:
            from commission.cli.exit_codes import STOPPED
            from commission.cli.signals import end_undisturbed

            end_undisturbed(context)
            click.echo("Stopped by Ctrl-C.", err=True)
            context.exit(STOPPED)
        except click.ClickException as problem:
            from commission.cli.telling import in_lines

            raise in_lines(problem) from problem

    def list_commands(self, _context: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, _context: click.Context, name: str) -> click.Command | None:
        if name not in COMMANDS:
            return None
        module, attribute = COMMANDS[name].split(":")
        command = getattr(importlib.import_module(module), attribute)
        if not isinstance(command, click.Command):
            raise TypeError(f"{COMMANDS[name]} is no command")
        return command


@click.command(cls=_Lazy, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="commission", prog_name="commission")
def main() -> None:
    """Commission a filament-presence sensor on a desktop extrusion printer, over its serial console.

    It asks the printer for its switch states while you insert and withdraw filament, works out whether the logic is the
    right way round and what a broken wire would do, and writes a dated report from which the next person repeats the
    check.

    Exit codes: 0 pass; 1 fail or an open item of class A; 2 wrong usage; 3 not finished or not connected; 4 finished,
    but conditional or not judged; 130 stopped by the operator.
    """


def run() -> None:
    """The process that a user starts: the command is all that it does."""
    from commission.cli.signals import OwnProcess, ignore

    try:
        main(prog_name="commission", obj=OwnProcess())
    finally:
        ignore()
