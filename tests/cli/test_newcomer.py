"""Whatever a newcomer does at any command ends in a sentence: no traceback, no error number, no hanging.

The commands are those of the parser, so that a new one is tried too.
"""

import itertools
import os
import select
import struct
import time
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from commission.cli import main
from commission.cli.exit_codes import INTERNAL, MEANINGS
from tests.cli.every_command import COMMANDS, RUNS_FOR_LONG, furnished, script_of, usual
from tests.support.fake_process import running_printer
from tests.support.loaded_tool import C_LOCALE, TOOL, begun_at
from tests.support.patience import PATIENCE_S
from tests.support.stepped_time import stepped
from tests.support.sweeps import a_part

fcntl = pytest.importorskip("fcntl", reason="pseudo-terminals, pipes and limits of POSIX systems")
resource = pytest.importorskip("resource")
termios = pytest.importorskip("termios")
FILES = (
    "nowhere/x",
    "folder",
    "binary.bin",
    "empty",
    "foreign.txt",
    "book.sqlite3",
    "foreign.sqlite3",
    "binary.bin/inside",
    300 * "x",
    "\udcff",
    "/dev/null",
    "/dev/zero",
)
"""Missing, no file, not ours, empty, where none can be, too long, with a name that is no text, without an end."""
TEXTS = ("", "unknown", "nan", "\udcff", 5000 * "x", "-", "a/b\nc", "2031-02-30", "é†\U0001f642")
"""What a person types who does not know better; \\udcff stands for a byte that is in no encoding."""
OF_FILES = ("file", "path", "directory")
SWEPT = [
    pytest.param(words, each, id=f"{words} {each.opts[0]}")
    for words, command in COMMANDS.items()
    for each in command.params
    if each.type.name != "boolean"
]
A_FOLDER = ("nowhere/x", "folder", "\udcff")
"""Of those files what is a folder, or can be made one: there a command that runs for long would run."""
LINE_AND_HELP = [pytest.param(words, (), id=f"{words}-usual line") for words in COMMANDS if words not in RUNS_FOR_LONG]
LINE_AND_HELP += [pytest.param(words, ("--help",), id=f"{words}-help") for words in COMMANDS]
TRIED = [words for words in COMMANDS if words not in RUNS_FOR_LONG]
MOST_MEMORY = 4 << 30
NARROW = struct.pack("HHHH", 24, 40, 0, 0)


def is_told(said: str, code: int) -> None:
    """It ended by the table, and said nothing that only a programmer reads."""
    assert "Traceback" not in said, said[-3000:]
    assert code != INTERNAL, said[-3000:]
    assert code in MEANINGS, f"{code}: {said[-3000:]}"


@pytest.mark.swept
@pytest.mark.parametrize(("words", "parameter"), a_part(SWEPT, one_in=6))
def test_any_word_anywhere_ends_in_a_sentence(words: str, parameter: click.Parameter, tmp_path: Path) -> None:
    """Each argument and option of each command, with files that do not fit and texts that mean nothing."""
    folder = furnished(tmp_path)
    file = parameter.type.name in OF_FILES or (isinstance(parameter, click.Argument) and parameter.name == "file")
    script = [] if "--operator" in parameter.opts else script_of(words)
    before = Path.cwd()
    os.chdir(folder.place)
    try:
        limits(MOST_MEMORY)
        for value in _values(words) if file else TEXTS:
            done = CliRunner(env={"COMMISSION_BOOK": "book.sqlite3"}).invoke(
                main, [*usual(words, parameter, value), *script]
            )
            said = f"{value[:40]!r}: {done.output}"
            assert isinstance(done.exception, SystemExit | None), f"{value[:40]!r}: {done.exception!r}"
            is_told(said, done.exit_code)
    finally:
        limits()
        os.chdir(before)


def _values(words: str) -> list[str]:
    return [each for each in FILES if words not in RUNS_FOR_LONG or each not in A_FOLDER]


def limits(most_bytes: int | None = None) -> None:
    """Let this process have so much memory, or as much as there is again: a file without an end must not take all."""
    _, hard = resource.getrlimit(resource.RLIMIT_AS)
    resource.setrlimit(resource.RLIMIT_AS, (hard if most_bytes is None else most_bytes, hard))


def test_every_argument_there_is_was_given_a_word() -> None:
    """A new command is tried with a usual line, or this says what is missing for it."""
    assert len(COMMANDS) > 30
    for words in COMMANDS:
        assert usual(words)


@pytest.mark.parametrize("words", TRIED)
@pytest.mark.parametrize("locale", [(), C_LOCALE], ids=["usual locale", "C locale"])
def test_nobody_there_ends_in_a_sentence(words: str, locale: tuple[tuple[str, str], ...], tmp_path: Path) -> None:
    """No terminal, no script, an input that has ended; in the C locale no letter beyond ASCII can be shown either."""
    folder = furnished(tmp_path)
    near, far = os.pipe()
    with (
        Path(os.devnull).open("rb") as nobody,
        begun_at(line(words), (nobody.fileno(), far, far), cwd=folder.place, locale=locale) as ended,
    ):
        os.close(far)
        said = heard(near)
        code = ended()
    os.close(near)

    is_told(said, code)


