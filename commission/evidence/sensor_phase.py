"""How a phase is called that one of several sensors goes through: `loop_check of filament 2`."""

_OF = " of "


def phase_of(name: str, sensor: str) -> str:
    """The phase of this name, carried out on this sensor; without a sensor the name itself."""
    return f"{name}{_OF}{sensor}" if sensor else name


def plain_phase(name: str) -> str:
    """The phase's fixed name, whichever sensor it was carried out on."""
    return name.partition(_OF)[0]


def phases_of(names: "tuple[str, ...] | list[str]", sensor: str) -> tuple[str, ...]:
    """The fixed names of those phases that were carried out on this sensor."""
    return tuple(plain_phase(name) for name in names if name == phase_of(plain_phase(name), sensor))
