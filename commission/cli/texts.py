"""Texts on the command line: every one is checked here, for it may go into the record, where only letters can stand."""

from typing import Any

import click


class Text(click.types.StringParamType):
    """A text of letters. A shell hands on any bytes; what they are in no encoding is no text."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """The text as it is; bytes that are no letters are wrong usage."""
        text = super().convert(value, param, ctx)
        if isinstance(text, str) and not text.isascii():
            try:
                text.encode("utf-8")
            except UnicodeEncodeError:
                self.fail(f"{text!r} is no text in the encoding of this terminal. Type it in letters.", param, ctx)
        return text


def with_writable_texts(command: click.Command) -> click.Command:
    """The command, or the group of them, with each of its plain texts checked so; a file's name may be any bytes."""
    for parameter in command.params:
        if type(parameter.type) is click.types.StringParamType:
            parameter.type = Text()
    if isinstance(command, click.Group):
        for each in command.commands.values():
            with_writable_texts(each)
    return command
