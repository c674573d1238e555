"""Family A: the job, messages, keepalives, numbering, stopping, and the change of filament."""

from fake_printer.firmware.change import change_filament
from fake_printer.firmware.command import Command
from fake_printer.firmware.core import Firmware
from fake_printer.firmware.voice import Handler, Steps

_ECHO_BIT = 1


def _start_job(firmware: Firmware, _: Command) -> None:
    if not firmware.job.running and firmware.job.elapsed_s == 0:
        firmware.runout.job_begins(absent=firmware.filament_absent())
    firmware.job.start()


def _pause_job(firmware: Firmware, _: Command) -> None:
    firmware.job.pause()


def _stop_job(firmware: Firmware, _: Command) -> None:
    firmware.job.stop()


def _stop_card_job(firmware: Firmware, _: Command) -> None:
    firmware.runner.card.clear()
    firmware.planner.drop()


def _line_number(firmware: Firmware, command: Command) -> None:
    number = command.number_of("N")
    if number is not None and command.line_number is None:
        firmware.reception.intake.last_line = int(number)


def _debug(firmware: Firmware, command: Command) -> None:
    bits = command.number_of("S")
    if bits is not None:
        firmware.echoes = bool(int(bits) & _ECHO_BIT)
    firmware.say(f"echo:DEBUG:{'ECHO' if firmware.echoes else 'off'}")


def _kill(firmware: Firmware, _: Command) -> None:
    firmware.kill()


def _keepalive(firmware: Firmware, command: Command) -> None:
    interval_s = command.number_of("S")
    if interval_s is None:
        firmware.say(f"echo:M113 S{firmware.keepalive_s:.0f}")
    else:
        firmware.keepalive_s = min(max(0.0, interval_s), 60.0)


def _message(firmware: Firmware, command: Command) -> None:
    firmware.message = command.argument


def _print_text(firmware: Firmware, command: Command) -> None:
    text, prefix = command.argument, ""
    for mark, meaning in (("A1", "//"), ("E1", "echo:")):
        if text.startswith(mark):
            text, prefix = text.removeprefix(mark).strip(), meaning
    firmware.say(prefix + text)


def _quick_stop(firmware: Firmware, _: Command) -> None:
    firmware.planner.drop()


def _change(firmware: Firmware, _: Command) -> Steps:
    return change_filament(firmware)


def _answer_prompt(firmware: Firmware, command: Command) -> None:
    choice = command.number_of("S")
    if choice is not None:
        firmware.dialogue.choose(int(choice))


def _nothing(_firmware: Firmware, _: Command) -> None:
    """A command that has no effect here worth imitating."""


TABLE: dict[str, Handler[Firmware]] = {
    "M17": _nothing,
    "M18": _nothing,
    "M73": _nothing,
    "M75": _start_job,
    "M76": _pause_job,
    "M77": _stop_job,
    "M84": _nothing,
    "M108": _nothing,
    "M110": _line_number,
    "M111": _debug,
    "M112": _kill,
    "M113": _keepalive,
    "M117": _message,
    "M118": _print_text,
    "M220": _nothing,
    "M221": _nothing,
    "M300": _nothing,
    "M410": _quick_stop,
    "M524": _stop_card_job,
    "M600": _change,
    "M876": _answer_prompt,
    "M999": _nothing,
    "T0": _nothing,
}
