"""The voice of family A in its three generations, with the forms its builds choose between."""

from fake_printer.build_spec import FirmwareSpec
from fake_printer.firmware import (
    handlers_control,
    handlers_forks,
    handlers_heat,
    handlers_motion,
    handlers_query,
    handlers_settings,
)
from fake_printer.firmware.actions import run_out_lines
from fake_printer.firmware.command import Command
from fake_printer.firmware.core import Firmware
from fake_printer.firmware.intake import Refusal
from fake_printer.firmware.storage import retrieval_lines
from fake_printer.firmware.usual import Usual
from fake_printer.firmware.voice import Handler
from fake_printer.memory import Retrieval

_REASONS = {
    "checksum": "checksum mismatch",
    "order": "Line Number is not Last Line Number+1",
    "no-checksum": "No Checksum with line number",
    "no-number": "No Line Number with checksum",
}


class FamilyA(Usual):
    """The widespread family."""

    ok_first = False
    asks_again_s = 0.0

    def __init__(self, spec: FirmwareSpec) -> None:
        self._spec = spec
        self.handlers: dict[str, Handler[Firmware]] = {
            **handlers_query.TABLE,
            **handlers_motion.TABLE,
            **handlers_heat.TABLE,
            **handlers_settings.TABLE,
            **handlers_control.TABLE,
            **(handlers_forks.TABLE if spec.runout.compiled and spec.runout.report == "mode" else {}),
        }
        for code in _not_built_in(spec):
            del self.handlers[code]

    def ok(self, firmware: Firmware, command: Command, data: str) -> str:
        """`ok`, with free slots in builds with the advanced form, or with data on the same line."""
        text = f"ok {data}" if data else "ok"
        if not self._spec.tells_free_slots:
            return text
        number = "" if command.line_number is None else f" N{command.line_number}"
        return f"{text}{number} P{firmware.planner.free_slots} B{firmware.reception.free_slots}"

    def unknown(self, command: Command) -> list[str]:
        """The command in quotes."""
        return [f'echo:Unknown command: "{command.text}"']

    def refused(self, refusal: Refusal) -> list[str]:
        """The reason, the line wanted, and an acknowledgement."""
        reason = f"Error:{_REASONS[refusal.reason]}, Last Line: {refusal.last_line}"
        return [reason, f"Resend: {refusal.last_line + 1}", "ok"]

    def banner(self, cause: str, firmware: Firmware, retrieval: Retrieval | None) -> list[str]:
        """Start, cause, name, memory and settings."""
        spec = self._spec
        head = ["start", f"echo: {cause}", f"echo:{spec.name} {spec.version}", ""]
        built = "echo: Last Updated: 2024-02-04 | Author: (makerspace, bench)"
        compiled = "Compiled: Mar  9 2024" if spec.generation == "1.1" else "echo:Compiled: Mar  9 2024"
        lines = [*head, built, compiled, "echo: Free Memory: 2931  PlannerBufferBytes: 1456"]
        lines += retrieval_lines(spec, retrieval) if retrieval else ["echo:Hardcoded Default Settings Loaded"]
        lines += [] if spec.silent_boot or not spec.reports_settings else firmware.settings.report()
        return [*lines, "echo:SD init fail" if spec.generation == "1.1" else "echo:No SD card"]

    def busy(self, state: str) -> list[str]:
        """One of two spellings, or nothing."""
        return {"echo": [f"echo:busy: {state}"], "bare": [f"busy:{state}"], "none": []}[self._spec.busy]

    def killed(self) -> list[str]:
        """The line after which nothing comes."""
        return ["Error:Printer halted. kill() called!"]

    def leftover_mm(self, firmware: "Firmware") -> float:
        """As it is set."""
        return firmware.settings.get("M412", "D", 0.0)

    def run_out(self, firmware: "Firmware", times: int) -> None:
        """Told to the host, in builds that do, and acted on by a change of filament unless the host is to act."""
        host_alone = firmware.runout.left_to_host
        if not (self._spec.runout.second_silent and times > 1):
            firmware.announce(*run_out_lines(self._spec, host_alone=host_alone))
        if not host_alone:
            changes = 2 if self._spec.runout.changes_twice else 1
            firmware.runner.injected.extend([Command.parse("M600")] * changes)


def _not_built_in(spec: FirmwareSpec) -> list[str]:
    missing = []
    if not spec.runout.compiled or spec.runout.report in ("none", "mode"):
        missing.append("M412")
    if spec.pin_report == "none":
        missing.append("M43")
    if not spec.reports_settings:
        missing.append("M503")
    if spec.generation == "1.1":
        missing += ["M876", "M603", "M524"]
    return missing
