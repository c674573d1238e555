"""Processes that are forked from an interpreter which has loaded their program before.

    process = begun("tests.support.loaded_tool", ["commission", "book", "list"], ends, cwd=folder)

Nothing is faked: each is a process of its own, with its own folder, environment, files, signals and exit code. Only
loading the program is saved, and taking it down, which together take longer than most of them. Whatever loading is
about (what is imported when, Ctrl-C meanwhile, the start without a terminal) is tested on processes that begin from
nothing.
"""

import atexit
import gc
import importlib
import json
import os
import selectors
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import IO, Any, Protocol, cast

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

CAN_FORK = sys.platform == "linux"
_MESSAGE_BYTES = 1 << 18
_one_loads = threading.Lock()
_loaded: dict[tuple[object, ...], socket.socket] = {}


class Program(Protocol):
    """A module that can load a program and then be it."""

    def load(self) -> None:
        """Import all of it."""
        ...

    def carry_out(self, line: Sequence[str]) -> None:
        """Be the program with this command line, to its end."""
        ...


class Forked:
    """A process that is not our child: what is told of one that is, and what can be done to it.

    Attributes:
        pid: its number.
        returncode: as of a child; None as long as it is not known to have ended.
        stdin, stdout: our ends of its pipes, where whoever began it has some.
    """

    def __init__(self, pid: int, told: socket.socket) -> None:
        self.pid = pid
        self.returncode: int | None = None
        self.stdin: IO[str] | None = None
        self.stdout: IO[str] | None = None
        self._told = told

    def poll(self) -> int | None:
        """The exit code, or nothing yet."""
        with suppress(subprocess.TimeoutExpired):
            self.wait(0)
        return self.returncode

    def wait(self, timeout: float | None = None) -> int:
        """The exit code once it has ended.

        Raises:
            subprocess.TimeoutExpired: it has not in that time.
        """
        if self.returncode is None:
            self._told.settimeout(timeout)
            try:
                told = self._told.recv(_MESSAGE_BYTES)
            except (TimeoutError, BlockingIOError):
                raise subprocess.TimeoutExpired(str(self.pid), timeout or 0) from None
            if not told:
                raise AssertionError("the interpreter it was forked from has ended")
            self.returncode = int(told)
            self._told.close()
        return self.returncode

    def send_signal(self, number: int) -> None:
        """Send it a signal; nothing where it has ended."""
        if self.poll() is None:
            with suppress(ProcessLookupError):
                os.kill(self.pid, number)

    def kill(self) -> None:
        """End it at once."""
        self.send_signal(signal.SIGKILL)


def begun(
    program: str,
    line: Sequence[str],
    ends: Sequence[int],
    *,
    cwd: Path | None = None,
    environment: Mapping[str, str] | None = None,
    locale: Sequence[tuple[str, str]] = (),
    terminal: bool = False,
) -> Forked:
    """Begin a process.

    Args:
        program: the name of the module with what is to be loaded and carried out.
        line: its command line, as that module takes it.
        ends: three open files, to be its input, output and error; the caller's copies stay his.
        cwd: the folder it is started in; ours if left out.
        environment: ours if left out.
        locale: variables with which its interpreter was loaded: they say how letters are read and written.
        terminal: whether it leads a session of its own, at the terminal that is its input, with signals as at a login.
    """
    around = {**(os.environ if environment is None else environment), **dict(locale)}
    asked = {"line": list(line), "cwd": str(cwd or Path.cwd()), "environment": around, "terminal": terminal}
    told, tells = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
    with tells:
        socket.send_fds(_interpreter(program, *locale), [json.dumps(asked).encode()], [*ends, tells.fileno()])
    number = told.recv(_MESSAGE_BYTES)
    if not number:
        raise AssertionError(f"{program} could not be loaded; see above")
    return Forked(int(number), told)


def piped(program: str, line: Sequence[str], complaints: int, *, cwd: Path | None = None) -> Forked:
    """Begin a process whose input and output are pipes to us, as text; the rest is as for `begun`."""
    (its_input, typed), (said, its_output) = os.pipe(), os.pipe()
    try:
        process = begun(program, line, (its_input, its_output, complaints), cwd=cwd)
    finally:
        os.close(its_input)
        os.close(its_output)
    process.stdin, process.stdout = os.fdopen(typed, "w"), os.fdopen(said)
    return process


def _interpreter(program: str, *locale: tuple[str, str]) -> socket.socket:
    """The line to the interpreter from which this program is forked; it ends with this process."""
    with _one_loads:
        if (program, locale) not in _loaded:
            _loaded[program, locale] = _load(program, dict(locale))
        return _loaded[program, locale]


