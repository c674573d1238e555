"""The restorable lines of a report as plain G-code, readable by any sender and by a person.

Live lines are those that may be put back as they are. A line that wants a look first stands behind a semicolon, under
its reason. What is not put back is named, not quoted: text of a saved report never enters the file, not even as a
comment.
"""

import textwrap
from collections.abc import Iterator, Sequence

from commission.settings.meaning import COMMAND
from commission.settings.plan_items import Decision, PlanItem, RestorePlan

WIDTH = 78
SPELLED = str.maketrans({"°": "deg ", "²": "^2", "³": "^3", "µ": "u", "Ω": "ohm"})

PREAMBLE = (
    "Each line below was built anew from a value that the printer reported; nothing in it moves, heats, probes, "
    "saves or erases.",
    "Send the lines one by one, read the settings back after each, and save once at the end.",
    "A line behind a semicolon wants a look first: read its reason, then take the semicolon away if it holds.",
    "Whether runout detection is on, and its leftover distance, are set afresh and do not stand here.",
)


def plain_file(plan: RestorePlan, heading: Sequence[str]) -> str:
    """The file's text.

    Args:
        plan: what may be put back.
        heading: lines for the top, such as the printer's tag and the date; each becomes one comment line.
    """
    lines = [line for said in heading for line in _comment(said)]
    lines += [line for said in PREAMBLE for line in _comment(said)]
    lines += _section("May be put back", plan.of(Decision.SEND), live=True)
    lines += _section("Wants a look first", plan.of(Decision.ASK), live=False)
    lines += _not_put_back(plan.of(Decision.REFUSE))
    return "\n".join(lines) + "\n"


def _section(title: str, items: Sequence[PlanItem], *, live: bool) -> Iterator[str]:
    if not items:
        return
    yield from ("", f"; == {title}")
    told = ""
    for item in items:
        why = _why(item)
        if why != told:
            yield from ("", *_comment(why))
        told = why
        yield str(item.line) if live else f";{item.line}"


def _why(item: PlanItem) -> str:
    return ". ".join(filter(None, (item.purpose[:1].upper() + item.purpose[1:], item.reason)))


def _not_put_back(items: Sequence[PlanItem]) -> Iterator[str]:
    if not items:
        return
    yield from ("", "; == Not put back from here")
    for said in dict.fromkeys(f"{_name(item)}: {item.reason}" for item in items):
        yield from _comment(said)


def _name(item: PlanItem) -> str:
    """The command word, unless a saved report made it something that is none."""
    return item.command if COMMAND.fullmatch(item.command) else "A line"


def _comment(said: str) -> list[str]:
    """The words as comment lines in plain ASCII, so that any sender can read it: units spelled out, the rest as `?`."""
    spelled = " ".join(said.split()).translate(SPELLED)
    plain = "".join(letter if letter.isascii() and letter.isprintable() else "?" for letter in spelled)
    return textwrap.wrap(plain, WIDTH, initial_indent="; ", subsequent_indent=";   ", break_on_hyphens=False)
