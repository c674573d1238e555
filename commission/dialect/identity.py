"""Who the printer says it is: the identity line and the capability lines after it."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from commission.dialect.replies import acknowledgement

# Builds ship with this one by default, so on very many machines it names nobody.
_COMMON_UUID = "cede2a2f-41a2-4748-9b12"

# Values hold blanks, colons and even other versions, so a value ends only where one of these keys begins.
_KEY = re.compile(
    r"(?:^|(?<=[ ,]))(?P<key>FIRMWARE_(?:NAME|VERSION|URL|DATE|TYPE)|SOURCE_CODE_URL|PROTOCOL_VERSION|MACHINE_TYPE"
    r"|KINEMATICS|EXTRUDER_COUNT|AXIS_COUNT|UUID|ELECTRONICS|X-[A-Z_]{1,40}|[A-Z0-9]{1,40}_PROTOCOL):"
)
_FIRST_KEY = re.compile(r"\s*FIRMWARE_(?:NAME|VERSION):")
_CAPABILITY = re.compile(r"Cap: ?(?P<name>[A-Za-z0-9_]{1,60}):(?P<state>[01])\s*$")
_AREA = re.compile(r"area:\{")

# A version inside a firmware name. The leftmost form wins: what follows is somebody else's version.
_VERSION = re.compile(
    r"\b(?:bugfix|release|dev|nightly)-\d[\w.]{0,40}"
    r"|(?:(?<= )(?=[A-Za-z]*\d)[A-Za-z][A-Za-z\d]{0,7}-)?"  # a word of letters and digits before the figures
    r"(?<![A-Za-z\d.])[Vv]?\d+(?:\.(?:\d+|x))+(?:-[A-Za-z0-9][\w.]{0,40}){0,4}"
    r"|(?<![\w.])(?=[0-9a-f]{0,39}\d)[0-9a-f]{7,40}(?![\w.])(?: \+ pull/\d+)?"
    r"|\bbuild\d+(?:_\w{1,40})?"
    r"|\b[Vv]\d+\b"
)


@dataclass(frozen=True)
class Identity:
    """What the printer announces of itself. What it does not state is None.

    Attributes:
        firmware_name: the whole announced name, version and remarks included.
        firmware_version: the version alone. Vendor builds claim versions that are not theirs: never decide by it.
        machine: the announced machine.
        extruders: the announced number of extruders.
        uuid: the announced unique number, which often is one default for all.
        capabilities: what the build says it has. An absent name is unknown, not no.
        other: every other entry, by its key.
        said: the lines it was read from; they are no part of who it is.
    """

    firmware_name: str | None = None
    firmware_version: str | None = None
    machine: str | None = None
    extruders: int | None = None
    uuid: str | None = None
    capabilities: Mapping[str, bool] = field(default_factory=dict)
    other: Mapping[str, str] = field(default_factory=dict)
    said: tuple[str, ...] = field(default=(), compare=False, repr=False)

    def __post_init__(self) -> None:
        if self.extruders is not None and self.extruders < 0:
            raise ValueError(f"a printer has no {self.extruders} extruders")
        object.__setattr__(self, "capabilities", MappingProxyType(dict(self.capabilities)))
        object.__setattr__(self, "other", MappingProxyType(dict(self.other)))

    @property
    def common_uuid(self) -> bool:
        """Whether the unique number is the default of the builds and so tells no two printers apart."""
        return self.uuid is not None and self.uuid.lower().startswith(_COMMON_UUID)

    @property
    def announces_runout(self) -> bool | None:
        """Whether runout support is announced as built in; None when nothing is said, as older builds do."""
        return self.capabilities.get("RUNOUT")

    @property
    def takes_emergency_words(self) -> bool | None:
        """Whether urgent words are announced to be taken while the printer is blocked; None when nothing is said."""
        return self.capabilities.get("EMERGENCY_PARSER")


def version_in(firmware_name: str) -> str | None:
    """The version inside an announced name, or None when nothing there looks like one."""
    found = _VERSION.search(firmware_name)
    return found[0].rstrip(".-") if found else None


def is_identity_line(text: str) -> bool:
    """Whether a line, or the data after an acknowledgement, is part of an identity answer."""
    return bool(_FIRST_KEY.match(text) or _CAPABILITY.match(text) or _AREA.match(text))


def entries(text: str) -> dict[str, str]:
    """The key and value pairs of an identity line, values as printed."""
    found = list(_KEY.finditer(text))
    ends = [*(match.start() for match in found[1:]), len(text)]
    return {
        match["key"]: text[match.end() : end].strip().rstrip(",").rstrip()
        for match, end in zip(found, ends, strict=False)
    }


def last_identity(lines: Iterable[str]) -> tuple[str, ...]:
    """The lines of the last identity answer, without acknowledgements: it was asked again for a reason."""
    answer: list[str] = []
    known: set[str] = set()
    for line in lines:
        data = acknowledgement(line)
        text = line if data is None else data
        if _FIRST_KEY.match(text):
            fresh = entries(text).keys()
            if known & fresh:
                answer, known = [], set()
            known |= fresh
            answer.append(text)
        elif _CAPABILITY.match(text):
            answer.append(text)
    return tuple(answer)


def identity_of(lines: Iterable[str]) -> Identity | None:
    """The identity these lines state, or None. Of several, the last."""
    known: dict[str, str] = {}
    capabilities: dict[str, bool] = {}
    said = last_identity(lines)
    for text in said:
        if found := _CAPABILITY.match(text):
            capabilities[found["name"]] = found["state"] == "1"
        else:
            known |= entries(text)
    return _identity(known, capabilities, said) if known or capabilities else None


def _identity(known: dict[str, str], capabilities: dict[str, bool], said: tuple[str, ...]) -> Identity:
    rest = dict(known)
    name = rest.pop("FIRMWARE_NAME", None)
    count = rest.pop("EXTRUDER_COUNT", "")
    return Identity(
        firmware_name=name,
        firmware_version=rest.pop("FIRMWARE_VERSION", None) or (version_in(name) if name else None),
        machine=rest.pop("MACHINE_TYPE", None),
        extruders=int(count) if re.fullmatch(r"\d{1,3}", count) else None,
        uuid=rest.pop("UUID", None),
        capabilities=capabilities,
        other=rest,
        said=said,
    )
