"""Signs of a pause, and questions with buttons."""

import pytest

from commission.dialect.framing import RawLine
from commission.dialect.pausing import Question, Questions, Sign, sign_of
from commission.dialect.replies import classify
from tests.dialect.feeding import every_way


def signs(lines: list[RawLine]) -> list[Sign]:
    """The signs among these lines."""
    return [sign for line in lines if (sign := sign_of(classify(line)))]


@pytest.mark.parametrize(
    ("line", "sign"),
    [
        (b"//action:paused filament_runout 0", Sign.PRINTER_PAUSED),
        (b"//action:pause filament_runout 0", Sign.HOST_ASKED),
        (b"//action:out_of_filament T0", Sign.HOST_ASKED),
        (b"//action:prompt_begin FilamentRunout T0", Sign.RUNOUT),
        (b"//action:prompt_begin HeaterTimeout", Sign.COOLED),
        (b"//action:prompt_show", Sign.QUESTION),
        (b"//action:resumed", Sign.RESUMED),
        (b"// action:paused", Sign.PRINTER_PAUSED),
        (b"echo:busy: paused for user", Sign.WAITING),
        (b"echo:busy: processing", Sign.BUSY),
        (b"busy:processing", Sign.BUSY),
        (b"echo:Insert filament and send M108", Sign.INSTRUCTION),
        (b"echo:Send M108 to resume", Sign.INSTRUCTION),
        (b"Press button (or M108) to resume", Sign.INSTRUCTION),
        (b"echo:Send M108 to heat nozzle", Sign.COOLED),
        (b"echo:Hotend too cold", Sign.TOO_COLD),
        (b"echo: cold extrusion prevented", Sign.FEED_REFUSED),
        (b"ok", Sign.ACKNOWLEDGED),
        (b"Extruder 1 reports no filament", Sign.RUNOUT_NOTED),
        (b"Error: Filament error on extruder 1: noFilament", Sign.RUNOUT_NOTED),
        (b"important:Extruder jam detected", Sign.RUNOUT_NOTED),
        (b"important: No Filament detected", Sign.RUNOUT_NOTED),
        (b"// Filament Detector has detected a bulge in the filament", Sign.RUNOUT_NOTED),
        (b"Printing paused", Sign.PRINTER_PAUSED),
        (b"// Print Suspended, enter resume to continue printing", Sign.PRINTER_PAUSED),
        (b"RequestPause:No filament detected!", Sign.HOST_ASKED),
    ],
)
def test_a_line_is_its_sign(line: bytes, sign: Sign) -> None:
    """Each line of a pause is known for what it says."""
    assert [sign] == every_way(signs, line + b"\n")


def test_other_lines_are_no_signs() -> None:
    """Temperatures, switch states and settings say nothing of a pause."""
    assert [] == every_way(signs, b" T:21.5 /0.0 B:21.5 /0.0\nfilament: open\necho:  M412 S1 D20.00\nokay\n")


def question(lines: list[RawLine]) -> Question | None:
    """What is asked after these lines."""
    asked = Questions()
    for line in lines:
        asked.hear(classify(line))
    return asked.open


PARKED = (
    b"//action:prompt_end\n//action:prompt_begin Nozzle Parked\n//action:prompt_button Continue\n//action:prompt_show\n"
)
BLIND = (
    b"//action:prompt_begin Paused\n//action:prompt_button PurgeMore\n//action:prompt_button DisableRunout\n"
    b"//action:prompt_show\n"
)


def test_a_question_is_complete_with_its_last_line() -> None:
    """Text and buttons are put together; before it is shown nothing is asked, after its end nothing either."""
    assert Question("Nozzle Parked", ("Continue",)) == every_way(question, PARKED)
    assert every_way(question, PARKED.removesuffix(b"//action:prompt_show\n")) is None
    assert every_way(question, PARKED + b"//action:prompt_end\n") is None


def test_the_button_that_goes_on_is_known() -> None:
    """Continue and reheat go on, whichever place they have."""
    assert 0 == Question("Nozzle Parked", ("Continue",)).goes_on
    assert 1 == Question("Paused", ("PurgeMore", "Continue")).goes_on
    assert 0 == Question("HeaterTimeout", ("Reheat",)).goes_on
    assert Question("Pause", ("Dismiss",)).goes_on is None


def test_a_button_that_disables_the_sensor_is_never_the_one_that_goes_on() -> None:
    """Where the sensor would be switched off, more can be purged, and nothing goes on."""
    asked = every_way(question, BLIND)

    assert asked is not None
    assert (None, 0, True) == (asked.goes_on, asked.repeats, asked.gives_up_watching)
