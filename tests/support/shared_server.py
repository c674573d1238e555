"""A PostgreSQL server of its own for the tests, in a folder that goes with it; from Debian's packages.

It listens on the loopback address and lets everybody in who comes from there: who may do what is decided by the roles
of docs/examples/shared-roles.sql, which is run as it stands. A server refuses to be run by root: there it is handed to
the account that the package made.
"""

import os
import pwd
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from tests.support.in_memory import memory
from tests.support.programs import needs_program, unrunnable

ROLES = Path(__file__).parents[2] / "docs" / "examples" / "shared-roles.sql"
ACCOUNT = "postgres"
OWNER, WRITER, READER = "commission_owner", "bench_1", "wall"
LOGINS = "CREATE ROLE bench_1 LOGIN IN ROLE commission_writer; CREATE ROLE wall LOGIN IN ROLE commission_reader;"
STARTED_S = 60


def server_programs() -> Path | None:
    """The folder with the server's programs; Debian keeps those of each version in one of its own."""
    found = shutil.which("initdb")
    places = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    if places:
        return places[-1].parent
    return None if found is None else Path(found).parent


class SharedServer:
    """A server that runs.

    Args:
        programs: the folder of its programs.
        folder: its data, its socket and its log.

    Attributes:
        port: on the loopback address.
    """

    def __init__(self, programs: Path, folder: Path) -> None:
        self.port = _free_port()
        self._programs = programs
        self._folder = folder
        self._process: subprocess.Popen[Any] | None = None
        make = [
            str(programs / "initdb"),
            "-D",
            str(folder / "data"),
            "-U",
            ACCOUNT,
            "-A",
            "trust",
            "-E",
            "UTF8",
            "--locale=C",
        ]
        done = subprocess.run(
            [*make, "--no-sync"],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
            cwd="/",
            check=False,
            **_as_who(),
        )
        if done.returncode:
            raise RuntimeError(done.stderr)
        with (folder / "data" / "postgresql.conf").open("a") as file:
            file.write(f"port = {self.port}\nlisten_addresses = '127.0.0.1'\nunix_socket_directories = '{folder}'\n")
            file.write("fsync = off\n")

    def address(self, login: str = WRITER, database: str = "commission", port: int | None = None) -> str:
        """An address for `--shared`."""
        return f"postgresql://{login}@127.0.0.1:{port or self.port}/{database}"

    def sql(self, text: str, login: str = ACCOUNT, database: str = "postgres") -> str:
        """What `psql` answers to these words, one row a line; an error is raised with its words."""
        return self._psql(login, database, "--command", text)

    def roles(self) -> str:
        """Run the script of the roles as it stands."""
        return self._psql(ACCOUNT, "postgres", "--file", str(ROLES))

    def _psql(self, login: str, database: str, *words: str) -> str:
        command = [
            str(self._programs / "psql"),
            "-X",
            "-q",
            "-At",
            "--set=ON_ERROR_STOP=1",
            self.address(login, database),
        ]
        done = subprocess.run([*command, *words], capture_output=True, text=True, check=False, timeout=STARTED_S)
        if done.returncode:
            raise RuntimeError(done.stderr)
        return done.stdout.strip()

    def fresh(self) -> None:
        """Begin anew: roles, an empty database and the logins, but no tables yet."""
        self.sql("DROP DATABASE IF EXISTS commission WITH (FORCE)")
        self.roles()
        if not self.sql("SELECT 1 FROM pg_roles WHERE rolname = 'wall'"):
            self.sql(LOGINS)

    def encrypt(self, place: Path) -> None:
        """Have it offer encrypted lines by its own `server.crt`, which lies there beside a strange `other.crt`."""
        for name in ("server", "other"):
            words = ["req", "-x509", "-newkey", "rsa:2048", "-nodes", "-subj", "/CN=127.0.0.1", "-days", "2"]
            words += ["-addext", "subjectAltName=IP:127.0.0.1"]
            files = ["-keyout", str(place / f"{name}.key"), "-out", str(place / f"{name}.crt")]
            subprocess.run([needs_program("openssl"), *words, *files], capture_output=True, check=True)
        for name in ("server.crt", "server.key"):
            there = Path(shutil.copy(place / name, self._folder / "data" / name))
            there.chmod(0o600)
            if os.geteuid() == 0:
                shutil.chown(there, ACCOUNT, ACCOUNT)
        self.sql("ALTER SYSTEM SET ssl = on")
        self.sql("SELECT pg_reload_conf()")
        end_s = time.monotonic() + STARTED_S
        while self.sql("SHOW ssl") != "on" and time.monotonic() < end_s:
            time.sleep(0.05)

    def begin(self) -> None:
        """Have it run."""
        command = [str(self._programs / "postgres"), "-D", str(self._folder / "data")]
        with (self._folder / "log").open("ab") as log:
            self._process = subprocess.Popen(
                command, stdin=subprocess.DEVNULL, stdout=log, stderr=log, cwd="/", **_as_who()
            )
        end_s = time.monotonic() + STARTED_S
        while True:
            try:
                self.sql("SELECT 1")
            except RuntimeError as error:
                if time.monotonic() > end_s:
                    raise RuntimeError((self._folder / "log").read_text(errors="replace")) from error
                time.sleep(0.05)
            else:
                return

    def end(self) -> None:
        """Have it stop at once, as when the power goes."""
        if self._process is not None:
            self._process.send_signal(signal.SIGQUIT)
            self._process.wait(STARTED_S)
            self._process = None


def _as_who() -> dict[str, Any]:
    """Somebody who is not root."""
    if os.geteuid() != 0:
        return {}
    account = pwd.getpwnam(ACCOUNT)
    return {"user": account.pw_uid, "group": account.pw_gid, "extra_groups": []}


@contextmanager
def running_server(programs: Path) -> Iterator[SharedServer]:
    """A server that ends with the block, and its folder with it."""
    # not within a folder of this session, which the server's account could not enter
    folder = Path(tempfile.mkdtemp(prefix="shared-book-", dir=memory() or "/tmp"))  # noqa: S108 - its own folder in it
    try:
        if os.geteuid() == 0:
            shutil.chown(folder, ACCOUNT, ACCOUNT)
        server = SharedServer(programs, folder)
        try:
            server.begin()
            yield server
        finally:
            server.end()
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def needed_server() -> Iterator[SharedServer]:
    """A server for a fixture; without the programs the test is skipped, or fails where every tool is asked for."""
    programs = server_programs()
    if programs is None:
        unrunnable("the server of PostgreSQL is not installed")
    with running_server(programs) as server:
        yield server
