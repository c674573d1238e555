"""The hands at the simulated printer: one line of text is one deed, from a person or from a test.

On the console the same words get the same sentences as over the control socket. One deed is a process of its own that
loads next to nothing, so that a script may be the hands of a run in which seconds count.

    python -m fake_printer.bench HOST:PORT insert      one deed; exit code 0 done, 1 refused, 2 not reached
    python -m fake_printer.bench HOST:PORT             a console in another terminal

At the bench of a fleet each deed begins with the name of the printer that is meant.
"""

from __future__ import annotations

import socket
import sys

TYPE_CHECKING = False  # the module that has it takes longer to load than the rest of this one
if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import TextIO

_LOOPBACK = "127.0.0.1"
_PATIENCE_S = 10.0
_FOR_MACHINES = ("state", "received", "units")
_LONGEST_SHOWN = 60


def in_words(answer: str) -> str:
    """An answer of the bench as a person wants to read it."""
    kind, _, rest = answer.partition(" ")
    if kind == "ok":
        return rest
    if kind == "error":
        return f"Not done: {rest}"
    import json

    told = json.loads(answer)
    if isinstance(told, dict):
        width = max(map(len, told), default=0)
        return "\n".join(f"  {key:<{width}}  {_shown(value)}" for key, value in told.items())
    return "\n".join(f"  {line}" for line in told) or "  (nothing received yet)"


def _shown(value: object) -> str:
    import json

    if isinstance(value, list) and len(value) > 5:
        return f"{len(value)} lines, the last: {json.dumps(value[-1])}"
    return value if isinstance(value, str) else json.dumps(value)


def help_text() -> str:
    """The list of words, one a line."""
    from fake_printer.workbench import help_lines  # the whole printer stands behind it, which one deed does not need

    words = help_lines()
    width = max(map(len, words))
    return "\n".join(f"  {word:<{width}}  {meaning}" for word, meaning in words.items())


def ask(address: str, line: str) -> str:
    """Send one line to a bench and return its answer.

    Args:
        address: HOST:PORT of the control socket.
        line: what to do.

    Raises:
        OSError: the bench cannot be reached or went away before it answered.
        ValueError: the address is not one, or what answers there is no bench: the printer's own port, for one.
    """
    host, _, port = address.rpartition(":")
    with socket.socket() as connection:
        connection.settimeout(_PATIENCE_S)
        try:
            connection.connect((host or _LOOPBACK, int(port)))
        except OverflowError as error:
            raise ValueError(str(error)) from error  # no port has such a number
        connection.sendall(line.encode() + b"\n")
        with connection.makefile("r", encoding="utf-8", errors="backslashreplace") as answers:
            answer = answers.readline()
    if not answer:
        raise ConnectionError("the bench went away before it answered")
    if not _is_from_a_bench(answer):
        raise ValueError(f"what answers there is no bench, it says {answer.strip()[:_LONGEST_SHOWN]!r}")
    return answer.rstrip("\n")


def _is_from_a_bench(answer: str) -> bool:
    if answer.startswith(("ok ", "error ")):
        return True
    import json

    try:
        return isinstance(json.loads(answer), dict | list)
    except ValueError:
        return False


def converse(address: str, lines: TextIO, out: TextIO) -> None:
    """Send every line a person types, and print the answers in words.

    Raises:
        OSError, ValueError: as `ask`.
    """
    out.write(help_text() + "\n  quit leaves this console; the simulated printer goes on.\n")
    while True:
        out.write("hands> ")
        out.flush()
        line = lines.readline()
        if not line or line.strip() == "quit":
            out.write("\n")
            return
        if line.strip():
            out.write((help_text() if line.strip() == "help" else in_words(ask(address, line.strip()))) + "\n")


def main(arguments: Sequence[str]) -> int:
    """One deed, or a console, at a bench that runs in another process; the exit code is returned."""
    if not arguments or arguments[0] in ("-h", "--help"):
        sys.stdout.write((__doc__ or "") + "\n" + help_text() + "\n")
        return 0 if arguments else 2
    address, *words = arguments
    try:
        if not words:
            converse(address, sys.stdin, sys.stdout)
            return 0
        answer = ask(address, _line(words))
    except (OSError, ValueError) as error:
        advice = "Give the HOST:PORT that the simulated printer printed as control."
        sys.stderr.write(f"No bench answers at {address!r}: {error}. {advice}\n")
        return 2
    sys.stdout.write((answer if words[-1] in _FOR_MACHINES else in_words(answer)) + "\n")
    return 1 if answer.startswith("error ") else 0


def _line(words: Sequence[str]) -> str:
    """The words as one line that the bench takes apart again."""
    if all(word.replace("-", "").replace(".", "").isalnum() for word in words):
        return " ".join(words)
    import shlex

    return shlex.join(words)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