def _load(program: str, locale: Mapping[str, str]) -> socket.socket:
    mine, its = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
    nobody = subprocess.DEVNULL
    command = [sys.executable, __file__, program, str(its.fileno())]
    process = subprocess.Popen(
        command, pass_fds=[its.fileno()], stdin=nobody, stdout=nobody, close_fds=True, env={**os.environ, **locale}
    )
    its.close()

    def end() -> None:
        mine.close()
        process.wait()

    atexit.register(end)
    return mine


def _serve(connection: socket.socket) -> tuple[dict[str, Any], Sequence[int]] | None:
    """Fork whenever asked to, and tell of each end; in a child this returns what it is to be, and on which ends."""
    with selectors.DefaultSelector() as awaited:
        awaited.register(connection, selectors.EVENT_READ)
        while True:
            for key, _ in awaited.select():
                if key.data is not None:
                    _tell_of_the_end(awaited, key)
                    continue
                data, ends, _, _ = socket.recv_fds(connection, _MESSAGE_BYTES, 4)
                if not data:
                    return None
                *its, tells = ends
                child = os.fork()
                if child == 0:
                    connection.close()
                    os.close(tells)
                    _forget(awaited)
                    return json.loads(data), its
                for end in its:
                    os.close(end)
                told = socket.socket(fileno=tells)
                _tell(told, child)
                awaited.register(os.pidfd_open(child), selectors.EVENT_READ, (child, told))


def _tell_of_the_end(awaited: selectors.BaseSelector, key: selectors.SelectorKey) -> None:
    child, told = key.data
    awaited.unregister(key.fd)
    os.close(key.fd)
    _tell(told, os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]))
    told.close()


def _tell(told: socket.socket, number: int) -> None:
    with suppress(OSError):  # whoever asked has gone
        told.send(str(number).encode())


def _forget(awaited: selectors.BaseSelector) -> None:
    """Close what is open for the others: in a child nobody looks after them."""
    for key in awaited.get_map().values():
        if key.data is not None:
            os.close(key.fd)
            key.data[1].close()


def _become(asked: Mapping[str, Any], ends: Sequence[int]) -> None:
    """Take the place, the surroundings and the files of the process that is asked for."""
    os.chdir(asked["cwd"])
    os.environ.clear()
    os.environ.update(asked["environment"])
    time.tzset()
    for number, (end, name) in enumerate(zip(ends, ("stdin", "stdout", "stderr"), strict=True)):
        os.dup2(end, number)
        os.close(end)
        before = getattr(sys, name)  # what it found out about its file holds no longer
        attributes = {"encoding": before.encoding, "errors": before.errors, "closefd": False}
        anew = open(number, "w" if number else "r", buffering=1 if number == 2 else -1, **attributes)  # noqa: PTH123, SIM115
        setattr(sys, name, anew)
    if asked["terminal"]:
        _log_in()


def _log_in() -> None:
    import fcntl
    import termios

    os.setsid()
    fcntl.ioctl(0, termios.TIOCSCTTY, 0)
    for name in ("SIGQUIT", "SIGTERM", "SIGHUP"):
        signal.signal(getattr(signal, name), signal.SIG_DFL)
    signal.signal(signal.SIGINT, signal.default_int_handler)


def _be(program: Program, line: Sequence[str], *, to_the_last: bool) -> None:
    """Carry it out and end, with all that the interpreter does at an end but taking down what it had loaded before.

    That would copy every page of it, which takes longer than most commands. It is done all the same where the process
    is to be as it is `to_the_last`, and where its last words are not taken: what is said of that is Python's own.
    """
    code: object = 0
    try:
        program.carry_out(line)
    except SystemExit as end:
        code = end.code or 0
    if to_the_last or not isinstance(code, int):
        sys.exit(code)  # type: ignore[arg-type]  # as it came
    threading._shutdown()  # type: ignore[attr-defined]
    atexit._run_exitfuncs()
    gc.collect()
    try:
        sys.stdout.flush()
        sys.stderr.flush()
    except OSError:
        sys.exit(code)
    os._exit(code)


if __name__ == "__main__":
    loaded = cast("Program", importlib.import_module(sys.argv[1]))
    loaded.load()
    gc.freeze()
    wanted = _serve(socket.socket(fileno=int(sys.argv[2])))
    if wanted is not None:
        _become(*wanted)
        _be(loaded, wanted[0]["line"], to_the_last=wanted[0]["terminal"])
