"""The cautions, in one place: shown before the step they belong to and printed in the report.

They are the usual ones of the trade and no substitute for local rules or for a licensed person's judgement.
"""

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
    "Suspected supply short through the switch: power switch off and USB out first, then unplug the sensor.",
    "One restart is a suspicion; the meter decides. With everything unplugged, measure between supply and ground at "
    "the sensor's plug in both positions of the switch: it must be open in both.",
    "Do not plug the sensor in again before that.",
)

BLIND_SPOTS = (
    "A presence switch does not see a clogged nozzle, a tangled spool, filament that grinds, or a spool end hooked "
    "to its hub.",
    "It does not see a break between the switch and the drive gear, nor a fragment that stays inside it.",
    "A short of the signal to ground, a welded contact or a lever stuck down reads as filament in until the next test.",
    "A loop check shows whether the reading is right, not that the printer pauses: only a function test does.",
)
