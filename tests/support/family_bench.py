"""A bench in memory whose printer is of another family: its switch report never tells of the filament."""

from pathlib import Path

from tests.support.fake_bench import FakeBench

BOARD = (
    "FIRMWARE_NAME: ExampleB FIRMWARE_VERSION: 103.7.1 ELECTRONICS: Bench Board 2 FIRMWARE_DATE: 2024-02-01 10:11:12"
)
HOST = "FIRMWARE_VERSION:v100.8.2-11-gabc1234 FIRMWARE_NAME:ExampleC"


class MonitorBench(FakeBench):
    """Has one simple monitor. Steer it by `watched` (its word for that) and `stopped` (the letter of its state)."""

    def __init__(self, folder: Path) -> None:
        super().__init__(folder)
        self.watched = "enabled"
        self.stopped = ""

    def _printer(self, line: str) -> bytes | None:
        answer = self._said(line)
        return None if answer is None else f"{answer}\nok\n".encode()

    def _said(self, line: str) -> str | None:  # noqa: PLR0911 - one word a question
        if self.dark:
            return None
        if line == "M115":
            return BOARD
        if line == "M119":
            return "Endstops - X: not stopped, Y: not stopped, Z: not stopped, Z probe: not stopped"
        if line == "M27":
            return "Not SD printing"
        if line == "M503":
            return "; a start-up file\nM550 PBench"
        if line == "M408 S0":
            return f'{{"status":"{self.stopped or "I"}","heaters":[21.0],"homed":[0,0,0]}}'
        if line == "M591 D0":
            self.queries += 1
            present = "yes" if self.reads_active else "no"
            told = f"{self.watched}, output high when no filament, filament present: {present}"
            return f"Simple filament sensor on pin in2, {told}"
        if line.startswith("M591 D"):
            return "Error: M591: parameter 'D' too high"
        if line.startswith("M409"):
            return '{"key":"' + line.split('"')[1] + '","flags":"","result":null}'
        return f"The user's file {line}.g was run"


class WordBench(FakeBench):
    """Tells of the filament in its reply of runout control alone; its switch report has no line for it."""

    def __init__(self, folder: Path) -> None:
        super().__init__(folder)
        self.switch = ""

    def _printer(self, line: str) -> bytes | None:
        if line == "M412":
            word = "filament present" if self.reads_active else "no filament"
            return f"echo:Filament runout ON, sensor: {word}\nok\n".encode()
        return super()._printer(line)


class NamedBench(FakeBench):
    """Has a sensor named `reel`.

    Steer it by `delay_s` (how long each answer takes), `shut_down` (its reason) and `ready_at_s` (when it serves).
    """

    def __init__(self, folder: Path) -> None:
        super().__init__(folder)
        self.delay_s = 0.0
        self.shut_down = ""
        self.ready_at_s = 0.0

    def _printer(self, line: str) -> bytes | None:
        said = self._said(line)
        if self.delay_s:
            self.links[-1].say(said, self.delay_s)
            return None
        return said

    def _said(self, line: str) -> bytes:  # noqa: PLR0911 - one word a question
        if line == "M115":
            return f"ok {HOST}\n".encode()
        if self.shut_down:
            return f"// {self.shut_down}\n// ExampleC state: Shutdown\n!! {self.shut_down}\nok\n".encode()
        if self.clock.monotonic() < self.ready_at_s:
            return self._not_ready(line)
        if line == "STATUS":
            return b"// ExampleC state: Ready\nok\n"
        if line == "M119":
            return b"x:open y:open z:open\nok\n"
        if line == "M27":
            return b"Not SD printing.\nok\n"
        if line.startswith("QUERY_FILAMENT_SENSOR"):
            name = line.partition("=")[2]
            if name != "reel":
                return f"!! The value '{name}' is not valid for SENSOR\nok\n".encode()
            self.queries += 1
            word = "detected" if self.reads_active else "not detected"
            return f"// Filament Sensor reel: filament {word}\nok\n".encode()
        return f'// Unknown command:"{line.split(maxsplit=1)[0]}"\nok\n'.encode()

    @staticmethod
    def _not_ready(line: str) -> bytes:
        """As a host computer answers that begins: a fault, and the state only where that is asked for."""
        state = "// ExampleC state: Not ready\n" if line == "STATUS" else ""
        return f"// The host is not ready\n{state}!! The host is not ready\nok\n".encode()
