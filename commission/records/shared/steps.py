"""Makes the tables of the shared book, brings them up to date, and says whether they are.

The steps stand in `migrations/versions`. They go forward only: an entry is never taken away.
"""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import Connection, text

from commission.command_lines import PREPARE_SHARED
from commission.records.shared.address import SharedAddress
from commission.records.shared.line import NOT_INSTALLED, NotInstalled, engine_on, translated
from commission.records.shared.tables import SCHEMA
from commission.records.tables import BookError

if TYPE_CHECKING:
    from alembic.config import Config
    from alembic.script import ScriptDirectory

NEWEST = "1"
"""The step up to which the tables must have come for this program; a test holds it against the files."""
ONE_AT_A_TIME = 0x436F6D42
"""The number of the lock that whoever prepares the tables takes."""
TO_PREPARE = f"Prepare it with `{PREPARE_SHARED}`, as the login that owns it; see docs/shared.md."


def prepare(address: SharedAddress) -> tuple[str, str]:
    """Make the tables, or bring them up to date: all of it or nothing; returns the step before and after it.

    Raises:
        NotInstalled, SharedAway: as `engine_on` and `translated`.
        BookError: it may not be done, or the tables are of a newer version of this program.
    """
    engine = engine_on(address)
    config = _config()
    from alembic import command

    with translated(address), engine.begin() as connection:
        connection.execute(text("SELECT pg_advisory_xact_lock(:number)"), {"number": ONE_AT_A_TIME})
        before = step_of(connection)
        _refuse_newer(address, before, _known(config))
        if before == NEWEST:
            return before, before
        if not before:
            connection.execute(text(f"CREATE SCHEMA IF NOT EXISTS {SCHEMA}"))
        config.attributes["connection"] = connection
        command.upgrade(config, "head")
        return before, step_of(connection)


def step_of(connection: Connection) -> str:
    """The step up to which the tables have come; empty where there are none."""
    if connection.scalar(text(f"SELECT to_regclass('{SCHEMA}.steps')")) is None:
        return ""
    return connection.scalar(text(f"SELECT version_num FROM {SCHEMA}.steps")) or ""  # noqa: S608 - our own words


def require_prepared(address: SharedAddress, step: str) -> None:
    """Refuse a database that is not prepared for this program.

    Raises:
        BookError: it is not; the text says what to do.
    """
    if not step:
        raise BookError(f"The database {address} holds no shared book yet. {TO_PREPARE}")
    if step != NEWEST:
        _refuse_newer(address, step, _known(_config()))
        raise BookError(f"The shared book {address} was made by an earlier version of this program. {TO_PREPARE}")


def _refuse_newer(address: SharedAddress, step: str, known: Sequence[str]) -> None:
    if step and step not in known:
        raise BookError(
            f"The shared book {address} was made by a newer version of this program (step {step}, this one knows "
            f"{NEWEST}). Update this program."
        )


def _known(config: "Config") -> list[str]:
    return [step.revision for step in _scripts(config).walk_revisions()]


def _scripts(config: "Config") -> "ScriptDirectory":
    from alembic.script import ScriptDirectory

    return ScriptDirectory.from_config(config)


def _config() -> "Config":
    try:
        from alembic.config import Config
    except ImportError as error:
        raise NotInstalled(NOT_INSTALLED) from error
    config = Config()
    config.set_main_option("script_location", str(Path(__file__).with_name("migrations")).replace("%", "%%"))
    return config
