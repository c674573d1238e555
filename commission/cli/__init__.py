"""The command line: one file per subcommand; the only place that plugs real parts together.

Everything slow to load is imported inside the commands, so that help and version come at once.
"""

import importlib
from collections.abc import Mapping

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


class _Lazy(click.Group):
    """Loads a subcommand when it is named or listed."""

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

    Exit codes: 0 pass; 1 fail or an open item of class A; 2 wrong usage; 3 not finished; 4 finished, but conditional or
    not judged; 130 stopped by the operator.
    """
