"""Settings reports of an invented workshop, one for each generation of reply, and what tests do with them.

The values are invented; the forms are those that printers of each generation use. The first four describe one machine,
`bench-3`, as four generations of firmware would report it.
"""

from commission.settings.comparison import compare
from commission.settings.difference import Comparison, Difference, Item
from commission.settings.snapshot import Snapshot, snapshot_of
from tests.support.settings_lines import settings_of

OLDEST = """\
echo:Steps per unit:
echo:  M92 X80.00 Y80.00 Z400.00 E97.50
echo:Maximum feedrates (mm/s):
echo:  M203 X300.00 Y300.00 Z5.00 E40.00
echo:Maximum Acceleration (mm/s2):
echo:  M201 X1500 Y1500 Z80 E6000
echo:Acceleration: S=acceleration, T=retract acceleration
echo:  M204 S900.00 T1200.00
echo:Advanced variables: S=Min feedrate (mm/s), T=Min travel feedrate (mm/s), B=minimum segment time (ms)
echo:  M205 S0.00 T0.00 B20000 X9.00 Z0.40 E5.00
echo:Home offset (mm):
echo:  M206 X0.00 Y0.00 Z0.00
echo:PID settings:
echo:   M301 P19.40 I1.21 D77.70
"""

OLDER = """\
echo:  G21    ; Units in mm
echo:  M149 C ; Units in Celsius

echo:Filament settings: Disabled
echo:  M200 D1.75
echo:  M200 D0
echo:Steps per unit:
echo:  M92 X80.00 Y80.00 Z400.00 E97.50
echo:Maximum feedrates (units/s):
echo:  M203 X300.00 Y300.00 Z5.00 E40.00
echo:Maximum Acceleration (units/s2):
echo:  M201 X1500 Y1500 Z80 E6000
echo:Acceleration (units/s2): P<print_accel> R<retract_accel> T<travel_accel>
echo:  M204 P900.00 R1200.00 T900.00
echo:Advanced: S<min_feedrate> T<min_travel_feedrate> B<min_segment_time_us> X<max_xy_jerk> Z<max_z_jerk> E<max_e_jerk>
echo:  M205 S0.00 T0.00 B20000 X9.00 Y9.00 Z0.40 E5.00
echo:Home offset:
echo:  M206 X0.00 Y0.00 Z0.00
echo:Auto Bed Leveling:
echo:  M420 S0 Z0.00
echo:Material heatup parameters:
echo:  M145 S0 H205 B60 F255
echo:  M145 S1 H240 B100 F0
echo:PID settings:
echo:  M301 P19.40 I1.21 D77.70
echo:Z-Probe Offset (mm):
echo:  M851 Z-1.85
ok
"""

NEWER = """\
echo:; Linear Units:
echo:  G21 ; (mm)
echo:; Temperature Units:
echo:  M149 C ; Units in Celsius
echo:; Filament settings (Disabled):
echo:  M200 S0 D1.75
echo:; Steps per unit:
echo:  M92 X80.00 Y80.00 Z400.00 E97.50
echo:; Max feedrates (units/s):
echo:  M203 X300.00 Y300.00 Z5.00 E40.00
echo:; Max Acceleration (units/s2):
echo:  M201 X1500.00 Y1500.00 Z80.00 E6000.00
echo:; Acceleration (units/s2) (P<print-accel> R<retract-accel> T<travel-accel>):
echo:  M204 P900.00 R1200.00 T900.00
echo:; Advanced (B<min_segment_time_us> S<min_feedrate> T<min_travel_feedrate> X<max_x_jerk> Y<max_y_jerk>):
echo:  M205 B20000.00 S0.00 T0.00 X9.00 Y9.00 Z0.40 E5.00
echo:; Home offset:
echo:  M206 X0.00 Y0.00 Z0.00
echo:; Auto Bed Leveling:
echo:  M420 S0 Z0.00 ; Leveling OFF
echo:; Material heatup parameters:
echo:  M145 S0 H205.00 B60.00 F255
echo:  M145 S1 H240.00 B100.00 F0
echo:; Hotend PID:
echo:  M301 P19.40 I1.21 D77.70
echo:; Z-Probe Offset:
echo:  M851 X-32.00 Y-8.00 Z-1.85 ; (mm)
echo:; Filament load/unload:
echo:  M603 L60.00 U90.00 ; (mm)
echo:; Filament runout sensor:
echo:  M412 S1 D18.00 ; Sensor ON
ok
"""

REPLAYABLE = """\
  M92 X80.00 Y80.00 Z400.00 E97.50
  M203 X300.00 Y300.00 Z5.00 E40.00
  M201 X1500 Y1500 Z80 E6000
  M204 P900.00 R1200.00 T900.00
  M205 S0.00 T0.00 B20000 X9.00 Y9.00 Z0.40 E5.00
  M301 P19.40 I1.21 D77.70
  M200 D1.75
  M200 D0
"""

TWO_HOTENDS = """\
echo:Steps per unit:
echo:  M92 X80.00 Y80.00 Z400.00
echo:  M92 T0 E410.00
  M92 T1 E97.50
echo:PID settings:
echo:  M301 E0 P19.40 I1.21 D77.70
  M301 E1 P26.10 I1.90 D88.00
"""

MESH = """\
echo:; Auto Bed Leveling:
echo:  M420 S1 Z10.00 ; Leveling ON
echo:  G29 W I0 J0 Z0.20125
echo:  G29 W I1 J0 Z0.11000
echo:  G29 W I0 J1 Z-0.05500
echo:  G29 W I1 J1 Z0.07250
"""

GENERATIONS = {
    "oldest": OLDEST,
    "older": OLDER,
    "newer": NEWER,
    "replayable": REPLAYABLE,
    "two hotends": TWO_HOTENDS,
    "mesh": MESH,
}


def snapshot(text: str) -> Snapshot:
    """The settings that stand in this text."""
    return snapshot_of(settings_of(text.splitlines()))


def report(*lines: str) -> Snapshot:
    """A report of these command lines, each given from its command on."""
    return snapshot("\n".join(f"echo:  {line}" for line in lines))


def compared(before: str, after: str) -> Comparison:
    """The comparison of one command line of each report."""
    return compare(report(before), report(after))


def places(comparison: Comparison, difference: Difference) -> list[str]:
    """The command and letter of every item with this difference."""
    return [f"{item.command} {item.letter}" for item in comparison.of(difference)]


def item(comparison: Comparison, command: str, letter: str | None) -> Item:
    """The first item of this command and letter."""
    return next(item for item in comparison.items if (item.command, item.letter) == (command, letter))
