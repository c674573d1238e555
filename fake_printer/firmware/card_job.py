"""A job from the card in families B to E: it is held and goes on, and ends when its last move is done."""

from fake_printer.firmware.command import Command
from fake_printer.firmware.core import Firmware
from fake_printer.firmware.handlers_motion import wait_for_moves
from fake_printer.firmware.runner import END_OF_CARD
from fake_printer.firmware.voice import Handler, Steps


def hold(firmware: Firmware) -> bool:
    """Hold the job; false when there is none, or it is held already. What is planned is still done."""
    if firmware.runner.card_held or not firmware.job.running:
        return False
    firmware.runner.card_held = True
    firmware.job.pause()
    return True


def go_on(firmware: Firmware) -> bool:
    """Let a held job go on, with its runout forgotten; false when none is held."""
    if not firmware.runner.card_held:
        return False
    firmware.runner.card_held = False
    firmware.job.start()
    firmware.runout.reset()
    firmware.movement.restart()
    return True


def drop(firmware: Firmware) -> None:
    """Forget the job."""
    firmware.runner.card.clear()
    firmware.runner.card_held = False
    firmware.job.stop()


def _end(firmware: Firmware, _: Command) -> Steps:
    yield from wait_for_moves(firmware)
    firmware.job.stop()


TABLE: dict[str, Handler[Firmware]] = {END_OF_CARD: _end}
