"""What is tried on the emulated PC. Each scenario yields its checks in the order in which they are made."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from scripts.usb_lab_parts import pulled
from scripts.usb_lab_parts.books import brought_back
from scripts.usb_lab_parts.check import Check, sentence
from scripts.usb_lab_parts.lab import FIRST, FIRST_SERIAL, OTHER_SERIAL, SECOND, Lab
from scripts.usb_lab_parts.operator_scripts import answer, demo_script

QUICK = "--cycles 6 --countdown 2 --dwell 0.5 --wiggle 6 --seed 20"
GUIDED_WITHIN_S = 600.0
_SPEED = """
import array, fcntl, os, sys
line = os.open(sys.argv[1], os.O_RDONLY | os.O_NONBLOCK | os.O_NOCTTY)
settings = array.array("I", [0] * 11)  # the kernel's struct termios2: the speeds are its last two words
fcntl.ioctl(line, 0x802C542A, settings)  # TCGETS2
print(settings[9], settings[10])
"""


@dataclass(frozen=True)
class Scenario:
    """One of them.

    Attributes:
        name: for the command line.
        about: one line.
        play: yields the checks.
        short: whether it takes a minute and not minutes.
        fault: what the tool does wrong here, as known; such a scenario is played only when it is named.
    """

    name: str
    about: str
    play: Callable[[Lab], Iterator[Check]]
    short: bool = True
    fault: str = ""


def names(lab: Lab) -> Iterator[Check]:
    """What the kernel says of an adapter: its name, serial number and place, and whether it is in use."""
    yield Check("ports before", [], lab.ports())
    with lab.first():
        port = lab.ports()[0]
        yield Check("name", FIRST, port["device"])
        yield Check("serial number", FIRST_SERIAL, port["serial_number"])
        yield Check("place ends with the socket", "1", port["location"].rpartition("-")[2])
        yield Check("USB id", "two numbers", "two numbers" if ":" in port["usb_id"] else port["usb_id"])
        yield Check("in use", "no", _in_use(lab))
    lab.wait_until_gone(FIRST)
    yield Check("ports after", [], lab.ports())


def backup(lab: Lab) -> Iterator[Check]:
    """The settings are read, and the book that comes back is whole."""
    with lab.first():
        done = lab.tool(f"backup bench-3 --port {FIRST} {lab.script('hands', demo_script(lab.project))}")
        yield Check("exit code", 0, done.code)
    yield from brought_back(lab, ["*.gcode", "*settings*.txt", "*.html", "*.json", "*.md"])


def install(lab: Lab) -> Iterator[Check]:
    """The whole guided check, with the cable pulled and put back at each hold point that asks for it."""
    yield from _installed(lab, "", "")


def install_elsewhere(lab: Lab) -> Iterator[Check]:
    """As `install`, but at the first hold point another adapter takes the name, and the printer gets another."""
    yield from _moved(lab, [("wait", SECOND)])


def stranger_first(lab: Lab) -> Iterator[Check]:
    """As `install_elsewhere`, but released while only the other adapter is there: the tool has to wait for its own."""
    yield from _moved(lab, [])


def rest_of_a_line(lab: Lab) -> Iterator[Check]:
    """As `install`, while the rest of a line waits in the printer and spoils the first question.

    So it is where a program was broken off in a line, or where the kernel echoed a start-up text while the port was
    being opened.
    """
    yield from _installed(lab, "", "", rest="echo:")


def _moved(lab: Lab, before_release: list[tuple[str, str]]) -> Iterator[Check]:
    with lab.adapter("other", "old-forms", OTHER_SERIAL, "2", plugged=False) as other:
        deeds = [("mains", "off"), ("usb", "out"), ("unplug", "board"), ("plug", "other"), ("wait", FIRST)]
        deeds += [("usb", "in"), *before_release]
        yield from _installed(lab, answer("unplug.1", "released", deeds, times=1), SECOND)
        yield Check("the other printer heard nothing", [], other.printer.heard())


def _installed(lab: Lab, first: str, moved_to: str, rest: str = "") -> Iterator[Check]:
    with lab.first():
        lab.drain(FIRST)
        if rest:
            lab.pc.run(f"printf '{rest}' >{FIRST}")
        script = lab.script("hands", demo_script(lab.project, first))
        done = lab.tool(f"install bench-3 --port {FIRST} {QUICK} {script}", GUIDED_WITHIN_S)
        yield Check("exit code", 4, done.code)
        yield sentence(done, "verdict", "Verdict: conditional pass.")
        if moved_to:
            yield Check("port at the end", [moved_to], _ports_with(lab, FIRST_SERIAL))
    yield from brought_back(lab, ["*.html", "*.json", "*.md"])


def _ports_with(lab: Lab, serial_number: str) -> list[str]:
    return [port["device"] for port in lab.ports() if port["serial_number"] == serial_number]


def exclusive(lab: Lab) -> Iterator[Check]:
    """While one program holds the port a second one is refused, and gets it afterwards."""
    with lab.first() as adapter:
        holding = answer("backup.working_enough", "yes", [("wait-for-release",)])
        script = lab.script("holding", demo_script(lab.project, holding))
        holder = lab.start(f"backup bench-3 --port {FIRST} {script}")
        lab.pc.until(lambda: "M503" in "".join(adapter.printer.heard()), "the first program's questions", 120)
        yield Check("in use", "yes", _in_use(lab))
        plain = lab.script("plain", demo_script(lab.project))
        second = lab.tool(f"backup bench-4 --port {FIRST} {plain}")
        yield Check("second program", 5, second.code)
        yield sentence(second, "it says so", f"The port {FIRST} is in use by another program.")
        lab.released.set()
        yield Check("first program", 0, holder.wait(120).code)
        yield Check("second program afterwards", 0, lab.tool(f"backup bench-4 --port {FIRST} {plain}").code)


def odd_speed(lab: Lab) -> Iterator[Check]:
    """A speed that no table has goes through the driver: the kernel says what the line is set to."""
    with lab.first() as adapter:
        holding = answer("backup.working_enough", "yes", [("wait-for-release",)])
        script = lab.script("holding", demo_script(lab.project, holding))
        run = lab.start(f"backup bench-3 --port {FIRST} --speed 250000 {script}")
        lab.pc.until(lambda: "M503" in "".join(adapter.printer.heard()), "the program's questions", 120)
        told = lab.pc.run(f"cat > {lab.work}/speed.py <<'END'\n{_SPEED}END\npython3 {lab.work}/speed.py {FIRST}")
        yield Check("speeds in and out", "250000 250000", told.out.strip() or told.err)
        lab.released.set()
        yield Check("exit code", 0, run.wait(120).code)


def two_adapters(lab: Lab) -> Iterator[Check]:
    """Two adapters at once: each printer is told by its own serial number, whichever name it has."""
    with lab.first() as one, lab.adapter("second", "old-forms", OTHER_SERIAL, "2") as other:
        lab.wait_for(SECOND)
        named = {port["serial_number"]: port["device"] for port in lab.ports()}
        yield Check("names", {FIRST_SERIAL: FIRST, OTHER_SERIAL: SECOND}, named)
        script = lab.script("hands", demo_script(lab.project))
        done = lab.tool(f"backup bench-4 --port {SECOND} {script}")
        yield Check("exit code", 0, done.code)
        yield Check("the first printer heard nothing", [], one.printer.heard())
        for adapter in (one, other):
            lab.unplug(adapter)
        lab.wait_until_gone(SECOND)
        lab.plug(other)
        lab.wait_for(FIRST)
        lab.plug(one)
        lab.wait_for(SECOND)
        named = {port["serial_number"]: port["device"] for port in lab.ports()}
        yield Check("names in the other order", {FIRST_SERIAL: SECOND, OTHER_SERIAL: FIRST}, named)


def _in_use(lab: Lab) -> str:
    return {True: "yes", False: "no", None: "not known"}[lab.ports()[0]["in_use"]]


SCENARIOS = {
    scenario.name: scenario
    for scenario in (
        Scenario("names", "names, serial number and place, as the kernel gives them", names),
        Scenario("backup", "a whole backup", backup),
        Scenario("exclusive", "a second program is refused while the first has the port", exclusive),
        Scenario("odd-speed", "250000 baud through the driver", odd_speed),
        Scenario("two-adapters", "two adapters, then in the other order", two_adapters),
        Scenario("pulled-identify", "pulled while the printer is asked who it is", pulled.in_identify),
        Scenario("pulled-dwell", "pulled while a trial is read", pulled.in_a_dwell, short=False),
        Scenario("pulled-wiggle", "pulled while the cable is wiggled", pulled.in_a_wiggle, short=False),
        Scenario("pulled-elsewhere", "pulled in a trial, back under another name", pulled.back_elsewhere, short=False),
        Scenario("install", "a whole guided check, cable pulled at its hold points", install, short=False),
        Scenario("install-elsewhere", "the same, back under another name", install_elsewhere, short=False),
        Scenario(
            "stranger-first",
            "the same, while for a moment only another adapter is there",
            stranger_first,
            short=False,
        ),
        Scenario(
            "rest-of-a-line",
            "a whole guided check, the first question spoilt by the rest of a line",
            rest_of_a_line,
            short=False,
        ),
    )
}
