"""What is plugged into which socket of the board, where there is more than one sensor with one input.

The first sensor belongs into the input of the runout logic and may be moved to a socket that the present firmware
reads. A second sensor has an input of its own. A supply that is shorted in any socket is shorted in all of them.
"""

import dataclasses
from collections.abc import Mapping, Sequence
from types import MappingProxyType

from fake_printer.board import Board
from fake_printer.circuit import Link
from fake_printer.input_socket import Socket
from fake_printer.plant import NEVER_S, Plant
from fake_printer.socket_spec import RUNOUT, SECOND_SENSOR, SocketSpec
from fake_printer.specs import Profile


class Front:
    """The sensors and the sockets.

    Attributes:
        first: the sensor that is commissioned. second: another one; None where there is none.
        sockets: every input but that of the runout logic, by name.
        plugged_into: the socket that the first sensor's cable goes to.
        crossed: the plugs of both sensors are each in the other one's socket.
    """

    def __init__(self, profile: Profile, first: Plant, seed: str) -> None:
        self.first = first
        self.second = Plant(profile.second.plant, f"{seed}/second") if profile.second.fitted else None
        specs = [*profile.board.sockets, *([_of_second(profile)] if self.second else [])]
        self.sockets: Mapping[str, Socket] = MappingProxyType({spec.name: Socket(spec, seed) for spec in specs})
        self.plugged_into = RUNOUT
        self.crossed = profile.second.crossed and self.second is not None

    def look(self, board: Board) -> None:
        """Let every socket, and the board's own input, take note of what is plugged into it."""
        for name, socket in self.sockets.items():
            socket.look(self._links_of(name, socket))
        board.shorted_elsewhere = any(socket.shorted for socket in self.sockets.values())
        board.look(self._at_the_runout_logic())

    def _at_the_runout_logic(self) -> Sequence[Link]:
        if self.crossed and self.second is not None:
            return self.second.links()
        return self.first.links() if self.plugged_into == RUNOUT else []

    def hold(self, board: Board, number: int, drive: str) -> bool:
        """Make a pin an input with a pull-up, or drive it, until the next start; false for a pin that is not here."""
        if number == board.input.number:
            board.input = dataclasses.replace(board.input, pull="up", driven=drive)  # type: ignore[arg-type]
            return True
        return any(each.hold(number) for each in self.sockets.values())

    def _links_of(self, name: str, socket: Socket) -> Sequence[Link]:
        if name == SECOND_SENSOR and self.second is not None:
            return self.first.links() if self.crossed else self.second.links()
        return self.first.links() if name == self.plugged_into else socket.own_links

    def plug_first_into(self, name: str) -> None:
        """Take the first sensor's plug to another socket; a switch of its own is taken out of there before."""
        if name != RUNOUT:
            self.sockets[name].own_plugged = False
        self.plugged_into = name
        self.first.cable.plugged_at_board = True

    def power_up(self) -> None:
        """Draw anew what depends on the power-up."""
        for socket in self.sockets.values():
            socket.power_up()

    def advance(self, elapsed_s: float) -> None:
        """Let time pass for what is not the first sensor."""
        if self.second is not None:
            self.second.advance(elapsed_s)
        for socket in self.sockets.values():
            socket.advance(elapsed_s)

    def settle(self) -> None:
        """Let the second sensor take the position that its filament gives it."""
        if self.second is not None:
            self.second.settle()

    def until_next_s(self) -> float:
        """Seconds for which nothing here changes; a free socket that flips is found by a question as it is by then."""
        return NEVER_S if self.second is None else self.second.until_next_s()

    def truth(self) -> dict[str, object]:
        """What is true of it, where there is anything to tell."""
        told: dict[str, object] = {}
        if self.sockets:
            told["plugged_into"] = self.plugged_into
            told["sockets"] = {
                name: {"level": each.level, "high": each.high, "own_plugged": each.own_plugged, "own_hit": each.own_hit}
                for name, each in self.sockets.items()
            }
        if self.second is not None:
            told["second_presence"] = "in" if self.second.filament.at_trip_point else "out"
        return told


def _of_second(profile: Profile) -> SocketSpec:
    """The second sensor's input as a socket; it reads *triggered* when its filament is there."""
    spec = profile.second.input
    return SocketSpec(
        SECOND_SENSOR,
        spec.pull,
        "low" if spec.absent_level == "high" else "high",
        "none",
        spec.flips_per_s,
        spec.sticks_per_power_up,
        spec.number,
        spec.port,
        reported=False,
    )
