"""Lines by which a host is told of a pause, and a question put to its person."""

from fake_printer.build_spec import FirmwareSpec


def prompt_lines(text: str, *buttons: str) -> list[str]:
    """A question in the form of host actions."""
    return [
        "//action:prompt_end",
        f"//action:prompt_begin {text}",
        *(f"//action:prompt_button {label}" for label in buttons),
        "//action:prompt_show",
    ]


def run_out_lines(spec: FirmwareSpec, *, host_alone: bool) -> list[str]:
    """What is announced when a runout is established."""
    if not spec.tells_host:
        return []
    prompt = prompt_lines("FilamentRunout T0") if spec.asks_host else []
    if host_alone:
        return [*prompt, "//action:out_of_filament T0", "//action:pause filament_runout 0"]
    return [*prompt, "//action:paused filament_runout 0"]
