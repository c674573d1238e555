"""Writes runs into a book entry by entry, as a conductor would, on a clock that stands still unless told to move."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from commission.records.book import Book
from commission.records.chain import Entry
from tests.support.fake_time import FakeClock

NUMBER = "bench-3/2031-03-14/1"
HOSTILE = (
    "<script>alert(1)</script>",
    "\x1b[31mred\x1b[0m",
    "a|b `code` *bold* _it_",
    "[link](javascript:alert(1))",
    "![x](http://example.org/x.png)",
    "\u202egnp.exe\u202c",
    'x" onmouseover="alert(1)',
    "# heading",
    "&lt;b&gt;",
    "line\nbreak\r\nand more",
    "{{ 7 * 7 }}",
    "</style></svg><img src=x onerror=alert(1)>",
)
"""What a printer, a port or a person could put into a report."""


class ScriptedRun:
    """One run in the making.

    Steer it by calling what happens, in order; `wait` lets time pass. `book` is what a report is drawn from.
    """

    def __init__(self, folder: Path, number: str = NUMBER) -> None:
        self.clock = FakeClock()
        self.number = number
        self.book = Book(folder / "book.sqlite3", self.clock)

    def wait(self, seconds: float) -> None:
        """Let time pass."""
        self.clock.elapsed_s += seconds

    def write(self, kind: str, facts: Mapping[str, Any], raw: bytes | None = None) -> Entry:
        """Append an entry of any kind."""
        return self.book.append(self.number, kind, facts, raw)

    def start(self, **facts: Any) -> None:
        """Begin the run."""
        usual = {
            "number": self.number,
            "tag": "bench-3",
            "purpose": "install",
            "site": "Makerspace workshop",
            "operator": "R. Okafor",
            "port": "/dev/ttyACM0",
            "tool_version": "0.1.0",
            "timezone": "UTC",
            "plan": {"seed": 7, "cycles": 6},
            "plan_sentences": ["6 cycles of filament in and filament out.", "One misread is a fail."],
            "cautions": ["Know where the power switch is."],
            "blind_spots": ["A presence switch does not see a clogged nozzle."],
            "follows": "",
        }
        self.write("run_started", usual | facts)

    def exchange(self, command: str, lines: Sequence[str], purpose: str = "ask for the switch states") -> None:
        """A command and its answer, with the bytes."""
        self.write("intent", {"command": command, "purpose": purpose, "effect": "reads only", "release": ""})
        self.traffic((True, f"{command}\n".encode()), *((False, f"{line}\n".encode()) for line in lines))
        self.write("result", {"command": command, "end": "acknowledged", "lines": list(lines), "asides": []})

    def traffic(self, *stretches: tuple[bool, bytes]) -> None:
        """Bytes, each stretch 2 ms after the one before; the monotonic time began 100 s before the book was opened."""
        parts, raw = [], b""
        for sent, data in stretches:
            self.wait(0.002)
            parts.append([sent, round(1e6 * (100 + self.clock.elapsed_s)), len(data)])
            raw += data
        self.wait(0.001)
        self.write("traffic", {"parts": parts}, raw)

    def trial(
        self, number: int, instruction: str, presence: str, dwell: Sequence[str], *, before: str = "", **facts: Any
    ) -> None:
        """A prompt with 2 s to act and a dwell of one reading each 0.1 s."""
        asked = {
            "number": number,
            "cycle": (number + 1) // 2,
            "instruction": instruction,
            "presence": presence,
            "switch": "filament",
            "countdown_s": 2.0,
            "readings": len(dwell),
            "dwell_s": 0.5,
        }
        self.write("trial_began", asked)
        self.wait(2.5)
        read = {
            "before": [[1.0, before or dwell[0], "word"]],
            "dwell": [[2.0 + 0.1 * place, reading, "word"] for place, reading in enumerate(dwell)],
            "unread": 0,
            "void_reason": "",
            "remark": "",
        }
        self.write("trial", asked | read | facts)

    def watch(self, title: str, presence: str | None, readings: Sequence[str], **facts: Any) -> None:
        """A watch with one reading each 0.1 s."""
        asked: dict[str, Any] = {"key": "wiggle", "title": title, "switch": "filament", "presence": presence}
        asked |= {"seconds": 1.0, "planned_readings": len(readings)}
        self.write("watch_began", asked)
        taken_s = 0.1 * len(readings)
        self.wait(taken_s)
        rows = [[round(0.1 * place, 4), reading, "word"] for place, reading in enumerate(readings)]
        self.write("watch", asked | {"readings": rows, "taken_s": taken_s, "largest_gap_s": 0.1, "unread": 0} | facts)

    def finding(self, name: str, *sentences: str, **facts: Any) -> None:
        """Establish something."""
        self.write("finding", {"name": name, "sentences": list(sentences), "facts": facts})

    def end(self, outcome: str = "complete", verdict: str = "fail", why: str = "") -> None:
        """End the run."""
        safe = {"needed": False, "attempted": [], "sentence": "Nothing to make safe: this run only asked."}
        self.write("run_ended", {"outcome": outcome, "verdict": verdict, "why": why, "exit_code": 0, "make_safe": safe})


def complete(folder: Path) -> ScriptedRun:
    """A whole run: two errors that cancel, one reading that flips, a voided trial, an unknown finding."""
    run = ScriptedRun(folder)
    run.start()
    run.write("opening", {"port": "/dev/ttyACM0"})
    run.traffic((False, b"start\n"))
    run.write("opened", {"port": "/dev/ttyACM0", "speed_baud": 115200, "restarted": True, "heard": ["start"]})
    run.write("phase_started", {"name": "identify", "title": "Which printer is this?"})
    run.exchange("M115", ["FIRMWARE_NAME:ExampleFW 2.1.2 MACHINE_TYPE:Bench 3", "ok"], "ask for the identity")
    run.finding(
        "identity", "Firmware as announced: ExampleFW 2.1.2", firmware_name="ExampleFW 2.1.2", machine="Bench 3"
    )
    run.write("phase_ended", {"name": "identify", "facts": {}})
    run.write("phase_started", {"name": "loop_check", "title": "Loop check"})
    run.write("asked", {"key": "ready", "question": "Are you ready?", "lines": []})
    run.write("answered", {"key": "ready", "answer": True})
    run.trial(1, "insert", "in", ["active"] * 5, before="inactive")
    for _ in range(3):
        run.traffic((True, b"M119\n"), (False, b"filament: TRIGGERED\nok\n"))
    run.trial(2, "leave it", "in", ["active", "active", "inactive", "active", "active"])
    run.trial(3, "withdraw", "out", ["inactive"] * 5, before="active", void_reason="dropped the filament")
    run.trial(3, "withdraw", "out", ["inactive"] * 4 + ["unknown"], before="active", unread=1)
    run.watch("Wiggle", "in", ["active"] * 10)
    run.write(
        "hold_opened",
        {"key": "unplug.1", "title": "Power off: unplug", "steps": ["Pull the USB cable."], "power": True},
    )
    run.wait(20)
    run.write(
        "hold_released",
        {"key": "unplug.1", "restarted": True, "port": "/dev/ttyACM1", "heard": [], "same_identity": True},
    )
    run.watch("Unplugged, power-up 1", None, ["active"] * 5)
    run.finding("polarity", "The switch is direct: 2703 to 1.", behaviour="direct", odds=2702.809828814327)
    run.finding("cable_colours", "Three wires.", wires=[{"wire": "signal", "colour": "white"}, {"wire": "ground"}])
    run.finding(
        "acceptance",
        "Unplugged, fail: Reads in.",
        "A clean count says nothing about wear.",
        verdict="fail",
        criteria=[
            {"name": "polarity", "rule": "Direct", "observed": "Direct.", "verdict": "pass"},
            {"name": "unplugged", "rule": "Reads out", "observed": "Reads in.", "verdict": "fail"},
        ],
    )
    run.write("punch", {"grade": "B", "text": "The label is missing.", "cure": "Put one on."})
    run.write("punch", {"grade": "A", "text": "The wiring is fail-danger.", "cure": "Change the contact."})
    run.write("phase_ended", {"name": "loop_check", "facts": {}})
    run.finding("sign_off", "I did it.", operator="R. Okafor", agreed=True, remark="Spool on the left.")
    run.end()
    return run


def link_lost(folder: Path) -> ScriptedRun:
    """A run whose port vanishes inside a trial."""
    run = ScriptedRun(folder)
    run.start()
    run.write("phase_started", {"name": "loop_check", "title": "Loop check"})
    run.trial(1, "insert", "in", ["active"] * 5)
    asked = {"number": 2, "cycle": 1, "instruction": "withdraw", "presence": "out", "switch": "filament"}
    run.write("trial_began", asked | {"countdown_s": 2.0, "readings": 21, "dwell_s": 2.0})
    run.traffic((True, b"M119\n"), (False, b"filament: TRIG"))
    run.write("interruption", {"what": "the link was lost", "detail": "The port vanished.", "request": "TakeTrial"})
    run.write("phase_abandoned", {"name": "loop_check", "why": "the link was lost"})
    run.end("link lost", "not judged", "Not finished: the link was lost: The port vanished.")
    return run


def broken_off(folder: Path) -> ScriptedRun:
    """A run that was killed: no end, nothing established."""
    run = ScriptedRun(folder)
    run.start()
    run.write("opening", {"port": "/dev/ttyACM0"})
    return run


def hostile(folder: Path) -> ScriptedRun:
    """A run in which every text that comes from outside is an attack."""
    run = ScriptedRun(folder, "bench-3/2031-03-14/2")
    bad = " ".join(HOSTILE)
    run.start(tag=bad, site=bad, operator=bad, port=bad, timezone=bad, purpose=bad, plan_sentences=list(HOSTILE))
    run.write("opened", {"port": bad, "speed_baud": 115200, "restarted": False, "heard": list(HOSTILE)})
    run.write("phase_started", {"name": bad, "title": bad})
    run.exchange(bad, HOSTILE, bad)
    run.write("asked", {"key": "k", "question": bad, "lines": []})
    run.write("answered", {"key": "k", "answer": bad})
    run.trial(1, "insert", "in", ["active"] * 5, void_reason=bad, remark=bad)
    run.watch(bad, "in", ["active"] * 3)
    run.finding(bad, *HOSTILE, **{bad: bad, "rows": [{bad: bad}], "nested": {"deep": {bad: [bad]}}})
    run.finding("picture", "A picture.", picture_svg='<svg xmlns="http://www.w3.org/2000/svg"><script>x</script></svg>')
    run.finding("sign_off", bad, agreed=True, remark=bad)
    run.write("punch", {"grade": "A", "text": bad, "cure": bad})
    run.write(bad, {bad: bad})
    run.write("interruption", {"what": bad, "detail": bad})
    run.end(why=bad)
    return run


RUNS = {"complete": complete, "link-lost": link_lost, "broken-off": broken_off, "hostile": hostile}
