"""How each simulated printer is set up, for one and for a whole fleet of them.

A fleet is a TOML file: `format = 1`, then a table `[[units]]` for each printer, or for several that are alike. Its keys
are the attributes of `Setup`; `profiles/README.md` explains them.
"""

import dataclasses
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from fake_printer.checks import require
from fake_printer.tables import TableError, record_from
from fake_printer.toml_file import NotReadable, read_tables

FORMAT = 1
MOST_UNITS = 1000
MOST_SPEED = 1000.0
WORDS = ("help", "stop", "units")
"""Words of a fleet's bench, which no printer can be called by."""
_KINDS = ("pty", "tcp", "rfc2217")
_NUMBER = "{n}"


class FleetError(Exception):
    """The file does not describe a fleet; the text names the place and says what to do."""


@dataclass(frozen=True)
class Port:
    """What the host opens.

    Attributes:
        kind: pty, tcp or rfc2217.
        where: the path of a pseudo-terminal, or a port number; empty to have one chosen.
    """

    kind: str
    where: str = ""

    @classmethod
    def parse(cls, text: str) -> "Port":
        """Read `KIND` or `KIND:WHERE`.

        Raises:
            ValueError: no such kind, or a number that is none.
        """
        kind, _, where = text.partition(":")
        require(kind in _KINDS, f"port is {text!r}; say pty, tcp or rfc2217, and behind a colon which one if you like")
        numbered = kind == "pty" or where.isdecimal() or not where
        require(numbered, f"port is {text!r}; behind {kind}: stands a port number, or nothing to have one chosen")
        return cls(kind, where)

    @property
    def number(self) -> int:
        """The port number; 0 to have one chosen."""
        return int(self.where or 0)


@dataclass(frozen=True)
class Setup:
    """One printer.

    Attributes:
        unit: name of a unit, or a file that describes one.
        name: what it is called in a fleet; the unit's name if left out.
        port: what the host opens: `pty`, `pty:PATH`, `tcp`, `tcp:NUMBER`, `rfc2217` or `rfc2217:NUMBER`.
        control: port of a control socket of its own; 0 has one chosen, None has none.
        seed: where chance begins.
        paced: whether bytes need their time on the line.
        speed_factor: simulated seconds to a real one.
        stepped: whether time passes only as its bench says.
        state_file: where the stored settings are kept between runs; empty for nowhere.
        log: where what passes over the line is written; empty for nowhere.
        count: how many there are like this; `{n}` in its texts is then the number of each, from 1, and seed and
            numbers of ports count up.
        number: which of several alike it is: from the second on it announces a unique number of its own, where the
            unit announces one.
    """

    unit: str
    name: str = ""
    port: str = "pty"
    control: int | None = 0
    seed: int = 0
    paced: bool = True
    speed_factor: float = 1.0
    stepped: bool = False
    state_file: str = ""
    log: str = ""
    count: int = 1
    number: int = 1

    def __post_init__(self) -> None:
        Port.parse(self.port)
        require(0 < self.count <= MOST_UNITS, f"count is {self.count}; it is a number from 1 to {MOST_UNITS}")
        require(0 < self.speed_factor <= MOST_SPEED, f"the speed factor is above 0 and at most {MOST_SPEED:g}")
        require(0 < self.number <= MOST_UNITS, f"number is {self.number}; it is a number from 1 to {MOST_UNITS}")
        alone = self.count == 1
        require(alone or _NUMBER in self.name, f"{self.count} printers cannot have one name; put {{n}} into it")
        path = self.port.partition(":")[2] if self.port.startswith("pty") else ""
        for key, text in {"port": path, "state_file": self.state_file, "log": self.log}.items():
            shared = not alone and text and _NUMBER not in text
            require(not shared, f"{self.count} printers cannot share one {key}; put {{n}} into it")

    def each(self) -> list["Setup"]:
        """The printers one by one."""
        return [self._numbered(n) for n in range(1, self.count + 1)]

    def _numbered(self, n: int) -> "Setup":
        port = Port.parse(self.port)
        where = str(port.number + n - 1) if port.kind != "pty" and port.number else port.where
        texts = {key: getattr(self, key).replace(_NUMBER, str(n)) for key in ("unit", "state_file", "log")}
        return dataclasses.replace(
            self,
            **texts,
            name=self.name.replace(_NUMBER, str(n)) or Path(self.unit).stem,
            port=f"{port.kind}:{where}".replace(_NUMBER, str(n)),
            control=self.control + n - 1 if self.control else self.control,
            seed=self.seed + n - 1,
            count=1,
            number=self.number + n - 1,
        )


@dataclass(frozen=True)
class _Fleet:
    units: tuple[Setup, ...]


def load_fleet(path: Path) -> list[Setup]:
    """The printers a file describes, one by one.

    Raises:
        FleetError: it cannot be read, is in a newer format, holds something unknown, or two printers share a name.
    """
    table = _read(path)
    try:
        fleet = record_from(_Fleet, table)
    except TableError as wrong:
        raise FleetError(f"{path}: {wrong}. profiles/README.md lists the keys.") from wrong
    setups = [each for setup in fleet.units for each in setup.each()]
    _check_names(path, [setup.name for setup in setups])
    return setups


def _check_names(path: Path, names: list[str]) -> None:
    if not 0 < len(names) <= MOST_UNITS:
        raise FleetError(f"{path}: {len(names)} printers; a fleet has 1 to {MOST_UNITS}. Begin each with [[units]].")
    for name, times in Counter(names).items():
        if times > 1:
            raise FleetError(f"{path}: {times} printers are called {name!r}. Give each a name of its own.")
        if name in WORDS or len(name.split()) != 1 or not name.isprintable():
            raise FleetError(f"{path}: a printer cannot be called {name!r}. Choose one word, not {', '.join(WORDS)}.")


def _read(path: Path) -> Mapping[str, object]:
    try:
        table = read_tables(path)
    except NotReadable as problem:
        raise FleetError(str(problem)) from problem
    stated = table.pop("format", None)
    if stated != FORMAT:
        raise FleetError(f"{path}: 'format' is {stated}. The first line of a fleet is: format = {FORMAT}")
    return table
