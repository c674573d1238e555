"""The cable is pulled in the middle of something, and plugged in again: under the same name, or under another."""

from __future__ import annotations

from collections.abc import Iterator

from scripts.usb_lab_parts.books import brought_back
from scripts.usb_lab_parts.check import Check, sentence
from scripts.usb_lab_parts.lab import FIRST, OTHER_SERIAL, SECOND, Lab
from scripts.usb_lab_parts.operator_scripts import answer, demo_script

LOST = f"The connection to {FIRST} is lost."
COUNTDOWN_S, DWELL_S = 2.0, 4.0
IN_THE_DWELL_S = COUNTDOWN_S + DWELL_S / 3
_INSTALL = f"--cycles 6 --countdown {COUNTDOWN_S} --dwell {DWELL_S} --wiggle 10 --seed 20"
_PULL = (("usb", "out"),)
INSTALL_LOST = "install  not judged  (link lost)"
NOT_FINISHED, UNSAFE = 3, 1
"""A port that is lost while the sensor is worked may be a shorted supply: an open item of class A."""


def in_identify(lab: Lab) -> Iterator[Check]:
    """Pulled when the printer has just been found and is asked who it is."""
    with lab.first():
        run = lab.start(f"backup bench-3 --port {FIRST} {_hands(lab)}")
        lab.pc.until(lambda: "Which printer is this?" in run.said(), "the question who it is", 120)
        lab.pull_cable()
        done = run.wait(180)
        yield Check("exit code", NOT_FINISHED, done.code)
        yield sentence(done, "it says so", LOST)
        lab.put_back()
        lab.wait_for(FIRST)
        yield from _again(lab, FIRST, "backup  not judged  (link lost)")


def in_a_dwell(lab: Lab) -> Iterator[Check]:
    """Pulled while a trial is read; plugged in again it has the name of before."""
    yield from _in_the_loop_check(lab, "trial.insert", IN_THE_DWELL_S)


def in_a_wiggle(lab: Lab) -> Iterator[Check]:
    """Pulled while the cable is wiggled; plugged in again it has the name of before."""
    yield from _in_the_loop_check(lab, "wiggle", 3.0)


def _in_the_loop_check(lab: Lab, request: str, after_s: float) -> Iterator[Check]:
    with lab.first():
        yield from _broken_off(lab, request, after_s)
        lab.put_back()
        lab.wait_for(FIRST)
        yield from _again(lab, FIRST, INSTALL_LOST)


def back_elsewhere(lab: Lab) -> Iterator[Check]:
    """Pulled while a trial is read; then another adapter takes the name, and the printer comes back under another.

    By the name of before the tool is at another printer: it asks, and that printer gets no command but the question
    who it is.
    """
    with lab.first(), lab.adapter("other", "old-forms", OTHER_SERIAL, "2", plugged=False) as other:
        yield from _broken_off(lab, "trial.insert", IN_THE_DWELL_S)
        lab.wait_until_gone(FIRST)
        lab.plug(other)
        lab.wait_for(FIRST)
        lab.put_back()
        lab.wait_for(SECOND)
        lab.drain(FIRST)
        by_itself = len(other.printer.heard())
        stranger = _hands(lab, answer("identity.same", "no"))
        yield Check("by the old name", NOT_FINISHED, lab.tool(f"backup bench-3 --port {FIRST} {stranger}").code)
        yield Check("commands to the other printer", ["M115"], sorted(set(other.printer.heard()[by_itself:])))
        yield from _again(lab, SECOND, INSTALL_LOST, "backup  not judged  (interrupted by the printer)")


def _broken_off(lab: Lab, request: str, after_s: float) -> Iterator[Check]:
    script = _hands(lab, answer(request, "done", _PULL, after_s=after_s))
    done = lab.tool(f"install bench-3 --port {FIRST} {_INSTALL} {script}", 300)
    yield Check("exit code", UNSAFE, done.code)
    yield sentence(done, "it says so", LOST)


def _again(lab: Lab, port: str, *before: str) -> Iterator[Check]:
    """The next run is as any other, and the book that comes back knows of it and of those before."""
    yield Check("next run", 0, lab.tool(f"backup bench-3 --port {port} {_hands(lab)}").code)
    listed = lab.tool("book list bench-3").out.splitlines()
    runs = [line.split(maxsplit=3)[-1] for line in listed if "bench-3/" in line]
    yield Check("runs on record", [*before, "backup  pass  (complete)"], runs)
    yield from brought_back(lab)


def _hands(lab: Lab, first: str = "") -> str:
    return lab.script("hands", demo_script(lab.project, first))
