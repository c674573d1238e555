"""The printer: plant, board, memory and firmware joined. Everything that is not a wire.

Nothing here reads a clock or does input or output: time is an argument, bytes go in and come out.
"""

import dataclasses
from collections.abc import Mapping
from random import Random

from fake_printer import truth
from fake_printer.board import Board
from fake_printer.disturbance import Disturber
from fake_printer.firmware.core import Firmware
from fake_printer.firmware.voices import voice_of
from fake_printer.front import Front
from fake_printer.hand_words import HANDS, HandsError
from fake_printer.hands import perform
from fake_printer.input_socket import Socket
from fake_printer.left_in_memory import stored_memory
from fake_printer.memory import Memory
from fake_printer.planned import Planned
from fake_printer.plant import NEVER_S, Plant
from fake_printer.specs import Profile

__all__ = ["HANDS", "HandsError", "Printer"]

# What is due is due at once; a step of no length would never get there.
_SHORTEST_STEP_S = 1e-6


class Printer:
    """One simulated unit.

    A new one was switched on long ago: it serves at once and says nothing by itself.

    Attributes:
        profile: the unit; after a reflash, with the other build in it.
        planned: deeds that wait for a line. refused: what became of those that could not be done when their line came.
        plant, board, memory: its parts. firmware: the life under way; None while the board has no power.
    """

    def __init__(self, profile: Profile, *, seed: int = 0, memory: Memory | None = None) -> None:
        """Set the unit up.

        Args:
            profile: the unit.
            seed: of everything that happens by chance; the same seed gives the same unit.
            memory: settings memory kept from before; otherwise one with what the profile says is stored.
        """
        self.profile = profile
        self.plant = Plant(profile.plant, f"{seed}")
        self.front = Front(profile, self.plant, f"{seed}")
        self.board = Board(profile.board, f"{seed}")
        self.memory = stored_memory(profile) if memory is None else memory
        self.disturber = Disturber(profile.disturbances, Random(f"{seed}/disturbances"), self._disturb_at_once)
        self.firmware: Firmware | None = None
        self.received_lines: list[str] = []
        self.planned = Planned()
        self.refused: list[str] = []
        self.restarts = 0
        self._clock_s = 0.0
        self._port_lost = False
        self._power_back_s = NEVER_S
        self._output = bytearray()
        self.front.look(self.board)
        self.board.advance(profile.board.hold_up_ms / 1000)
        if self.board.alive:
            self.firmware = self._new_firmware()
            self.firmware.wake()

    # what the wire sees

    @property
    def alive(self) -> bool:
        """Whether the logic supply is there."""
        return self.board.alive

    @property
    def mains_on(self) -> bool:
        """Whether the power switch is on."""
        return self.board.mains_on

    @mains_on.setter
    def mains_on(self, on: bool) -> None:
        self.board.mains_on = on
        self._follow_power("PowerUp")

    @property
    def usb_attached(self) -> bool:
        """Whether the host sees a port: plugged in, and for a native port also up and running."""
        if not self.board.usb_in or self._port_lost:
            return False
        running = self.firmware is not None and not self.firmware.deaf
        return running or self.profile.board.usb == "bridge"

    @usb_attached.setter
    def usb_attached(self, plugged: bool) -> None:
        self.plug_usb(plugged=plugged)

    def host_attached(self) -> None:
        """The host opened the port; a bridge board may restart."""
        if self.profile.wire.reset_on_open and self.alive:
            self.restart("External Reset")

    def receive(self, data: bytes) -> None:
        """Bytes from the host; without power they are lost."""
        if self.firmware is not None:
            self._note_input()
            self.firmware.receive(data)
            self._do_planned()
            self._feel_motors()

    def take_output(self) -> bytes:
        """Bytes to the host since last taken."""
        if self.firmware is not None:
            self._output += self.firmware.outbox.take()
        taken, self._output = bytes(self._output), bytearray()
        return taken

    # time

    def advance(self, elapsed_s: float) -> None:
        """Let simulated time pass; one long step and many short ones come to the same."""
        while elapsed_s > 0:
            step_s = min(elapsed_s, max(self.until_next_s(), _SHORTEST_STEP_S))
            self._step(step_s)
            elapsed_s -= step_s

    def until_next_s(self) -> float:
        """Seconds for which nothing happens that anybody notices; a free input and chatter count while heeded."""
        firmware = self.firmware
        drawing_mm_s, heeded = (firmware.drawing_mm_s, firmware.heeds_the_input) if firmware else (0.0, False)
        return min(
            self._power_back_s,
            self.plant.until_next_s(drawing_mm_s, watched=heeded or bool(self.board.bridges)),
            self.board.until_next_s(watched=firmware is not None and firmware.watching),
            self.front.until_next_s(),
            self.disturber.until_next_s(),
            NEVER_S if firmware is None else firmware.until_next_s(),
        )

    def _step(self, elapsed_s: float) -> None:
        """Move on to the next moment at which something changes, and change it.

        Time passes for the firmware first, with everything around it as it was all the while, so that a life which
        begins at that moment has none of it behind it. What the firmware then does, it does with what it finds then.
        """
        self._clock_s += elapsed_s
        if self.firmware is not None:
            self.firmware.advance(elapsed_s)
            self._output += self.firmware.outbox.advance(elapsed_s)
        self.disturber.advance(elapsed_s)
        self.plant.advance(elapsed_s)
        self.front.advance(elapsed_s)
        self.board.advance(elapsed_s)
        self._power_back_s -= elapsed_s
        if self._power_back_s <= 1e-9:
            self._power_back_s = NEVER_S
            self.board.mains_on = True
            self.plug_usb(plugged=True)
        self._note_input()
        if self.firmware is not None:
            self.firmware.serve()
            self._do_planned()
            self._feel_motors()

    def _do_planned(self) -> None:
        for deed in self.planned.take_due():
            try:
                self.perform(deed.verb, *deed.words)
            except HandsError as refused:
                self.refused.append(str(refused))

    def _note_input(self) -> None:
        self._feel_motors()
        self.front.look(self.board)
        self._follow_power("Brown out Reset")

    def _feel_motors(self) -> None:
        turning = self.firmware is not None and self.motors_powered() and bool(self.firmware.planner.moves)
        self.plant.cable.beside_turning_motors = turning
        self.board.disturbed = self.plant.cable.picks_up

    def _follow_power(self, cause: str) -> None:
        """Start or end the firmware when the supply has come or gone."""
        if self.board.alive and self.firmware is None:
            self.restart(cause)
        elif not self.board.alive and self.firmware is not None:
            self._output.clear()
            self.firmware = None

    # what a hand or a fault does to the whole

    def restart(self, cause: str) -> None:
        """Begin a new life of the firmware, with this cause in its banner."""
        if self.firmware is not None:
            self._output += self.firmware.outbox.take()
        self.restarts += 1
        self.board.input = self.profile.board.input
        self.board.power_up()
        self.front.power_up()
        self.firmware = self._new_firmware()
        board = self.profile.board
        # a native port is away while the banner is said, so nobody ever hears it
        has_banner = board.usb == "bridge"
        self.firmware.boot(cause, boot_s=board.boot_s, settle_s=board.settle_s, has_banner=has_banner)

    def plug_usb(self, *, plugged: bool) -> None:
        """The USB plug goes in or out; in again, it also mends a port that was lost."""
        self.board.usb_in = plugged
        self._port_lost = False
        self._follow_power("PowerUp")

    def power_cycle(self, seconds: float) -> None:
        """Everything off now, and on again after that time."""
        self.board.mains_on = False
        self.plug_usb(plugged=False)
        self._power_back_s = seconds

    def reflash(self, build: Profile) -> None:
        """Put another build into the board. The input's pull and absent level are part of a build; its fit is not."""
        pin = dataclasses.replace(
            self.board.input, pull=build.board.input.pull, absent_level=build.board.input.absent_level
        )
        self.board.input = pin
        if build.firmware.flashing == "tips-a-bit":
            self.memory.tip_a_bit()
        elif build.firmware.flashing == "erases":
            self.memory.erase()
        self.profile = dataclasses.replace(
            self.profile, firmware=build.firmware, board=dataclasses.replace(self.profile.board, input=pin)
        )
        self.restart("Software Reset")

    def _disturb_at_once(self, kind: str) -> None:
        if kind == "port":
            self._port_lost = True
        elif self.alive:
            self.restart("Watchdog Reset")

    def _new_firmware(self) -> Firmware:
        spec = self.profile.firmware
        firmware = Firmware(spec, self.board.input, voice_of(spec), self, self.memory, self.disturber)
        firmware.reception.received_lines = self.received_lines
        firmware.reception.on_line = self.planned.heard
        return firmware

    # what the firmware sees

    def pin_high(self) -> bool:
        """What the runout input reads."""
        return self.board.pin_high

    def motors_powered(self) -> bool:
        """Whether mains feeds motors and heaters."""
        return self.board.mains_on

    def draw(self, distance_mm: float) -> None:
        """The drive gear turns."""
        self.plant.filament.draw(distance_mm)

    def sockets(self) -> Mapping[str, Socket]:
        """Every input but that of the runout logic, by name."""
        return self.front.sockets

    def hold_input(self, number: int, *, drive: str = "no") -> bool:
        """Make a pin an input with a pull-up, or drive it; it lasts until the next start. False for another pin."""
        return self.front.hold(self.board, number, drive)

    # what hands and tests see

    def perform(self, verb: str, *words: str) -> str:
        """Do something by hand, and say in one sentence what was done.

        Raises:
            HandsError: it cannot be done; the text says what to do instead.
        """
        done = perform(self, verb, words)
        self.plant.settle()
        self.front.settle()
        self._note_input()
        return done

    def state(self) -> dict[str, object]:
        """What is true of the printer, in a form that JSON can carry."""
        return {
            "unit": self.profile.name,
            "time_s": round(self._clock_s, 6),
            **truth.of_front(self.plant, self.board),
            **self.front.truth(),
            **truth.of_supply(self.board),
            "usb_attached": self.usb_attached,
            **truth.of_firmware(self.firmware),
            "restarts": self.restarts,
            "memory_writes": self.memory.writes,
            "armed_disturbances": self.disturber.armed,
            **truth.of_host(self.planned.waiting, self.refused, self.received_lines),
        }
