"""The file of facts is read once and refused whole when anything in it is wrong."""

from importlib.resources import files

import pytest

from commission.wiring.parts import PartsError, SensorKind, parts, read_parts

TEXT = files("commission.wiring").joinpath("parts.toml").read_text(encoding="utf-8")


def test_every_fact_names_its_source() -> None:
    """Each sensor, input and contact in the file says where its numbers come from."""
    found = parts()

    assert set(SensorKind) == set(found.sensors)
    assert all(facts.source for facts in found.sensors.values())
    assert all(chosen.source for chosen in found.inputs.values())
    assert all(load.source for load in found.contacts.values())


def test_the_motion_wheel_is_the_one_part_that_is_no_presence_input() -> None:
    """Of all kinds of sensor only the motion wheel is declared no presence input."""
    assert [SensorKind.MOTION_WHEEL] == [k for k, facts in parts().sensors.items() if not facts.presence_input]


@pytest.mark.parametrize(
    ("old", "new", "complaint"),
    [
        ("format = 1", "format = 2", "must begin with format = 1"),
        ("format = 1", "format =", "is not TOML"),
        ("[sensors.hall]", "[sensors.radar]", "radar"),
        ("wire_ohm = 0.1", "rope_ohm = 0.1", "rope_ohm"),
        ("leakage_a = 1e-6", "leakage_a = 1e-6\nspare = 1", "spare"),
        ('"5" = "8-bit"', '"5" = "9-bit"', "9-bit"),
        ("slope = 0.3, offset_v", "slope = 0.9, offset_v", "vil must lie below vih"),
        ("[20000.0, 50000.0]", "[50000.0, 20000.0]", "least, greatest"),
        ("minimum_a = 0.001", "least_a = 0.001", "least_a"),
    ],
)
def test_a_wrong_file_is_refused_by_name(old: str, new: str, complaint: str) -> None:
    """Another format, an unknown key, an impossible value: the complaint names what is wrong."""
    assert old in TEXT
    with pytest.raises(PartsError, match=complaint):
        read_parts(TEXT.replace(old, new, 1))


def test_a_kind_of_sensor_that_is_missing_is_named() -> None:
    """A file without one of the kinds says which kind it lacks."""
    start, end = TEXT.index("[sensors.motion-wheel]"), TEXT.index("# What stands at the board")
    with pytest.raises(PartsError, match="motion-wheel"):
        read_parts(TEXT[:start] + TEXT[end:])


def test_a_logic_voltage_without_a_class_of_input_is_refused() -> None:
    """Asked for 1.8 V logic, the parts say which voltages they know."""
    with pytest.raises(PartsError, match=r"give 3\.3 or 5"):
        parts().input_for(1.8)
