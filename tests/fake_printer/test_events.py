"""Whoever sleeps for as long as the printer says misses nothing: not a byte, not a restart, not a port that goes."""

import pytest

from fake_printer.profile import profile_names
from tests.fake_printer.line import Host
from tests.support.sweeps import a_part

STEP_S = 0.02
LATE_S = 1e-4
"""What is due within a step comes in it; a hand's breadth for the sum of many tiny steps, in simulated seconds."""
STORY: dict[float, tuple[str, ...]] = {
    0.1: ("M155 S3", "M302 P1", "G91", "M83", "M119", "hands withdraw"),
    0.45: ("M75",),
    0.5: ("M77", "hands insert"),
    1.1: ("M75", "M412 S1", "G1 X5 E5 F600", "G1 X5 E5 F600"),
    2.5: ("hands cut 3", "G1 X20 E20 F600", "G1 X20 E20 F600", "M105"),
    8.0: ("hands insert",),
    9.0: ("M108",),
    9.5: ("hands shake 1",),
    12.0: ("N9 M119*1",),
    15.0: ("M876 S1", "hands disturb late", "M119"),
    19.5: ("hands withdraw",),
    20.0: ("M77", "M75"),
    23.0: ("hands mains off", "hands usb out"),
    24.0: ("hands mains on", "hands usb in"),
    27.0: ("M119", "M105"),
    27.5: ("hands power-cycle 1",),
}
END_S = 33.0


def visible(host: Host) -> tuple[object, ...]:
    """What a wire or a memory file can see of the printer, apart from its bytes."""
    printer = host.printer
    return printer.usb_attached, printer.alive, printer.restarts, printer.memory.writes


def act(host: Host, deed: str) -> None:
    """Send a line, or do something by hand; what a unit cannot have done to it is left out."""
    verb, _, rest = deed.partition(" ")
    if verb != "hands":
        host.send(deed)
    elif rest != "cut 3" or host.printer.plant.filament.at_trip_point:
        host.printer.perform(*rest.split())


def surprises(host: Host) -> list[str]:
    """Everything that happened within a step for which the printer had said that nothing would."""
    surprised, now_s = [], 0.0
    deeds = sorted(STORY.items())
    while now_s < END_S:
        while deeds and deeds[0][0] <= now_s:
            for deed in deeds.pop(0)[1]:
                act(host, deed)
        host.lines()  # an answer that was given at once
        until_s, before = host.printer.until_next_s(), visible(host)
        came = host.after(STEP_S)
        if until_s > STEP_S + LATE_S and (came or visible(host) != before):
            surprised.append(f"{now_s:.2f}: {until_s:.3f} s of peace were promised: {came} {before} {visible(host)}")
        now_s += STEP_S
    return surprised


@pytest.mark.swept
@pytest.mark.parametrize("unit", a_part(profile_names(), one_in=4))
def test_nothing_happens_before_it_is_due(unit: str) -> None:
    """Between now and the moment that a printer names, it does nothing, whatever the unit and whatever goes on."""
    assert [] == surprises(Host(unit, seed=3))


def test_a_printer_nobody_asks_never_has_to_be_woken() -> None:
    """A sound unit that has said what it had to say is at peace for ever, warm or cold."""
    host = Host()
    host.ask("M104 S60")
    host.ask("M119")
    host.after(0.001)

    assert float("inf") == host.printer.until_next_s()


def test_flips_that_nobody_watches_wake_nobody() -> None:
    """A free input is at peace until the firmware watches it; what it reads then is the same, asked late or often."""
    late, often = Host("floating", seed=5), Host("floating", seed=5)

    assert float("inf") == late.printer.until_next_s()

    late.after(20.0)
    for _ in range(2000):
        often.after(0.01)

    assert late.words(30) == often.words(30)

    late.ask("M75")
    late.after(0.001)

    assert late.printer.until_next_s() < 1.0


@pytest.mark.parametrize("unit", ["sound", "motor-noise", "loose-wire", "starts-empty", "checks-at-start", "family-d"])
def test_long_sleeps_and_short_ones_tell_the_same_story(unit: str) -> None:
    """A host that lets the printer sleep from deed to deed hears every line that one hears who looks all the time."""

    def told(step_s: float) -> list[str]:
        host, lines, now_s = Host(unit, seed=7), [], 0.0
        for at_s, deeds in [*sorted(STORY.items()), (END_S, ())]:
            while now_s < at_s:
                lines += host.after(min(step_s, at_s - now_s))
                now_s = min(at_s, now_s + step_s)
            for deed in deeds:
                act(host, deed)
        return lines + host.lines()

    assert told(60.0) == told(0.005)