@pytest.mark.parametrize("words", COMMANDS)
@pytest.mark.parametrize("more", [(), ("--help",)], ids=["usual line", "help"])
def test_a_closed_pipe_ends_a_command_quietly(words: str, more: tuple[str, ...], tmp_path: Path) -> None:
    """Whoever read the output has gone: nothing is told of it, least of all a traceback."""
    folder = furnished(tmp_path)
    (near, far), (read, written) = os.pipe(), os.pipe()
    os.close(read)
    with (
        Path(os.devnull).open("rb") as nobody,
        begun_at([*line(words), *more], (nobody.fileno(), written, far), cwd=folder.place) as ended,
    ):
        os.close(far)
        said = heard(near)
        code = ended()
    for end in (near, written):
        os.close(end)

    assert "Exception ignored" not in said
    assert "BrokenPipe" not in said
    is_told(said, code)


@pytest.mark.parametrize(("words", "more"), LINE_AND_HELP)
def test_a_narrow_terminal_and_the_end_of_input(words: str, more: tuple[str, ...], tmp_path: Path) -> None:
    """At 40 columns, with Ctrl-D at whatever is asked: it stops, and says that it did."""
    folder = furnished(tmp_path)
    near, far = os.openpty()
    fcntl.ioctl(far, termios.TIOCSWINSZ, NARROW)
    with begun_at([*line(words), *more], (far, far, far), cwd=folder.place) as ended:
        os.close(far)
        said = heard(near, typed=b"\x04")
        code = ended()
    os.close(near)

    is_told(said, code)


GUIDED = [words for words in TRIED if script_of(words)]
NONSENSE = (b"\xff\xfe", b"unknown", b"nan", b"99999999999999999999")
"""What is typed at every question before anything else; most of it is refused there."""
PLAUSIBLE = (b"", b"yes", b"1", b"-", b"x", b"1,1", b"40", b"-,-,-,-")
"""What is typed then, one after the other, until something is taken for an answer."""
MOST_TYPED, MOST_QUIET = 60, 20
"""So many lines are typed, and so often in a row nothing may be printed, before the input ends."""
ASKS_LAST = (
    "then Enter.",
    "to change:",
    "to see all rows:",
    "as in 1,3.",
    "(in mm).",
    "too small.",
    "too large.",
    "entered here.",
    "no filament.",
)
ASKS = tuple(f"{words}\r\n" for words in ASKS_LAST)
"""Where what is printed ends so, somebody is waited for; anywhere else when nothing more comes for a while."""


@pytest.mark.swept
@pytest.mark.parametrize("words", a_part(GUIDED, one_in=5))
def test_nonsense_at_every_question_ends_in_a_sentence(words: str, tmp_path: Path) -> None:
    """A real desk and a simulated printer: each question gets what is no answer, then what may be one, then the end."""
    folder = furnished(tmp_path)
    near, far = os.openpty()
    with running_printer("sound", "--tcp", "0", "--unpaced", "--stepped") as printer:
        port = ["--port", printer.link]
        short = ["--for", "5m"] if words == "soak" else []  # its usual hours ask nothing more
        command = stepped(printer.control, *usual(words), *short, *port, "--plain", "--book", "book.sqlite3")
        with begun_at(command, (far, far, far), cwd=folder.place) as ended:
            os.close(far)
            said = typed_at(near)
            code = ended()
    os.close(near)

    is_told(said, code)


def typed_at(terminal: int) -> str:
    """All that is printed while every question is answered so, and the end of input after a while.

    Raises:
        AssertionError: it goes on for longer than anybody waits.
    """
    said, seen, until_s = "", 0, time.monotonic() + PATIENCE_S
    words = itertools.cycle([*NONSENSE, *PLAUSIBLE])
    typed = quiet = 0
    while time.monotonic() < until_s:
        asks = len(said) > seen and said.endswith(ASKS) and typed <= MOST_TYPED
        if not select.select([terminal], [], [], 0 if asks else 0.3)[0]:
            quiet += 1
            if typed > MOST_TYPED or quiet > MOST_QUIET:
                os.write(terminal, b"\x04")
            elif len(said) > seen:  # it waits for somebody, or works: a line typed too early is forgotten
                seen, typed = len(said), typed + 1
                os.write(terminal, next(words) + b"\n")
            continue
        try:
            data = os.read(terminal, 65536)
        except OSError:
            data = b""
        if not data:
            return said
        said, quiet = said + data.decode(errors="replace"), 0
    raise AssertionError(f"it does not end: {said[-3000:]}")


def line(words: str) -> list[str]:
    """The usual line as a process has it, with the folder's own book."""
    book = ["--book", "book.sqlite3"] if any("--book" in each.opts for each in COMMANDS[words].params) else []
    return [*TOOL, *usual(words), *book]


def heard(end: int, typed: bytes = b"") -> str:
    """All that comes until nobody writes any more; these keys are pressed now and then.

    Raises:
        AssertionError: it goes on for longer than anybody waits.
    """
    said, until_s = bytearray(), time.monotonic() + PATIENCE_S
    while time.monotonic() < until_s:
        if not select.select([end], [], [], 0.2)[0]:
            if typed:
                os.write(end, typed)
            continue
        try:
            data = os.read(end, 65536)
        except OSError:  # the last program at a terminal has ended
            data = b""
        if not data:
            return said.decode(errors="replace")
        said += data
    raise AssertionError(f"it does not end: {said[-2000:]!r}")
