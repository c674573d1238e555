"""Where the shared book is: an address as the database's own library takes it, and how it is shown.

PostgreSQL documentation, "Connection URIs". How the connection is secured is part of the address (`sslmode`,
`sslrootcert`), or of the settings that the library reads by itself; a password is best kept in its own file.
"""

import hashlib
import os
import re
from collections.abc import Mapping
from dataclasses import dataclass

VARIABLE = "COMMISSION_SHARED"
BEGINS = ("postgresql://", "postgres://")
WORD = "shared:"
"""What stands for the usual shared book where a record book is named."""
_SECRET = re.compile(r"(?<=:)[^:@/]*(?=@)|(?<=password=)[^&]*", re.IGNORECASE)


@dataclass(frozen=True)
class SharedAddress:
    """The address of a shared book.

    Attributes:
        text: as it was given, perhaps with a password in it.
    """

    text: str

    def __str__(self) -> str:
        """The address without its password, as it may be shown."""
        scheme, _, rest = self.text.partition("://")
        whose, at, where = rest.rpartition("@") if "@" in rest.partition("?")[0] else ("", "", rest)
        whose = whose.partition(":")[0]
        return f"{scheme}://{whose}{at}{_SECRET.sub('...', where)}"

    @property
    def has_password(self) -> bool:
        """Whether a password stands in it."""
        return self.text != str(self)

    @property
    def key(self) -> str:
        """A name for it that can stand in a path; the same for every user and way of security."""
        where = str(self).partition("://")[2].rpartition("@")[2]
        place, _, more = where.partition("?")
        kept = sorted(part for part in more.split("&") if part.startswith(("host", "port", "dbname", "service")))
        return hashlib.sha256("&".join([place, *kept]).encode()).hexdigest()[:16]


def is_address(text: str) -> bool:
    """Whether it is the address of a shared book, and no file's name."""
    return text.startswith(BEGINS)


def address_in(text: str) -> SharedAddress:
    """The address that was given.

    Raises:
        ValueError: it is none; the text says what one looks like, and shows nothing of what was given.
    """
    if not is_address(text.strip()):
        raise ValueError("write postgresql://USER@HOST/DATABASE")
    return SharedAddress(text.strip())


def usual_address(environment: Mapping[str, str] = os.environ) -> str:
    """What the environment has for it; empty for nothing."""
    return environment.get(VARIABLE, "").strip()
