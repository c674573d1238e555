"""The change of filament, from the pause to the resumption, as one sequence of steps.

1. wait for what is planned, look whether it is hot enough
2. announce the pause, park, draw the filament back
3. wait for a person at the parked nozzle; it cools when that takes long, and has to be heated again
4. load, purge, and ask: purge more, go on, or (while the input still reads absent) give up watching
5. go back, forget the runout
"""

import math

from fake_printer.firmware.core import Firmware
from fake_printer.firmware.handlers_heat import wait_for_heat
from fake_printer.firmware.handlers_motion import wait_for_moves
from fake_printer.firmware.voice import Patience, Steps

_PARK_S = 2.0
_UNLOAD_MM_S = 10.0
_PURGE_MM = 50.0
_PURGE_MM_S = 3.0
_STEP_S = 0.05
PURGE_MORE, GO_ON = 0, 1


def change_filament(firmware: Firmware) -> Steps:
    """The whole sequence; it returns early, with a word, when it is too cold."""
    yield from wait_for_moves(firmware)
    if not firmware.may_extrude:
        if firmware.spec.cold_change == "refuse":
            firmware.say("echo:Hotend too cold")
            return
        firmware.hotend.target_c = firmware.coldest_extrusion_c + 20
        yield from wait_for_heat(firmware, firmware.hotend)
    firmware.action("paused")
    firmware.prompt("Pause", "Dismiss")
    firmware.job.pause()
    yield _PARK_S
    unload_mm = firmware.settings.get("M603", "U", 60.0)
    yield from _feed(firmware, -unload_mm, _UNLOAD_MM_S)
    yield from _wait_at_nozzle(firmware)
    yield from _feed(firmware, firmware.settings.get("M603", "L", 0.0), _UNLOAD_MM_S)
    yield from _purge(firmware)
    yield _PARK_S
    firmware.action("resumed")
    firmware.action("prompt_end")
    firmware.runout.reset(keep_latch=firmware.spec.runout.latch_stays)
    firmware.job.start()


def _feed(firmware: Firmware, distance_mm: float, speed_mm_s: float) -> Steps:
    steps = round(abs(distance_mm) / (speed_mm_s * _STEP_S))
    for _ in range(steps):
        firmware.feed(distance_mm / steps)
        yield _STEP_S


def _wait_at_nozzle(firmware: Firmware) -> Steps:
    """Wait for a person; after the time-out the nozzle is off and a first answer only heats it again."""
    firmware.say("echo:Insert filament and send M108")
    firmware.prompt("Nozzle Parked", "Continue")
    target_c = firmware.hotend.target_c
    with firmware.dialogue.open() as dialogue:
        yield Patience(lambda: dialogue.answered, firmware.spec.nozzle_timeout_s if target_c else math.inf)
        if not dialogue.answered:
            firmware.hotend.target_c = 0.0
            firmware.say("echo:Send M108 to heat nozzle")
            firmware.prompt("HeaterTimeout", "Reheat")
            yield Patience(lambda: dialogue.answered)
        yield _STEP_S  # its buttons are looked at so often
    if firmware.hotend.target_c == target_c:
        return
    firmware.prompt("Reheating")
    firmware.hotend.target_c = target_c
    yield from wait_for_heat(firmware, firmware.hotend)
    firmware.say("echo:Send M108 to resume")
    firmware.prompt("Reheat Done", "Continue")
    yield from _ask(firmware)


def _ask(firmware: Firmware) -> Steps:
    with firmware.dialogue.open() as dialogue:
        yield Patience(lambda: dialogue.answered)


def _purge(firmware: Firmware) -> Steps:
    """Purge; where somebody can be asked, until the answer is something else than more of it."""
    choice = PURGE_MORE
    while choice == PURGE_MORE:
        yield from _feed(firmware, _PURGE_MM, _PURGE_MM_S)
        if not (firmware.spec.asks_host or firmware.spec.display):
            return
        still_absent = firmware.runout_enabled and firmware.filament_absent()
        firmware.prompt("Paused", "PurgeMore", "DisableRunout" if still_absent else "Continue")
        yield from _ask(firmware)
        choice = firmware.dialogue.choice
        if choice != PURGE_MORE and still_absent:
            firmware.disable_runout()
