"""`commission help`: the exit codes, the words, the rules of a loop check, or the help of a command."""

from collections.abc import Mapping
from typing import TYPE_CHECKING

import click

from commission.cli.exit_codes import MEANINGS, SEVERITY
from commission.cli.telling import say
from commission.cli.words import WORDS

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

TOPICS = ("exit-codes", "words", "plan")


def _offered(context: click.Context, _parameter: click.Parameter, typed: str) -> "list[CompletionItem]":
    from click.shell_completion import CompletionItem

    program = context.find_root()
    commands = program.command.list_commands(program) if isinstance(program.command, click.Group) else []
    return [CompletionItem(topic) for topic in (*TOPICS, *commands) if topic.startswith(typed)]


@click.command(name="help", epilog="Example: commission help exit-codes")
@click.argument("topic", required=False, shell_complete=_offered)
@click.pass_context
def help_command(context: click.Context, topic: str | None) -> None:
    """Explain a TOPIC: exit-codes, words, plan, or the name of a command. Without one the overview is shown."""
    program = context.find_root()
    if topic in TOPICS:
        say({"exit-codes": _codes, "words": _words, "plan": _plan}[topic](), end="")
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


def _plan() -> str:
    from commission.judge.plan import Plan

    usual = Plan(seed=0, own_pace=True)
    formatter = click.HelpFormatter(width=80)
    formatter.write_text(f"What {usual.cycles} cycles of a loop check take, and what decides:")
    formatter.write_paragraph()
    for rule in usual.rules():
        formatter.write_text(rule)
        formatter.write_paragraph()
    return formatter.getvalue()


def _listed(meanings: Mapping[str, str]) -> str:
    formatter = click.HelpFormatter(width=80)
    formatter.write_dl(list(meanings.items()))
    return formatter.getvalue()
