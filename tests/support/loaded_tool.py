"""The tool as a process that is forked from an interpreter which has loaded it before.

    done = carried_out([sys.executable, "-m", "commission", "book", "list"], cwd=folder)

Nothing is faked: a command is a process of its own, with its own folder, environment, pipes, signals and exit code, and
ends as any other. Only loading the program is saved, which takes longer than most commands. Whatever loading is about
(what is imported when, Ctrl-C meanwhile, the start without a terminal) is tested on processes that begin from nothing.
"""

import atexit
import gc
import importlib
import json
import os
import selectors
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from tests.support.patience import PATIENCE_S
from tests.support.stepped_time import LAUNCHER

TOOL = (sys.executable, "-m", "commission")
STEPPED = (sys.executable, str(LAUNCHER))
ALSO_LOADED = ("commission.cli.running", "commission.records.book", "commission.report.write", "commission.desk.plain")
_MESSAGE_BYTES = 1 << 18
_CAN_FORK = sys.platform == "linux"
_one_at_a_time = threading.Lock()


def carried_out(
    line: Sequence[str], *, cwd: Path | None = None, timeout: float = PATIENCE_S
) -> "subprocess.CompletedProcess[str]":
    """Carry out a command line, with nobody at the keyboard.

    Args:
        line: as for a new process. One of the tool, in real or in simulated time, is forked; any other is begun anew.
        cwd: the folder it is started in.
        timeout: seconds after which it is killed.

    Raises:
        subprocess.TimeoutExpired: it was killed.
    """
    ours = (*line[:3],) == TOOL or (*line[:2],) == STEPPED
    if _CAN_FORK and ours and _one_at_a_time.acquire(blocking=False):
        try:
            return _forked(line, cwd or Path.cwd(), timeout)
        finally:
            _one_at_a_time.release()
    nobody = subprocess.DEVNULL
    return subprocess.run(line, cwd=cwd, stdin=nobody, capture_output=True, text=True, timeout=timeout, check=False)


C_LOCALE = (("LC_ALL", "C"), ("LANG", "C"), ("PYTHONCOERCECLOCALE", "0"), ("PYTHONUTF8", "0"))
"""Where letters beyond ASCII can be neither read nor shown."""


@contextmanager
def begun_at(
    line: Sequence[str], ends: Sequence[int], *, cwd: Path, locale: Sequence[tuple[str, str]] = ()
) -> Iterator[Callable[[], int]]:
    """A command of the tool on ends of the caller: its input, output and error. What is given waits for its exit code.

    Args:
        line: as for `carried_out`.
        ends: three open files; the caller's copies stay his.
        cwd: the folder it is started in.
        locale: variables with which its interpreter was loaded: they say how letters are read and written.
    """
    with _one_at_a_time:
        connection = _loaded(*locale)
        number = _begun(connection, line, cwd, ends, dict(locale))
        left = [True]

        def ended() -> int:
            left.clear()
            return int(connection.recv(_MESSAGE_BYTES))

        try:
            yield ended
        finally:
            if left:
                os.kill(number, 9)
                ended()


@cache
def _loaded(*locale: tuple[str, str]) -> socket.socket:
    """The line to the interpreter from which commands are forked; it ends with this process."""
    mine, its = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
    command = [sys.executable, __file__, str(its.fileno())]
    process = subprocess.Popen(
        command,
        pass_fds=[its.fileno()],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        close_fds=True,
        env=os.environ | dict(locale),
    )
    its.close()

    def end() -> None:
        mine.close()
        process.wait()

    atexit.register(end)
    return mine


def _forked(line: Sequence[str], cwd: Path, timeout: float) -> "subprocess.CompletedProcess[str]":
    connection, until_s = _loaded(), time.monotonic() + timeout
    (out, its_out), (complaints, its_complaints) = os.pipe(), os.pipe()
    with Path(os.devnull).open("rb") as nobody:
        number = _begun(connection, line, cwd, [nobody.fileno(), its_out, its_complaints])
    os.close(its_out)
    os.close(its_complaints)
    said = {out: bytearray(), complaints: bytearray()}
    whole = _heard(said, until_s)
    if not whole:
        os.kill(number, 9)
    code = int(connection.recv(_MESSAGE_BYTES))
    for end in said:
        os.close(end)
    texts = [data.decode().replace("\r\n", "\n") for data in said.values()]
    if not whole:
        raise subprocess.TimeoutExpired(line, timeout, *texts)
    return subprocess.CompletedProcess(line, code, *texts)


def _begun(
    connection: socket.socket, line: Sequence[str], cwd: Path, ends: Sequence[int], locale: dict[str, str] | None = None
) -> int:
    """Have a command forked onto these ends; the number of its process."""
    asked = {"line": list(line), "cwd": str(cwd), "environment": dict(os.environ) | (locale or {})}
    socket.send_fds(connection, [json.dumps(asked).encode()], list(ends))
    number = int(connection.recv(_MESSAGE_BYTES) or b"-1")
    if number < 0:
        raise AssertionError("the tool could not be loaded; see above")
    return number


def _heard(said: dict[int, bytearray], until_s: float) -> bool:
    """Read these pipes to their ends; false where that takes longer."""
    with selectors.DefaultSelector() as open_ones:
        for end in said:
            open_ones.register(end, selectors.EVENT_READ)
        while open_ones.get_map():
            if (left_s := until_s - time.monotonic()) <= 0:
                return False
            for key, _ in open_ones.select(left_s):
                data = os.read(key.fd, _MESSAGE_BYTES)
                said[key.fd] += data
                if not data:
                    open_ones.unregister(key.fd)
    return True


def _serve(connection: socket.socket) -> None:
    """Fork for each command; in the child this comes back once it is carried out, or by its exit."""
    from commission.cli import COMMANDS

    for module in (*(place.split(":")[0] for place in COMMANDS.values()), *ALSO_LOADED):
        importlib.import_module(module)
    gc.freeze()
    while True:
        data, ends, _, _ = socket.recv_fds(connection, _MESSAGE_BYTES, 3)
        if not data:
            return
        child = os.fork()
        if child == 0:
            connection.close()
            _become(json.loads(data), ends)
            return
        for end in ends:
            os.close(end)
        connection.send(str(child).encode())
        _, status = os.waitpid(child, 0)
        connection.send(str(os.waitstatus_to_exitcode(status)).encode())


def _become(asked: dict[str, Any], ends: Sequence[int]) -> None:
    from commission.__main__ import run
    from commission.cli import main
    from tests.support.stepped_time import stepped_surroundings

    os.chdir(asked["cwd"])
    os.environ.clear()
    os.environ.update(asked["environment"])
    for number, (end, name) in enumerate(zip(ends, ("stdin", "stdout", "stderr"), strict=True)):
        os.dup2(end, number)
        os.close(end)
        before = getattr(sys, name)  # what it found out about its file holds no longer
        attributes = {"encoding": before.encoding, "errors": before.errors, "closefd": False}
        anew = open(number, "w" if number else "r", buffering=1 if number == 2 else -1, **attributes)  # noqa: PTH123, SIM115
        setattr(sys, name, anew)
    _, *words = asked["line"]
    sys.argv = words[1:] if words[0] == "-m" else words
    if words[0] == "-m":
        run()
    else:
        with stepped_surroundings(words[1]) as simulated:
            main(args=words[2:], prog_name="commission", obj=simulated)


if __name__ == "__main__":
    _serve(socket.socket(fileno=int(sys.argv[1])))
