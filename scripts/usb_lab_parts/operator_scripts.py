"""Scripts for hands on the emulated PC: those of the demonstration, with the deeds done at the bench outside."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

_DEMO = Path("commission/cli/demo_operator.toml")
_DEMO_HANDS = '"{python}", "-m", "fake_printer.bench", "{control}"'

DEED_WITHIN_S = 100


def demo_script(project: Path, first: str = "") -> str:
    """The demonstration's script; `first` are answers that come before its own."""
    text = (project / _DEMO).read_text(encoding="utf-8")
    if _DEMO_HANDS not in text:
        raise ValueError(f"{_DEMO} has its hands in another form than {_DEMO_HANDS}")
    return text.replace(_DEMO_HANDS, '"hands"').replace("format = 1", f"format = 1\n{first}", 1)


def answer(
    request: str, text: str, deeds: Sequence[Sequence[str]] = (), *, after_s: float = 0.0, times: int | None = None
) -> str:
    """One answer of a script.

    Args:
        request: what it answers.
        text: the answer.
        deeds: what the hands do before it, each as words for the bench.
        after_s: how long they wait before.
        times: how often it is used; without end unless given.
    """
    lines = ["", "[[answer]]", f'request = "{request}"', f'answer = "{text}"']
    if deeds:
        lines.append(f"run = {json.dumps([['hands', *words] for words in deeds])}")
        lines.append(f"timeout_s = {DEED_WITHIN_S}")
    if after_s:
        lines.append(f"after_s = {after_s}")
    if times is not None:
        lines.append(f"times = {times}")
    return "\n".join(lines) + "\n"
