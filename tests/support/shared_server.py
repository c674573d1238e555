"""A PostgreSQL server of its own for the tests, in a folder that goes with it; from Debian's packages.

It listens on the loopback address and lets everybody in who comes from there: who may do what is decided by the roles
of docs/examples/shared-roles.sql, which is run as it stands. A server refuses to be run by root: there it is handed to
the account that the package made.
"""

import os
import pwd
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.support.programs import unrunnable

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


@dataclass(frozen=True)
class SharedServer:
    """A server that runs.

    Attributes:
        programs: the folder of its programs.
        folder: its data, its socket and its log.
        port: on the loopback address.
    """

    programs: Path
    folder: Path
    port: int

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
            str(self.programs / "psql"),
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

    def begin(self) -> None:
        """Have it run."""
        self._control("start", "-w", "-l", str(self.folder / "log"))

    def end(self) -> None:
        """Have it stop at once, as a computer does that is switched off."""
        self._control("stop", "-m", "immediate")

    def _control(self, *words: str) -> None:
        run_as_account([str(self.programs / "pg_ctl"), "-D", str(self.folder / "data"), "-s", *words])


def run_as_account(command: list[str]) -> None:
    """Run a program of the server, as somebody who is not root."""
    as_who: dict[str, Any] = {}
    if os.geteuid() == 0:
        account = pwd.getpwnam(ACCOUNT)
        as_who = {"user": account.pw_uid, "group": account.pw_gid, "extra_groups": []}
    done = subprocess.run(
        command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, cwd="/", timeout=STARTED_S, check=False, **as_who
    )
    if done.returncode:
        raise RuntimeError(done.stderr.decode())


@contextmanager
def running_server(programs: Path) -> Iterator[SharedServer]:
    """A server that ends with the block, and its folder with it."""
    folder = Path(tempfile.mkdtemp(prefix="shared-book-"))
    if os.geteuid() == 0:
        shutil.chown(folder, ACCOUNT, ACCOUNT)
    server = SharedServer(programs, folder, _free_port())
    try:
        data = str(folder / "data")
        make = [str(programs / "initdb"), "-D", data, "-U", ACCOUNT, "-A", "trust", "-E", "UTF8", "--locale=C"]
        run_as_account([*make, "--no-sync"])
        with (folder / "data" / "postgresql.conf").open("a") as file:
            file.write(
                f"port = {server.port}\nlisten_addresses = '127.0.0.1'\nunix_socket_directories = '{folder}'\n"
                "fsync = off\n"
            )
        server.begin()
        try:
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
