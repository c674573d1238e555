"""The cautions, in one place: shown before the step they belong to and printed in the report.

They are the usual ones of the trade and no substitute for local rules or for a licensed person's judgement.
"""

from commission.procedure.power import UNPLUG_AT_ONCE

GENERAL = (
    "Local codes and licensed practice come first; this tool does not replace them.",
    "Switch the printer off and pull its mains plug before opening it. The supply bay is for qualified persons only.",
    "The USB cable still powers the logic when the mains is off: unplug it too before touching wiring.",
    "Nozzle and bed can be hot (180 to 300 °C at the nozzle). Let them cool before working near them.",
    "Axes can move without warning: keep hands, hair and cables clear. Know where the power switch is.",
    "Never leave a first test, or a printer that waits hot, unattended.",
)

BY_HAND = (
    "Keep fingers away from the drive gears and the nozzle while you move the filament.",
    "While you work at the sensor the tool moves, heats, saves and erases nothing: it only asks for the switch states.",
)

OPENING_A_PORT = (
    "Opening the port can restart the printer's board: a print under way would be lost, and tuning that was never "
    "saved is gone. Do not connect to a printer that is printing."
)

SUPPLY_SHORT = (
    f"Suspected supply short through the switch. {UNPLUG_AT_ONCE}",
    "Then the meter decides, for one restart is only a suspicion: at the free end of the sensor's cable measure ohms "
    "from supply to ground, with filament in and with filament out. It must be open both times.",
    "Leave the sensor unplugged until the meter has shown that.",
)

BLIND_SPOTS = (
    "A presence switch does not see a clogged nozzle, a tangled spool, filament that grinds, or a spool end hooked "
    "to its hub.",
    "It does not see a break between the switch and the drive gear, nor a fragment that stays inside it.",
    "A short of the signal to ground, a welded contact or a lever stuck down reads as filament in until the next test.",
    "A loop check shows whether the reading is right, not that the printer pauses: only a function test does.",
)
