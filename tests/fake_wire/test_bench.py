"""The hands: one line, one deed, one line of answer. The printer here is a fake that keeps what was asked of it."""

import contextlib
import io
import json
import select
import socket
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from fake_printer.bench import ask, converse, help_text, in_words, main
from fake_printer.memory import Memory
from fake_printer.memory_file import MemoryFile, MemoryFileError
from fake_printer.printer import HANDS, HandsError
from fake_printer.workbench import Bench, ControlSocket
from tests.support.patience import PATIENCE_S


class FakeHandledPrinter:
    """Keeps every deed; refuses `withdraw` and what it does not know, as if there were nothing to withdraw."""

    def __init__(self) -> None:
        self.deeds: list[tuple[str, ...]] = []
        self.received = ["M115", "M119"]

    def perform(self, verb: str, *words: str) -> str:
        """Keep the deed."""
        if verb == "withdraw":
            raise HandsError("There is no filament.\nInsert it first.")
        if verb not in HANDS:
            raise HandsError(f"Nobody knows {verb!r}. Try: help")
        self.deeds.append((verb, *words))
        return f"Done:\n{verb}."

    def state(self) -> dict[str, object]:
        """A few truths."""
        return {"presence": "in", "received_lines": self.received, "levels": {"input": "low"}}


@pytest.fixture
def printer() -> FakeHandledPrinter:
    """A printer that can be handled."""
    return FakeHandledPrinter()


@pytest.fixture
def bench(printer: FakeHandledPrinter) -> Bench:
    """A bench at that printer."""
    return Bench(printer, lambda: {"attached": True})


@pytest.fixture
def address(bench: Bench) -> Iterator[str]:
    """A control socket that is served by a thread of its own; its address."""
    control = ControlSocket(bench, 0)
    ending = threading.Event()

    def serve() -> None:
        while not ending.is_set():
            select.select(control.files(), [], [], 0.005)
            control.step(0.0)

    thread = threading.Thread(target=serve)
    thread.start()
    yield control.address
    ending.set()
    thread.join()
    control.close()


def test_a_deed_is_done_with_its_words_and_answered_in_one_line(bench: Bench, printer: FakeHandledPrinter) -> None:
    """The verb and its words reach the printer, and the sentence comes back on one line."""
    assert "ok Done: short." == bench.answer("short 'signal ground' now")
    assert [("short", "signal ground", "now")] == printer.deeds


def test_a_refused_deed_is_answered_with_the_advice(bench: Bench) -> None:
    """What the printer refuses comes back as an error that says what to do, on one line."""
    assert "error There is no filament. Insert it first." == bench.answer("withdraw")


def test_an_answer_never_carries_what_a_terminal_obeys(bench: Bench) -> None:
    """Control characters that were typed come back made visible."""
    answer = bench.answer("\x1b[2~")
    assert answer.isprintable()
    assert "x1b[2~" in answer


@pytest.mark.parametrize(
    ("line", "advice"),
    [("", "Try: help"), ("juggle", "'juggle'"), ('insert "half', "Close every quote"), ("\x00\xff", "Try: help")],
)
def test_a_line_that_means_nothing_is_answered_with_advice(
    bench: Bench, printer: FakeHandledPrinter, line: str, advice: str
) -> None:
    """A line that is no deed does nothing and gets an error that says what to do."""
    answer = bench.answer(line)
    assert answer.startswith("error ")
    assert advice in answer
    assert [] == printer.deeds


def test_state_is_one_line_of_json_with_the_ports_part(bench: Bench) -> None:
    """The state holds what the printer tells and, under `port`, what the wire knows."""
    assert {
        "presence": "in",
        "received_count": 2,
        "received_lines": ["M115", "M119"],
        "levels": {"input": "low"},
        "port": {"attached": True},
    } == json.loads(bench.answer("state"))
    assert ["M115", "M119"] == json.loads(bench.answer("received"))


def test_state_holds_the_end_of_a_long_list_and_received_the_whole(bench: Bench, printer: FakeHandledPrinter) -> None:
    """Of very many lines received the state shows the last twenty and the number; `received` shows them all."""
    printer.received += [f"G1 X{n}" for n in range(1000)]
    state = json.loads(bench.answer("state"))
    assert 1002 == state["received_count"]
    assert [f"G1 X{n}" for n in range(980, 1000)] == state["received_lines"]
    assert 1002 == len(json.loads(bench.answer("received")))


def test_stop_asks_for_the_end(bench: Bench) -> None:
    """Nothing ends before somebody says stop."""
    bench.answer("help")
    assert bench.stop_asked is False
    assert bench.answer("stop").startswith("ok ")
    assert bench.stop_asked is True


def test_help_names_every_deed(bench: Bench) -> None:
    """Every verb of the printer stands in the help, for a script and for a person."""
    for verb in HANDS:
        assert f"{verb}: " in bench.answer("help")
        assert f"\n  {verb} " in "\n" + help_text()


def test_several_visitors_are_served_in_turn(address: str, printer: FakeHandledPrinter) -> None:
    """Visitors that stay connected each get the answers to their own lines, however these are cut."""
    host, port = address.split(":")
    with contextlib.ExitStack() as stack:
        visitors = [
            stack.enter_context(socket.create_connection((host, int(port)), timeout=PATIENCE_S)) for _ in range(3)
        ]
        for visitor in visitors:
            visitor.sendall(b"ins")
        for visitor in reversed(visitors):
            visitor.sendall(b"ert\nwithdraw\n")
        for visitor in visitors:
            with visitor.makefile() as answers:
                assert "ok Done: insert.\n" == answers.readline()
                assert "error There is no filament. Insert it first.\n" == answers.readline()
    assert [("insert",)] * 3 == printer.deeds


