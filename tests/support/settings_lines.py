"""The settings lines of a text, read as those of a capture."""

from collections.abc import Iterable

from commission.dialect.framing import RawLine
from commission.dialect.settings_lines import SettingsLine
from commission.dialect.understanding import understand


def settings_of(lines: Iterable[str]) -> tuple[SettingsLine, ...]:
    """Every settings line among these, in order."""
    return understand(RawLine.of(line) for line in lines).settings
