"""`commission completion`: what a shell reads so that the Tab key completes commands, options, files and TAGs."""

import shlex
from typing import Any

import click
from click.shell_completion import BashComplete, CompletionItem, FishComplete, ShellComplete, ZshComplete
from click.shell_completion import add_completion_class as add

from commission.cli import ASKS_FOR_WORDS
from commission.cli.telling import hand_out


@add
class BashWords(BashComplete):
    """The library's words for bash, quoted where a shell would cut them up: bash takes them as they are."""

    def format_completion(self, item: CompletionItem[Any]) -> str:
        """One word, with its type before it."""
        value = shlex.quote(item.value) if item.type == "plain" else item.value
        return f"{item.type},{value}"

    def source(self) -> str:
        """The function that bash is given, without asking which bash is installed: it may be another machine's."""
        return self.source_template % self.source_vars()


SHELLS: dict[str, type[ShellComplete]] = {"bash": BashWords, "zsh": ZshComplete, "fish": FishComplete}
HOW = {
    "bash 4.4 or newer, in ~/.bashrc": 'eval "$(commission completion bash)"',
    "zsh, in ~/.zshrc after compinit": 'eval "$(commission completion zsh)"',
    "fish, once": "commission completion fish > ~/.config/fish/completions/commission.fish",
}
"""How each shell is told, for the help and the README."""


@click.command(
    epilog="Example: commission completion bash > ~/.commission-completion",
    help="Write what SHELL reads so that the Tab key completes.\n\n"
    "It completes commands, options, their words, ports, files, and the TAGs of the record book that `--book` before "
    "it or $COMMISSION_BOOK names. No printer is asked. The program is to be on the search path as `commission`.\n\n"
    "\b\n" + "\n".join(f"  {shell}: {how}" for shell, how in HOW.items()) + "\n\n"
    "A TAG with a comma, a quote, a backslash or one of $ * ? [ ] is not offered.",
)
@click.argument("shell", type=click.Choice(list(SHELLS)))
@click.pass_context
def completion(context: click.Context, /, shell: str) -> None:
    """Write the shell's function."""
    hand_out(SHELLS[shell](context.find_root().command, {}, "commission", ASKS_FOR_WORDS).source().strip())
