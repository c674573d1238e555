"""`commission read`: what the tool understands of a saved console capture."""

import json
import textwrap
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from commission.cli.captures import name_of, read_capture
from commission.cli.exit_codes import PASSED, WRONG_USAGE, exits
from commission.cli.telling import hand_out, say

if TYPE_CHECKING:
    from commission.dialect.identity import Identity
    from commission.dialect.understanding import RunoutControl, SettingsLine, SourceReport, Understanding

PAGE_COLUMNS = 100
MOST_LISTED, LONGEST_LISTED = 40, 200


def _schema(context: click.Context, _: click.Parameter, asked: bool) -> None:  # noqa: FBT001 - a callback of the library
    if not asked or context.resilient_parsing:
        return
    from commission.dialect.reading import schema_text

    hand_out(schema_text(), end="")
    context.exit()


@click.command(epilog="Example: commission read bench-3-settings.txt --json")
@click.argument("file", type=click.Path(path_type=Path, allow_dash=True))
@click.option("--json", "as_data", is_flag=True, help="Write JSON, as its published schema describes it.")
@click.option(
    "--schema",
    is_flag=True,
    expose_value=False,
    is_eager=True,
    callback=_schema,
    help="Write that schema, and no more.",
)
@exits({PASSED: "the file was read", WRONG_USAGE: "it could not be"})
def read(file: Path, *, as_data: bool) -> None:
    """Say what is understood of a saved console capture FILE; - reads the standard input.

    Takes replies in any order and of any printer family it knows: identity, switch states, settings, runout control,
    pins, sources, stored settings and what a printer says by itself. What is not understood is listed as it stands.

    A source is where a filament sensor can be read: a line of the switch report, a monitor or its status, a named
    sensor, a word in a reply of runout control, a pin, a counter of pulses. It says that filament is in or out only
    where the printer itself says so.
    """
    from commission.dialect.understanding import as_json, understand

    understanding = understand(_capture(file))
    if as_data:
        hand_out(json.dumps(as_json(understanding), indent=2))
    else:
        say("\n".join(_page(understanding)))


def _capture(file: Path) -> bytes:
    """The bytes of a capture.

    Raises:
        click.BadParameter: it cannot be read, is too large or is empty.
    """
    data = read_capture(file, "FILE")
    if not data:
        raise click.BadParameter(f"{name_of(file)} is empty. Save the printer's replies in it.", param_hint="FILE")
    return data


def _page(read_: "Understanding") -> Iterator[str]:
    sections = {
        "Identity": _identity(read_.identity),
        "Switches": _table(
            ("name", "wire word", "reading"), [(s.name, s.wire_word, s.reading.value) for s in read_.switches]
        ),
        "Runout control": _runout(read_.runout_control),
        "Sources": _table(
            ("kind", "name", "reads", "filament", "watched", "level when absent", "error"),
            [_source(source) for source in read_.sources],
        ),
        "Settings": _table(("command", "which", "values", "flags"), [_setting(item) for item in read_.settings]),
        "Pins": _table(
            ("pin", "used as", "level", "claimed by"),
            [
                (
                    f"{p.pin} ({p.port})" if p.port else p.pin,
                    p.mode or "",
                    p.level.value if p.level else "",
                    ", ".join(p.names),
                )
                for p in read_.pins
            ],
        ),
        "Stored settings": _table(
            ("event", "kind", "stated"),
            [
                (e.event, e.kind or "", _pairs({"version": e.version, "bytes": e.bytes, "crc": e.crc, **e.details}))
                for e in read_.stored_settings
            ],
        ),
        "Acknowledgements": _acknowledgements(read_),
        "Events": _table(("event", "line"), [(e.event, e.text.strip()) for e in read_.events]),
        "Unrecognised": list(_unrecognised(read_.unrecognised)),
    }
    for heading, lines in sections.items():
        if lines:
            yield from (heading, *lines, "")
    silent = [heading.lower() for heading, lines in sections.items() if not lines and heading != "Unrecognised"]
    if silent:
        yield f"Nothing in this capture states: {', '.join(silent)}."
    yield f"Lines not understood: {len(read_.unrecognised)}."
    if silent == [heading.lower() for heading in sections if heading != "Unrecognised"]:
        yield "Nothing in it is a printer's reply as this program knows them: is it the right file?"


