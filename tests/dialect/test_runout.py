import pytest

from commission.dialect.runout import RunoutControl, runout_of
from commission.vocabulary import Level, Presence
from tests.dialect.feeding import read_texts


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (
            b"echo:Filament runout ON\nFilament runout distance (mm): 7.50\nok\n",
            RunoutControl(supported=True, enabled=True, distance_mm=7.5),
        ),
        (b"echo:Filament runout OFF\nok P15 B3\n", RunoutControl(supported=True, enabled=False)),
        (
            b"echo:Filament runout ON ; Distance 12.00mm ; Host handling OFF\nok\n",
            RunoutControl(supported=True, enabled=True, distance_mm=12.0, host_handling=False),
        ),
        (
            b"echo:Filament runout OFF ; Distance 0.00mm ; Motion distance 14.00mm ; Host Handling ON\nok\n",
            RunoutControl(supported=True, enabled=False, distance_mm=0.0, motion_distance_mm=14.0, host_handling=True),
        ),
        (
            b"echo:Filament runout ON, distance 6.000 mm, sensor: filament present\nok\n",
            RunoutControl(supported=True, enabled=True, distance_mm=6.0, filament_claimed=Presence.IN),
        ),
        (
            b"echo:Filament runout ON, distance 6.000 mm, sensor: no filament\nok\n",
            RunoutControl(supported=True, enabled=True, distance_mm=6.0, filament_claimed=Presence.OUT),
        ),
        (
            b"Simple filament sensor on pin io3.in, enabled, output high when no filament, filament present: yes\nok\n",
            RunoutControl(supported=True, enabled=True, filament_claimed=Presence.IN, absent_level=Level.HIGH),
        ),
        (
            b"Simple filament sensor on endstop 3, disabled, output low when no filament, filament present: no\nok\n",
            RunoutControl(supported=True, enabled=False, filament_claimed=Presence.OUT, absent_level=Level.LOW),
        ),
        (
            b"Rotating magnet filament sensor v3 on pin io1.in, enabled when SD printing, no data received\nok\n",
            RunoutControl(supported=True, enabled=True),
        ),
        (
            b"Bench-made rotating magnet sensor on pin io1.in, disabled, allow 60% to 160%, no data received\nok\n",
            RunoutControl(supported=True, enabled=False),
        ),
        (
            b"Pulse-type filament sensor on pin e0stop, enabled always, measured min 80% avg 95% over 9mm\nok\n",
            RunoutControl(supported=True, enabled=True),
        ),
        (b'echo:Unknown command: "M412"\nok\n', RunoutControl(supported=False)),
        (b"M412: Command is not supported\nok\n", RunoutControl(supported=False)),
        (b'echo:Unknown command: "M4120"\nok\n', RunoutControl()),
        (b"ok\n", RunoutControl()),
    ],
)
def test_report_is_read(data: bytes, expected: RunoutControl) -> None:
    """Every form of the report gives what it states; what it does not state stays unknown."""
    assert expected == read_texts(runout_of, data)


def test_later_report_replaces_the_earlier() -> None:
    """Asked twice, the later word counts, and a refusal before a report does not stand."""
    data = b'echo:Unknown command: "M412"\nok\necho:Filament runout OFF\nok\necho:Filament runout ON\nok\n'

    assert RunoutControl(supported=True, enabled=True) == read_texts(runout_of, data)


def test_listing_line_is_no_report() -> None:
    """A settings line about the runout is a setting, not a report on the state."""
    assert RunoutControl() == read_texts(runout_of, b"echo:; Filament runout sensor:\necho:  M412 S1 D25.00\nok\n")


def test_negative_distance_is_refused() -> None:
    """A record with a negative distance cannot be made."""
    with pytest.raises(ValueError, match="not negative"):
        RunoutControl(distance_mm=-1.0)
