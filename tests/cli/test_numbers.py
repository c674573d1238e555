"""Every number on the command line, of every command: what is no measurement is wrong usage."""

from collections.abc import Iterator

import click
import pytest
from click.testing import CliRunner

from commission.cli import main
from commission.cli.numbers import Count, Number


def options() -> Iterator[tuple[tuple[str, ...], click.Option]]:
    """Every option that takes a number, with the words of its command."""
    context = click.Context(main)
    stack: list[tuple[tuple[str, ...], click.Command]] = [
        ((name,), found) for name in main.list_commands(context) if (found := main.get_command(context, name))
    ]
    while stack:
        words, command = stack.pop()
        if isinstance(command, click.Group):
            stack += [((*words, name), each) for name, each in command.commands.items()]
        for parameter in command.params:
            if isinstance(parameter, click.Option) and isinstance(
                parameter.type, click.FLOAT.__class__ | click.INT.__class__
            ):
                yield words, parameter


NUMBERS = [pytest.param(words, option, id=f"{'-'.join(words)}{option.opts[0]}") for words, option in options()]


def test_there_are_numbers_to_check() -> None:
    """The commands take more than thirty numbers between them, and one of them is a dwell."""
    assert len(NUMBERS) > 30
    assert any(str(number.id).endswith("--dwell") for number in NUMBERS)


@pytest.mark.parametrize(("words", "option"), NUMBERS)
@pytest.mark.parametrize("typed", ["nan", "NaN", "inf", "-inf", "1e999"])
def test_what_is_no_number_is_wrong_usage(words: tuple[str, ...], option: click.Option, typed: str) -> None:
    """Not a number, and a number without end, end with exit code 2 and name the option."""
    done = CliRunner().invoke(main, [*words, f"{option.opts[0]}={typed}"])

    assert 2 == done.exit_code
    assert f"Invalid value for '{option.opts[0]}'" in done.output


@pytest.mark.parametrize(("words", "option"), NUMBERS)
def test_a_count_has_no_fraction(words: tuple[str, ...], option: click.Option) -> None:
    """A number is either a checked measurement or a whole count; half a count is wrong usage."""
    if isinstance(option.type, Number):
        return
    done = CliRunner().invoke(main, [*words, f"{option.opts[0]}=2.5"])

    assert isinstance(option.type, Count)
    assert 2 == done.exit_code


@pytest.mark.parametrize(("words", "option"), NUMBERS)
@pytest.mark.parametrize("typed", [30 * "9", "-" + 30 * "9", 5000 * "9"])
def test_a_number_beyond_all_measure_is_wrong_usage(words: tuple[str, ...], option: click.Option, typed: str) -> None:
    """Thirty digits overflow what a record and a database hold: refused before anything is asked or opened."""
    done = CliRunner().invoke(main, [*words, f"{option.opts[0]}={typed}"])

    assert 2 == done.exit_code
    assert f"Invalid value for '{option.opts[0]}'" in done.output


@pytest.mark.parametrize("command", ["install", "check", "diagnose"])
def test_a_dwell_of_no_length_is_wrong_usage(command: str) -> None:
    """A dwell takes time: zero seconds are refused before anything is asked or opened."""
    done = CliRunner().invoke(main, [command, "bench-3", "--port", "/dev/null", "--dwell", "0"])

    assert 2 == done.exit_code
    assert "'--dwell'" in done.output