def _unrecognised(lines: Sequence[str]) -> Iterator[str]:
    """Enough of the lines to see what they are; JSON has them all."""
    for line in lines[:MOST_LISTED]:
        yield f"  {line[:LONGEST_LISTED]}{' ...' if len(line) > LONGEST_LISTED else ''}"
    if len(lines) > MOST_LISTED:
        yield f"  and {len(lines) - MOST_LISTED} more; --json lists them all, and whole"


def _identity(identity: "Identity | None") -> list[str]:
    if identity is None:
        return []
    has = sorted(name for name, state in identity.capabilities.items() if state)
    has_not = sorted(name for name, state in identity.capabilities.items() if not state)
    remark = " (the default of many builds: it tells no two printers apart)" if identity.common_uuid else ""
    stated = {
        "firmware": identity.firmware_name,
        "version": identity.firmware_version,
        "machine": identity.machine,
        "extruders": identity.extruders,
        "uuid": identity.uuid and identity.uuid + remark,
        **{key.lower().replace("_", " "): value for key, value in identity.other.items()},
        "it has": ", ".join(has) or None,
        "it has not": ", ".join(has_not) or None,
    }
    return _fields(stated)


def _source(source: "SourceReport") -> tuple[str, ...]:
    watched = {True: "yes", False: "no", None: ""}[source.enabled]
    filament = source.presence.value if source.presence else ""
    level = source.absent_level.value if source.absent_level else ""
    kind = source.kind.value.replace("_", " ")
    return kind, source.name, source.wire_word, filament, watched, level, source.error or ""


def _runout(control: "RunoutControl") -> list[str]:
    yes_no = {True: "yes", False: "no", None: None}
    return _fields(
        {
            "supported": yes_no[control.supported],
            "enabled": yes_no[control.enabled],
            "leftover distance": _length(control.distance_mm),
            "motion distance": _length(control.motion_distance_mm),
            "left to the host": yes_no[control.host_handling],
            "filament, as claimed": control.filament_claimed and control.filament_claimed.value,
            "level when absent": control.absent_level and control.absent_level.value,
        }
    )


def _length(mm: float | None) -> str | None:
    return None if mm is None else f"{mm:g} mm"


def _setting(item: "SettingsLine") -> tuple[str, str, str, str]:
    printed = {letter: item.number_texts.get(letter, value) for letter, value in item.values.items()}
    unread = f"{' '.join(item.unread_words)} (not understood)" if item.unread_words else ""
    return item.command, _pairs(item.selectors), _pairs(printed), " ".join((*item.flags, unread)).strip()


def _acknowledgements(read_: "Understanding") -> list[str]:
    if not read_.acknowledgements:
        return []
    stated = [
        _pairs({"line": a.line, "planner free": a.planner_free, "queue free": a.queue_free})
        for a in read_.acknowledgements
    ]
    told = sorted({each for each in stated if each})
    return [f"  {len(stated)} in all", *(f"  {each}" for each in told)]


def _pairs(values: Mapping[str, object]) -> str:
    return " ".join(f"{name}={value}" for name, value in values.items() if value is not None)


def _fields(stated: Mapping[str, object]) -> list[str]:
    known = {name: value for name, value in stated.items() if value is not None}
    width = max((len(name) for name in known), default=0)
    wrapped = {name: textwrap.wrap(str(value), PAGE_COLUMNS - width - 4) or [""] for name, value in known.items()}
    return [
        f"  {(name if index == 0 else '').ljust(width)}  {part}"
        for name, parts in wrapped.items()
        for index, part in enumerate(parts)
    ]


def _table(headings: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    if not rows:
        return []
    used = [column for column in range(len(headings)) if any(row[column] for row in rows)]
    widths = {column: max(len(row[column]) for row in (headings, *rows)) for column in used}
    return [
        "  " + "  ".join(row[column].ljust(widths[column]) for column in used).rstrip() for row in (headings, *rows)
    ]
