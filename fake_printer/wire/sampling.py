"""What a receiver makes of a line: the wrong speed, lost bytes, turned bits."""

from random import Random

_FRAME_BITS = 10


def as_sampled(data: bytes, sent_baud: float, read_baud: float) -> bytes:
    """The bytes a receiver sees that runs at another speed than the sender.

    The sender's frames (start bit low, eight data bits, lowest first, stop bit high) are laid end to end with an
    idle line before and after. The receiver waits for a falling edge, looks at the middle of the start bit and of the
    eight bits that follow, and waits again from the middle of the stop bit. A frame whose stop bit is low is
    handed on as it is, as serial drivers do when no parity check is asked for.

    Args:
        data: what was sent, without a gap.
        sent_baud: the sender's bits per second.
        read_baud: the receiver's bits per second; zero hears nothing.
    """
    if sent_baud == read_baud:
        return data
    if read_baud <= 0 or sent_baud <= 0:
        return b""
    return _sampled(_levels(data), sent_baud / read_baud)


def _levels(data: bytes) -> list[int]:
    levels = []
    for byte in data:
        levels.append(0)
        levels += [(byte >> place) & 1 for place in range(8)]
        levels.append(1)
    return levels


def _sampled(levels: list[int], bit: float) -> bytes:
    """Read a waveform with bits `bit` long, in units of the sender's bits."""

    def level(time: float) -> int:
        return levels[int(time)] if time < len(levels) else 1

    seen = bytearray()
    start = _falling_edge(levels, 0)
    while start is not None:
        resume = start + 0.5 * bit
        if level(resume) == 0:
            samples = [level(start + (1.5 + place) * bit) for place in range(8)]
            seen.append(sum(value << place for place, value in enumerate(samples)))
            resume = start + (_FRAME_BITS - 0.5) * bit
        start = _falling_edge(levels, int(resume) + 1)
    return bytes(seen)


def _falling_edge(levels: list[int], begin: int) -> int | None:
    for place in range(begin, len(levels)):
        if levels[place] == 0 and (place == 0 or levels[place - 1] == 1):
            return place
    return None


class Disturber:
    """Loses and damages bytes, the same ones for the same seed however the bytes are cut up."""

    def __init__(self, loss_per_byte: float, damage_per_byte: float, seed: int | str) -> None:
        """Take the probabilities.

        Args:
            loss_per_byte: probability that a byte is lost, 0 to 1.
            damage_per_byte: probability that a byte that is not lost has one bit turned, 0 to 1.
            seed: where the sequence begins.

        Raises:
            ValueError: a probability outside 0 to 1.
        """
        for name, value in (("loss_per_byte", loss_per_byte), ("damage_per_byte", damage_per_byte)):
            if not 0 <= value <= 1:
                raise ValueError(f"{name} is a probability from 0 to 1, not {value}.")
        self._loss = loss_per_byte
        self._damage = damage_per_byte
        self._chance = Random(seed)

    def pass_on(self, data: bytes) -> bytes:
        """What is left of the bytes."""
        if self._loss == 0 and self._damage == 0:
            return data
        left = bytearray()
        for byte in data:
            lost, damaged = self._chance.random() < self._loss, self._chance.random() < self._damage
            turned = self._chance.randrange(8)
            if not lost:
                left.append(byte ^ (1 << turned) if damaged else byte)
        return bytes(left)
