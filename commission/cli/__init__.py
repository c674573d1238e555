"""The command line: one file per subcommand; the only place that plugs real parts together.

Everything slow to load is imported inside the commands, so that help and version come at once.
"""

import gc
import importlib
import os
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import click

from commission.cli.exit_codes import MEANINGS, SEVERITY, STOPPED
from commission.cli.nearest import no_such_command
from commission.cli.texts import with_writable_texts

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

COMMANDS: Mapping[str, str] = {
    "install": "commission.cli.install:install",
    "borrow": "commission.cli.borrow:borrow",
    "motion": "commission.cli.motion:motion",
    "backup": "commission.cli.backup:backup",
    "restore": "commission.cli.restore:restore",
    "check": "commission.cli.check:check",
    "soak": "commission.cli.soak:soak",
    "overview": "commission.cli.overview:overview",
    "metrics": "commission.cli.metrics:metrics",
    "roster": "commission.cli.roster:roster",
    "note": "commission.cli.note:note",
    "book": "commission.cli.book:book",
    "report": "commission.cli.report:report",
    "label": "commission.cli.label:label",
    "read": "commission.cli.read:read",
    "compare": "commission.cli.compare:compare",
    "wiring": "commission.cli.wiring:wiring",
    "diagnose": "commission.cli.diagnose:diagnose",
    "reserve": "commission.cli.reserve:reserve_command",
    "function": "commission.cli.function:function",
    "ports": "commission.cli.ports:ports",
    "demo": "commission.cli.demo:demo",
    "completion": "commission.cli.completion:completion",
    "help": "commission.cli.help:help_command",
}
"""Every subcommand and where it lives, in the order in which help lists them."""


SUMMARIES: Mapping[str, str] = {
    "install": "Check a newly fitted filament sensor, step by step.",
    "borrow": "Try the sensor on an endstop's socket, before the first build.",
    "motion": "Check a sensor of movement over a measured length of filament.",
    "backup": "Keep a record of the settings as they are.",
    "restore": "Put recorded settings back after a reflash.",
    "check": "Repeat the check, and compare with the record.",
    "soak": "Watch for hours that the reading does not change by itself.",
    "overview": "Show how every printer stands, the most urgent first.",
    "metrics": "Write how every printer stands for a collector.",
    "roster": "List the printers there are, and which port each is behind.",
    "note": "Write a note into the record book.",
    "book": "Look into the record book, take it elsewhere, or verify it.",
    "report": "Draw a report again from the record book.",
    "label": "Print a printer's label: verdict, date, next check, report number.",
    "read": "Say what is understood of a saved console capture.",
    "compare": "Compare two settings reports by value.",
    "wiring": "Predict what a wiring reads, sound and with each single fault.",
    "diagnose": "Find out what is wrong with a sensor.",
    "reserve": "Work out when the pause comes and what is left by then.",
    "function": "Provoke runouts and see whether the printer pauses.",
    "ports": "List the serial ports without opening any.",
    "demo": "Run the guided check on a simulated printer.",
    "completion": "Let the Tab key complete commands, options and tags.",
    "help": "Explain the exit codes, the words, or a command.",
}
"""One line each for the overview, so that showing it loads none of them."""

ASKS_FOR_WORDS = "_COMMISSION_COMPLETE"
"""The variable by which a shell's function asks for the words that fit, on behalf of the Tab key."""


class Program(click.Group):
    """Loads a subcommand when it is named, and none to list them; ends every one by the table of exit codes.

    Args:
        places: where each subcommand lives.
        attributes: whatever else a group of commands is given.
    """

    def __init__(self, places: Mapping[str, str] = COMMANDS, **attributes: Any) -> None:
        super().__init__(**attributes)
        self._places = places

    def format_commands(self, _context: click.Context, formatter: click.HelpFormatter) -> None:
        """Each subcommand with its line."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, SUMMARIES.get(name, "")) for name in self._places])

    def format_epilog(self, _context: click.Context, formatter: click.HelpFormatter) -> None:
        """The exit codes, at the end of the overview."""
        with formatter.section("Exit codes"):
            formatter.write_dl([(str(code), meaning) for code, meaning in MEANINGS.items()])
            order = ", ".join(map(str, SEVERITY))
            formatter.write_text(f"Where several printers are looked at, the worst of theirs counts: {order}.")

    def invoke(self, context: click.Context) -> Any:
        """Run it; whatever goes wrong ends in a sentence and a code of the table."""
        try:
            return super().invoke(context)
        except click.exceptions.Exit:
            raise
        except KeyboardInterrupt as stopped:
            from commission.cli.signals import end_undisturbed

            end_undisturbed(context)  # before anything is loaded: a second Ctrl-C would break that off
            from commission.cli.endings import end_with

            raise click.exceptions.Exit(end_with(stopped)) from stopped
        except click.ClickException as problem:
            from commission.cli.telling import in_lines

            raise in_lines(problem) from problem
        except Exception as trouble:  # the one place where nothing may pass untold
            from commission.cli.endings import end_with

            raise click.exceptions.Exit(end_with(trouble)) from trouble

    def make_context(
        self, info_name: str | None, args: list[str], parent: click.Context | None = None, **extra: Any
    ) -> click.Context:
        """Read the words of the command line; Ctrl-C meanwhile is a stop like any other."""
        try:
            return super().make_context(info_name, args, parent, **extra)
        except KeyboardInterrupt as stopped:
            raise click.exceptions.Exit(STOPPED) from stopped

    def resolve_command(self, context: click.Context, args: list[str]) -> Any:
        """The command that was typed; of a mistyped one the nearest is named."""
        try:
            return super().resolve_command(context, args)
        except click.UsageError as unknown:
            raise no_such_command(context, args[0], self._places) from unknown

    def shell_complete(self, context: click.Context, typed: str) -> "list[CompletionItem]":
        """The subcommands that begin so, from the table: a key press loads none of them; and the program's options."""
        from click.shell_completion import CompletionItem

        named = [CompletionItem(name, help=SUMMARIES.get(name)) for name in self._places if name.startswith(typed)]
        return [*named, *click.Command.shell_complete(self, context, typed)]

    def list_commands(self, _context: click.Context) -> list[str]:
        """Their names, in the order of the table."""
        return list(self._places)

    def get_command(self, _context: click.Context, name: str) -> click.Command | None:
        """One of them, loaded now; None where there is none of that name."""
        if name not in self._places:
            return None
        module, attribute = self._places[name].split(":")
        command = getattr(importlib.import_module(module), attribute)
        if not isinstance(command, click.Command):
            raise TypeError(f"{self._places[name]} is no command")
        return with_writable_texts(command)


@click.command(
    name="commission", cls=Program, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100}
)
@click.version_option(package_name="commission", prog_name="commission")
def main() -> None:
    """Commission a filament-presence sensor on a desktop extrusion printer, over its serial console.

    It asks the printer for its switch states while you insert and withdraw filament, works out whether the logic is the
    right way round and what a broken wire would do, and writes a dated report from which the next person repeats the
    check.
    """


def run() -> None:
    """The process that a user starts: the command is all that it does."""
    from commission.cli.signals import OwnProcess, ignore

    if ASKS_FOR_WORDS in os.environ:
        importlib.import_module("commission.cli.completion")
    try:
        main(prog_name="commission", obj=OwnProcess())
    finally:
        ignore()
        gc.freeze()  # going through all of it once more at the end takes a tenth of a short command's time
