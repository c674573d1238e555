import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.dialect.framing import RawLine
from commission.dialect.replies import ErrorCode, Reply, ReplyKind, acknowledgement, classify
from tests.dialect.feeding import every_way


def the_reply(line: bytes) -> Reply:
    """The one reply of one line, the same however it is fed."""
    (reply,) = every_way(lambda lines: [classify(RawLine(each.content)) for each in lines], line + b"\n")
    return reply


@pytest.mark.parametrize(
    ("line", "number", "planner", "queue", "data"),
    [
        (b"ok", None, None, None, ""),
        (b" ok ", None, None, None, ""),
        (b"ok P15 B3", None, 15, 3, ""),
        (b"ok N5 P15 B3", 5, 15, 3, ""),
        (b"ok 12", 12, None, None, ""),
        (b"ok T:23.1 /0.0 B:22.5 /0.0 @:0 B@:0", None, None, None, "T:23.1 /0.0 B:22.5 /0.0 @:0 B@:0"),
        (b"ok C: X:12.5 Y:-3.2 Z:0.0", None, None, None, "C: X:12.5 Y:-3.2 Z:0.0"),
        (b"X_min:0 Y_min:1 Z_min:0 pins- (X)P1.24:1ok", None, None, None, "X_min:0 Y_min:1 Z_min:0 pins- (X)P1.24:1"),
    ],
)
def test_acknowledgement_is_read(
    line: bytes, number: int | None, planner: int | None, queue: int | None, data: str
) -> None:
    """An acknowledgement states what it states and nothing more; data on its line is kept."""
    reply = the_reply(line)

    assert ReplyKind.ACKNOWLEDGED is reply.kind
    assert (number, planner, queue) == (reply.acknowledged_line, reply.planner_free, reply.queue_free)
    assert data == reply.data


@pytest.mark.parametrize("line", [b"okay, heating", b"oks", b"ok:", b"echo:SD card ok", b"Ok", b"not ok"])
def test_what_only_looks_like_an_acknowledgement_is_none(line: bytes) -> None:
    """A word that begins with the two letters, or a sentence that ends with them, acknowledges nothing."""
    assert ReplyKind.ACKNOWLEDGED is not the_reply(line).kind
    assert acknowledgement(line.decode()) is None


@pytest.mark.parametrize(
    ("line", "kind", "reason"),
    [
        (b"echo:busy: processing", ReplyKind.BUSY, "processing"),
        (b"busy:processing", ReplyKind.BUSY, "processing"),
        (b"echo:busy: paused for user", ReplyKind.PAUSED_FOR_USER, "paused for user"),
        (b"echo:busy: paused for input", ReplyKind.PAUSED_FOR_USER, "paused for input"),
    ],
)
def test_busy_line_gives_its_reason(line: bytes, kind: ReplyKind, reason: str) -> None:
    """A keepalive says why the printer is busy, and waiting for a person is told from working."""
    reply = the_reply(line)

    assert (kind, reason) == (reply.kind, reply.argument)


@pytest.mark.parametrize(
    ("line", "number"), [(b"Resend: 51", 51), (b"Resend:51", 51), (b"rs 51", 51), (b"rs N51", 51), (b"Resend: N7", 7)]
)
def test_repeat_request_names_its_line(line: bytes, number: int) -> None:
    """Every form of a repeat request names the line that is wanted."""
    reply = the_reply(line)

    assert (ReplyKind.RESEND, number) == (reply.kind, reply.resend_line)


@pytest.mark.parametrize(
    ("line", "code", "last"),
    [
        (b"Error:checksum mismatch, Last Line: 30", ErrorCode.CHECKSUM, 30),
        (b"Error:checksum mismatch, Last Line:31", ErrorCode.CHECKSUM, 31),
        (b"Error:Line Number is not Last Line Number+1, Last Line: 50", ErrorCode.LINE_NUMBER, 50),
        (b"Error:No Checksum with line number, Last Line: 8", ErrorCode.NO_CHECKSUM, 8),
        (b"Error:No Line Number with checksum, Last Line: 8", ErrorCode.NO_LINE_NUMBER, 8),
        (b"Error:expected line 111 got 256", ErrorCode.LINE_NUMBER, None),
        (b"Error:Wrong checksum", ErrorCode.CHECKSUM, None),
        (b"Error:Printer stopped due to errors. Fix the error", ErrorCode.STOPPED, None),
        (b"Error:EEPROM CRC mismatch - (stored) 1 != 2 (calculated)!", ErrorCode.OTHER, None),
        (b"!! Must home axis first", ErrorCode.OTHER, None),
    ],
)
def test_error_is_named(line: bytes, code: ErrorCode, last: int | None) -> None:
    """An error line says which error it is, and a bad checksum of the store is none of the wire."""
    reply = the_reply(line)

    assert ReplyKind.ERROR is reply.kind
    assert (code, last) == (reply.error, reply.last_line)
    assert (code in (ErrorCode.OTHER, ErrorCode.STOPPED)) is not code.of_the_line