def test_a_visitor_that_never_ends_its_line_is_seen_off(address: str) -> None:
    """A line beyond any sense ends the visit, and others are still served."""
    host, port = address.split(":")
    with socket.create_connection((host, int(port)), timeout=PATIENCE_S) as visitor:
        visitor.sendall(b"x" * 8192)
        with contextlib.suppress(ConnectionResetError):
            assert b"" == visitor.recv(10)
    assert "ok Done: insert." == ask(address, "insert")


def test_too_many_visitors_are_turned_away(address: str) -> None:
    """The ninth visitor is let go at once."""
    host, port = address.split(":")
    with contextlib.ExitStack() as stack:
        for _ in range(8):
            visitor = stack.enter_context(socket.create_connection((host, int(port)), timeout=PATIENCE_S))
            visitor.sendall(b"insert\n")
            assert visitor.recv(100).startswith(b"ok ")
        ninth = stack.enter_context(socket.create_connection((host, int(port)), timeout=PATIENCE_S))
        with contextlib.suppress(ConnectionResetError):
            assert b"" == ninth.recv(10)


@pytest.mark.parametrize(
    ("words", "code", "shown"),
    [
        (["insert"], 0, "Done: insert.\n"),
        (["short", "signal-ground"], 0, "Done: short.\n"),
        (["withdraw"], 1, "Not done: There is no filament. Insert it first.\n"),
        (["received"], 0, '["M115", "M119"]\n'),
    ],
)
def test_one_deed_from_the_command_line(
    address: str, capsys: pytest.CaptureFixture[str], words: list[str], code: int, shown: str
) -> None:
    """A command is one deed; it prints what was done and its exit code tells whether it was."""
    assert code == main([address, *words])
    assert shown == capsys.readouterr().out


@pytest.mark.parametrize("nowhere", ["127.0.0.1:1", "nonsense", "127.0.0.1:x", "127.0.0.1:99999"])
def test_a_bench_that_is_not_there_is_told(capsys: pytest.CaptureFixture[str], nowhere: str) -> None:
    """An address nobody answers at ends with exit code 2 and says which address is wanted."""
    assert 2 == main([nowhere, "insert"])
    assert "HOST:PORT" in capsys.readouterr().err


@pytest.mark.parametrize(
    "said", [b"start\n", b'echo:Unknown command: "insert"\nok\n', b"ok\n", b"12\n", b"\xff\xfb\x03\n"]
)
@pytest.mark.parametrize("word", ["insert", "state"])
def test_another_port_is_no_bench(capsys: pytest.CaptureFixture[str], said: bytes, word: str) -> None:
    """The printer's own port in place of the bench ends with exit code 2 and says which address is wanted."""
    with socket.create_server(("127.0.0.1", 0)) as wire:
        speaking = threading.Thread(target=speak, args=(wire, said))
        speaking.start()
        code = main([f"127.0.0.1:{wire.getsockname()[1]}", word])
        speaking.join(PATIENCE_S)

    told = capsys.readouterr()
    assert 2 == code
    assert "what answers there is no bench" in told.err
    assert "control" in told.err
    assert "" == told.out


def speak(wire: socket.socket, said: bytes) -> None:
    """Be the printer's end of its own port: say this, whatever is asked."""
    connection, _ = wire.accept()
    with connection:
        connection.recv(100)
        connection.sendall(said)


def test_the_console_speaks_in_words(address: str) -> None:
    """A person sees the help first, then a sentence for each deed, and leaves with quit."""
    out = io.StringIO()
    converse(address, io.StringIO("insert\n\nwithdraw\nreceived\nquit\ninsert\n"), out)
    assert (
        help_text() + "\n  quit leaves this console; the simulated printer goes on.\n"
        "hands> Done: insert.\nhands> hands> Not done: There is no filament. Insert it first.\n"
        "hands>   M115\n  M119\nhands> \n"
    ) == out.getvalue()


def test_a_state_is_shown_as_a_table() -> None:
    """Each truth has a line of its own, and a long list shows its length and its end."""
    answer = json.dumps({"presence": "in", "received_lines": [f"M{n}" for n in range(9)]})
    assert '  presence        in\n  received_lines  9 lines, the last: "M8"' == in_words(answer)
    assert "  (nothing received yet)" == in_words("[]")


def test_a_memory_file_keeps_what_was_stored(tmp_path: Path) -> None:
    """What one process stored, the next finds; nothing is written before anything is stored."""
    path = tmp_path / "memory.bin"
    memory, first = Memory(), MemoryFile(path)
    assert first.found is None
    first.keep(memory)
    first.save_changes(memory)
    assert [] == list(tmp_path.iterdir())
    memory.store("V1", b"settings")
    first.save_changes(memory)
    again = MemoryFile(path).found
    assert again is not None
    assert memory.image == again.image
    assert [path] == list(tmp_path.iterdir())


@pytest.mark.parametrize("content", [b"", b"short", bytes(70000)])
def test_a_file_that_is_no_memory_is_refused_and_kept(tmp_path: Path, content: bytes) -> None:
    """A file that cannot be a memory part is refused with advice and left as it is."""
    path = tmp_path / "memory.bin"
    path.write_bytes(content)
    with pytest.raises(MemoryFileError, match="delete it"):
        MemoryFile(path)
    assert content == path.read_bytes()


def test_one_deed_does_not_load_the_printer() -> None:
    """A deed is a process that loads the bench alone, so that many of them keep up with a run."""
    code = "import sys, fake_printer.bench; print(sorted(name for name in sys.modules if name[:12] == 'fake_printer'))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=PATIENCE_S)

    assert "['fake_printer', 'fake_printer.bench']" == done.stdout.strip()
