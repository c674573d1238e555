"""The line to the database: how it is opened, how long anything may take, and what its troubles mean."""

import logging
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from sqlalchemy import Engine, NullPool, create_engine, event
from sqlalchemy.exc import DBAPIError

from commission.records.shared.address import SharedAddress
from commission.records.tables import BookError

PATIENCE: Mapping[str, object] = {
    "connect_timeout": 10,
    "keepalives": 1,
    "keepalives_idle": 10,
    "keepalives_interval": 5,
    "keepalives_count": 3,
    "tcp_user_timeout": 30_000,
}
"""A network that swallows everything is noticed within half a minute (PostgreSQL documentation, "Parameter Key Words");
seconds, the last in milliseconds. What stands in the address counts instead."""
LIMITS = (
    "SET lock_timeout = '60s'",
    "SET idle_in_transaction_session_timeout = '60s'",
    "SET tcp_keepalives_idle = 10",
    "SET tcp_keepalives_interval = 5",
    "SET tcp_keepalives_count = 3",
)
"""A bench that is gone in the middle of a stretch holds the others up no longer than this."""
NAME = "commission"
NOT_INSTALLED = (
    "The shared book needs parts that are not installed (psycopg and Alembic). Install them with the extra `shared`: "
    "`pip install 'commission[shared]'`, or `pip install '.[shared]'` in the project's folder."
)
_PASSES = (
    "timeout",
    "timed out",
    "Connection refused",
    "not known",
    "resolution",
    "translate host name",
    "unreachable",
    "No route",
    "reset by peer",
    "Broken pipe",
    "closed the connection",
    "could not receive",
    "could not send",
    "EOF detected",
    "No such file",
    "starting up",
    "shutting down",
    "recovery",
    "too many",
    "slots",
)
"""Words by which a connection that does not come about is known to come about later; the library has no codes for it.
Whatever has none of them somebody must put right: a password, a certificate, a name."""
_LOST = ("08", "57P0", "53", "25P0", "55P03")
"""Classes of trouble that pass (PostgreSQL documentation, "Error Codes"): connection, shutdown, resources, time."""


class NotInstalled(Exception):
    """The extra is not installed; the text says how it is."""


class SharedAway(Exception):
    """The shared book cannot be reached now, or the line to it was lost; the text says that nothing is lost by it.

    Attributes:
        what: the trouble alone, in a sentence.
    """

    def __init__(self, what: str) -> None:
        super().__init__(f"{what} What was carried over before stands, nothing is lost or doubled: sync again later.")
        self.what = what


def engine_on(address: SharedAddress) -> Engine:
    """An engine whose connections are opened by the address as it is.

    Raises:
        NotInstalled: the extra is not installed.
        BookError: the address is none.
    """
    try:
        import psycopg
        from psycopg.conninfo import conninfo_to_dict
    except ImportError as error:
        raise NotInstalled(NOT_INSTALLED) from error
    logging.getLogger("psycopg").addHandler(logging.NullHandler())  # what it would say of a lost line is raised too
    try:
        named = conninfo_to_dict(address.text)
    except psycopg.ProgrammingError:
        # what the library says would show the password
        raise BookError(f"{address} is no address of a shared book: write postgresql://USER@HOST/DATABASE.") from None
    settings: dict[str, Any] = {**PATIENCE, "application_name": NAME, **named}

    def connected() -> "psycopg.Connection[Any]":
        try:
            return psycopg.connect(**settings)
        except psycopg.OperationalError as error:
            raise _not_connected(address, error) from error

    engine = create_engine("postgresql+psycopg://", creator=connected, poolclass=NullPool)

    @event.listens_for(engine, "connect")
    def _limits(connection: Any, _record: object) -> None:
        for limit in LIMITS:
            connection.execute(limit)
        connection.commit()

    return engine


@contextmanager
def translated(address: SharedAddress) -> Iterator[None]:
    """Turn the database's troubles within the block into ours.

    Raises:
        SharedAway: it cannot be reached, or not now.
        BookError: it refuses; the text has its words.
    """
    try:
        yield
    except DBAPIError as error:
        said = _said(error.orig)
        code = getattr(error.orig, "sqlstate", None)
        if error.connection_invalidated or code is None or code.startswith(_LOST):
            raise _away(address, said) from error
        raise BookError(f"The shared book {address} refused: {said}. {_ADVICE.get(code, _OTHERWISE)}") from error


_OTHERWISE = "Ask whoever looks after the database."
_ADVICE: Mapping[str, str] = {
    "42501": "This login may not do that: a bench needs the role commission_writer. See docs/shared.md.",
    "42704": "The roles are made first, by docs/examples/shared-roles.sql.",
}


def _not_connected(address: SharedAddress, error: Exception) -> Exception:
    said = _said(error)
    if any(word in str(error) for word in _PASSES):
        return _away(address, said)
    return BookError(f"The shared book {address} lets nobody in by this address: {said}. {_LET_IN}")


def _away(address: SharedAddress, said: str) -> SharedAway:
    return SharedAway(f"The shared book {address} cannot be reached ({said}).")


_LET_IN = "Look at login, database and `sslmode` in the address, and at the password in ~/.pgpass. See docs/shared.md."


def _said(error: BaseException | None) -> str:
    """Its first line; the rest tells a programmer where."""
    lines = [line.strip() for line in str(error).splitlines() if line.strip()]
    return (lines[0] if lines else type(error).__name__).rstrip(".")