@pytest.mark.parametrize(
    "line",
    [
        b"Error:Printer halted. kill() called!",
        b"Error: Emergency Stop! Reset the controller to continue.",
        b"Emergency Stop! Reset the controller to continue.",
    ],
)
def test_halt_is_told_from_an_error(line: bytes) -> None:
    """A printer that is dead until reset is halted; other errors can be survived."""
    reply = the_reply(line)

    assert (ReplyKind.HALTED, ErrorCode.HALTED) == (reply.kind, reply.error)


@pytest.mark.parametrize(
    ("line", "command"),
    [
        (b'echo:Unknown command: "M412"', "M412"),
        (b'echo:Unknown command: ""', ""),
        (b"Unknown M code: M412 S1", "M412 S1"),
        (b'// Unknown command:"M412"', "M412"),
        (b"Unknown command:M412", "M412"),
        (b"M412: Command is not supported", "M412"),
        (b"Error: M412: Command is not supported", "M412"),
    ],
)
def test_refusal_names_the_command(line: bytes, command: str) -> None:
    """Every form of a refusal says what was refused, noise of no length included."""
    reply = the_reply(line)

    assert (ReplyKind.UNKNOWN_COMMAND, command) == (reply.kind, reply.command)


@pytest.mark.parametrize(
    "line",
    [
        b"start",
        b"echo: External Reset",
        b"PowerUp",
        b"echo:Brown out Reset",
        b"Watchdog Reset",
        b"echo: Software Reset",
        b"echo: Last Updated: 2021-02-03 | Author: (none, default config)",
        b"Compiled: Jan 27 2019",
        b"echo:Compiled: Jan 27 2019",
        b"echo: Free Memory: 1352  PlannerBufferBytes: 1200",
        b"Free RAM:3870",
    ],
)
def test_boot_line_is_a_banner(line: bytes) -> None:
    """Each line by which a board shows that it has just started is a banner, with its prefix or without."""
    assert ReplyKind.BANNER is the_reply(line).kind


@pytest.mark.parametrize(
    "line", [b"start the print", b"echo:starting", b"echo:External sensor found", b"echo:; Power-loss recovery:"]
)
def test_similar_words_are_no_banner(line: bytes) -> None:
    """Words that merely resemble a boot line do not report a restart."""
    assert ReplyKind.BANNER is not the_reply(line).kind


@pytest.mark.parametrize(
    ("line", "name", "rest"),
    [
        (b"//action:paused filament_runout 0", "paused", "filament_runout 0"),
        (b"// action:pause", "pause", ""),
        (b"//action:prompt_button PurgeMore", "prompt_button", "PurgeMore"),
        (b"//action:out_of_filament T0", "out_of_filament", "T0"),
    ],
)
def test_action_is_taken_apart(line: bytes, name: str, rest: str) -> None:
    """A host action gives its name and the rest, with a blank after the slashes or without."""
    reply = the_reply(line)

    assert (ReplyKind.ACTION, name, rest) == (reply.kind, reply.action, reply.argument)


@pytest.mark.parametrize(
    ("line", "kind"),
    [
        (b"wait", ReplyKind.IDLE),
        (b"", ReplyKind.BLANK),
        (b"  ", ReplyKind.BLANK),
        (b" T:22.75 /0.00 B:23.10 /0.00 @:0 B@:0", ReplyKind.TEMPERATURE),
        (b"T0:22.7 /0.0 T1:22.9 /0.0 (8377.00) @:0", ReplyKind.TEMPERATURE),
        (b"T:200.1 E:0 W:?", ReplyKind.TEMPERATURE),
        (b"X:4.00 Y:2.00 Z:0.00 E:0.00 Count X:320 Y:160 Z:0", ReplyKind.POSITION),
        (b"echo:endstops hit:  Z:26.00", ReplyKind.ENDSTOPS_HIT),
        (b"endstops hit: x_max:L y_max:H", ReplyKind.TEXT),
        (b"M600", ReplyKind.ECHOED_COMMAND),
        (b"M111 S14", ReplyKind.ECHOED_COMMAND),
        (b"echo:M105", ReplyKind.ECHOED_COMMAND),
        (b"echo:  M412 S1", ReplyKind.TEXT),
        (b'echo:enqueueing "M84 X Y"', ReplyKind.INJECTED_COMMAND),
        (b'echo:Enqueing to the front: "M600"', ReplyKind.INJECTED_COMMAND),
        (b"Not SD printing", ReplyKind.CARD),
        (b"echo:SD init fail", ReplyKind.CARD),
        (b"filament: TRIGGERED", ReplyKind.TEXT),
        (b"filament present on extruder \x00", ReplyKind.TEXT),
    ],
)
def test_line_is_classified(line: bytes, kind: ReplyKind) -> None:
    """A line is known by its own shape."""
    assert kind is the_reply(line).kind


def test_piece_of_an_overlong_line_is_never_obeyed() -> None:
    """The tail of a line that was too long is text, even when it reads like an acknowledgement."""
    assert ReplyKind.TEXT is classify(RawLine(b"ok", cut=True)).kind


@settings(deadline=None, max_examples=100)
@given(st.binary(max_size=200).filter(lambda data: b"\n" not in data))
def test_any_line_is_classified_and_kept(data: bytes) -> None:
    """Whatever bytes a line holds, it is classified without error, kept, and shown in printable text."""
    reply = classify(RawLine(data))

    assert data == reply.raw
    assert reply.text.isprintable()
    assert reply.text.isascii()
