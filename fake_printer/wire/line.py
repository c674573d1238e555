"""Joins the device and the wire: speed, pacing, loss, damage, and the plug.

One step does everything that is due at a moment: simulated time, news from the host, bytes that are out, the device's
answer. It never waits; it returns how long the caller may sleep: until the device does something by itself, or bytes
on the line have arrived.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from fake_printer.wire.base import QUEUE_LIMIT_BYTES, Device, LineTraits, ReadyFile, Wire
from fake_printer.wire.pacing import Pacer
from fake_printer.wire.sampling import Disturber, as_sampled

INCOMING_LIMIT_BYTES = 4096
"""What a serial driver keeps of a host that sends faster than the line; the host then has to wait."""
BUSY_S = 0.002
"""How often bytes that are under way are handed on; an adapter does not hand on each by itself either."""
LONGEST_REST_S = 60.0
"""So that there is never much to make up for when somebody comes."""

Direction = Literal["host", "device", "note"]
Watcher = Callable[[float, Direction, bytes], None]


@dataclass(frozen=True)
class LineOptions:
    """How the line runs.

    Attributes:
        paced: whether bytes take the time they need at the device's speed.
        speed_factor: simulated seconds to a real one; bytes are as much faster.
        seed: where the losses and damages begin.
    """

    paced: bool = True
    speed_factor: float = 1.0
    seed: int = 0

    def __post_init__(self) -> None:
        if not 0 < self.speed_factor <= 1000:
            raise ValueError(f"The speed factor is a number above 0 and at most 1000, not {self.speed_factor}.")


class Line:
    """The serial line between one device and one wire.

    Attributes:
        openings: how often a host has opened the port.
        heard_bytes, said_bytes: from the host and to it, since the last opening; before the line had its way with
            what was heard, after it with what was said.
    """

    def __init__(
        self,
        device: Device,
        wire: Wire,
        traits: LineTraits,
        options: LineOptions,
        *,
        now_s: float,
        watcher: Watcher | None = None,
    ) -> None:
        """Lay the line and plug it in if the device's plug is in.

        Args:
            device: the printer.
            wire: what the host opens.
            traits: speed and quality of the line.
            options: how it runs.
            now_s: the present moment, in the seconds of every later step.
            watcher: told of all bytes with their moment, as the receiver of them saw them, and of openings.

        Raises:
            WireError: the wire cannot be laid.
        """
        self._device, self._wire, self._options = device, wire, options
        self._device_baud = traits.speed_baud
        pace = traits.speed_baud * options.speed_factor if options.paced else None
        self._incoming, self._outgoing = Pacer(pace), Pacer(pace)
        quality = traits.loss_per_byte, traits.damage_per_byte
        self._to_device = Disturber(*quality, seed=f"{options.seed} to device")
        self._to_host = Disturber(*quality, seed=f"{options.seed} to host")
        self._watch = watcher or (lambda *_: None)
        self._last_s = now_s
        self.openings = self.heard_bytes = self.said_bytes = 0
        self._follow_plug(now_s)

    def step(self, now_s: float) -> float:
        """Do what is due.

        Args:
            now_s: the present moment; never before that of the last step.

        Returns:
            Seconds the caller may sleep when nothing wakes it.

        Raises:
            WireError: a plug that was put back in finds its port taken.
        """
        self._device.advance((now_s - self._last_s) * self._options.speed_factor)
        self._last_s = now_s
        self._follow_plug(now_s)
        self._greet(now_s)
        self._take_in(now_s)
        self._give_out(now_s)
        return self._rest_s(now_s)

    def files(self) -> Sequence[ReadyFile]:
        """What to sleep on; a host that has to wait for the line wakes nobody."""
        return self._wire.files() if self._has_room else ()

    @property
    def attached(self) -> bool:
        """Whether a host has the port open, as far as the last step has seen."""
        return self._wire.attached

    @property
    def look_again_s(self) -> float:
        """Seconds after which its wire has to be looked at though no file woke anybody; infinite at best."""
        return self._wire.look_again_s if self._has_room else math.inf

    @property
    def _has_room(self) -> bool:
        return len(self._incoming) < INCOMING_LIMIT_BYTES

    def close(self) -> None:
        """Take the wire down."""
        self._wire.close()

    def state(self) -> dict[str, object]:
        """What the wire knows, for whoever checks a test."""
        return {
            "link": self._wire.link,
            "plugged": self._wire.plugged,
            "attached": self._wire.attached,
            "openings": self.openings,
            "heard_bytes": self.heard_bytes,
            "said_bytes": self.said_bytes,
            "device_speed_baud": self._device_baud,
            "host_speed_baud": self._wire.host_speed_baud if self._wire.attached else None,
        }

    def _follow_plug(self, now_s: float) -> None:
        if self._wire.plugged == self._device.usb_attached:
            return
        self._incoming.clear()
        self._outgoing.clear()
        if self._wire.plugged:
            self._wire.unplug()
            self._watch(now_s, "note", b"port gone")
        else:
            self._wire.plug()
            self._watch(now_s, "note", b"port there")

    def _greet(self, now_s: float) -> None:
        for _ in range(self._wire.take_openings()):
            self.openings += 1
            self.heard_bytes = self.said_bytes = 0
            self._outgoing.clear()
            self._watch(now_s, "note", b"opened")
            self._device.host_attached()

    def _take_in(self, now_s: float) -> None:
        attached = self._wire.attached
        arrived = self._wire.read(INCOMING_LIMIT_BYTES - len(self._incoming))
        if attached and not self._wire.attached:
            self._watch(now_s, "note", b"closed")
        if arrived:
            self.heard_bytes += len(arrived)
            self._incoming.put(arrived, now_s)
        due = self._incoming.take(now_s)
        if due:
            heard = self._to_device.pass_on(as_sampled(due, self._host_baud, self._device_baud))
            self._watch(now_s, "host", heard)
            self._device.receive(heard)

    def _give_out(self, now_s: float) -> None:
        said = self._device.take_output()
        if said and self._wire.attached:
            self._outgoing.put(said[: max(0, QUEUE_LIMIT_BYTES - len(self._outgoing))], now_s)
        due = self._outgoing.take(now_s)
        if due:
            heard = self._to_host.pass_on(as_sampled(due, self._device_baud, self._host_baud))
            self._watch(now_s, "device", heard)
            self._wire.write(heard)
            self.said_bytes += len(heard)

    @property
    def _host_baud(self) -> int:
        speed = self._wire.host_speed_baud
        return self._device_baud if speed is None else speed

    def _rest_s(self, now_s: float) -> float:
        waits = [LONGEST_REST_S, self._device.until_next_s() / self._options.speed_factor, self.look_again_s]
        for pacer in (self._incoming, self._outgoing):
            drained_in_s = pacer.drained_in_s(now_s)
            if drained_in_s is not None:
                waits.append(min(BUSY_S, drained_in_s))
        return min(waits)
