"""`commission help`: the exit codes, the words, or the help of a command."""

from collections.abc import Mapping

import click

from commission.cli.exit_codes import MEANINGS, SEVERITY
from commission.cli.telling import say
from commission.cli.words import WORDS

TOPICS = ("exit-codes", "words")


@click.command(name="help", epilog="Example: commission help exit-codes")
@click.argument("topic", required=False)
@click.pass_context
def help_command(context: click.Context, topic: str | None) -> None:
    """Explain a TOPIC: exit-codes, words, or the name of a command. Without one the overview is shown."""
    program = context.find_root()
    if topic in TOPICS:
        say(_codes() if topic == "exit-codes" else _words(), end="")
        return
    if topic is None:
        say(program.get_help())
        return
    if not isinstance(program.command, click.Group):
        raise click.UsageError("There is no overview here.")
    _, command, _ = program.command.resolve_command(program, [topic])
    if command is not None:
        say(command.get_help(click.Context(command, program, topic)))


def _codes() -> str:
    order = ", ".join(map(str, SEVERITY))
    return _listed({str(code): meaning for code, meaning in MEANINGS.items()}) + (
        f"Where several printers are looked at, the worst of theirs counts:\n{order}.\n"
    )


def _words() -> str:
    return _listed(WORDS)


def _listed(meanings: Mapping[str, str]) -> str:
    formatter = click.HelpFormatter(width=80)
    formatter.write_dl(list(meanings.items()))
    return formatter.getvalue()
