"""Text that tries to steer the screen, sent through every way of printing."""

import asyncio
import io
import re

from hypothesis import example, given, settings
from hypothesis import strategies as st
from prompt_toolkit.input import create_pipe_input

from commission.desk import wording
from commission.desk.base import Desk, Status
from commission.desk.script import OperatorScript
from commission.desk.scripted import ScriptedDesk
from commission.desk.terminal import TerminalDesk
from commission.evidence.findings.settings import NoStorage
from commission.procedure.message import Establish, Punch, Tell, Weight
from commission.procedure.request import Choose, Confirm, Enter, Hold, Option, TakeTrial, Watch
from commission.procedure.response import TimedReading, TrialTaken, WatchTaken
from commission.vocabulary import Instruction, Presence, PunchClass, Reading
from tests.desk.fakes import FakeClock, FakeTerminal

# What the screen libraries themselves send: colours and weights, cursor movements, erasing, showing and hiding the
# cursor, wrapping, the kind of paste. Titles, clipboards, links, reports and everything else are not among it.
SENT_BY_LIBRARIES = re.compile(
    r"\x1b\[[0-9;]*m|\x1b\[[0-9]*[ABCDGJK]|\x1b\[\?(?:7|12|25|1|2004)[hl]|\x1b\[[0-9]* q|\x1b\[0?m|[\r\n\a\b]"
)
OWN_COLOURS = re.compile(r"\x1b\[[0-9;]*m")

HOSTILE = st.text(
    st.characters() | st.sampled_from("\x1b\x9b\x9d\x07\x00\r\n\x7f\u202e\u2066\u200b\ufeff\u2028[]/:@\\"), max_size=60
)
KNOWN = (
    example("open\x1b[1A\x1b[2Kresult: fine\x1b]2;OWNED\x07\x1b]52;c;aGk=\x07"),
    example("[bold]x[/nope] [link=http://x]y[/link] :warning:"),
    example("\x9b2J\x9d0;t\x9c \x90q\x9c \x0e\x0f\x05 \u202egnp.exe\u2069 \udcff"),
    example("fine\nDANGER: forged line\r\x08\x08"),
)


TRIAL = TakeTrial(1, 2, 1, Instruction.INSERT, Presence.IN, "filament", 5.0, 3, 2.0)


def known(test):  # type: ignore[no-untyped-def]
    """Add the payloads that are known to work on screens that do not clean."""
    for case in KNOWN:
        test = case(test)
    return test


async def print_everything(desk: Desk, text: str) -> None:
    """Send the text through everything that is only printed."""
    for weight in Weight:
        await desk.tell(Tell((text, text), text, weight))
        await desk.tell(Tell((text,), weight=weight))
    await desk.establish(Establish(NoStorage(sentences=(text,))))
    await desk.establish(Establish(NoStorage()))
    await desk.punch(Punch(PunchClass.UNSAFE, text, text))
    await desk.end_trial(TRIAL, TrialTaken((), readings(text), remark=text))
    await desk.end_trial(TRIAL, TrialTaken((), readings(text), void_reason=text or "x"))
    await desk.end_watch(watch(text), WatchTaken(readings(text), 1.0, 0.1, unread=1))
    desk.show(Status(note=text))


async def begin_everything(desk: Desk, text: str) -> None:
    """Send the text through what is shown while the hands are busy."""
    await desk.begin_trial(TRIAL)
    desk.show(Status(Reading.UNKNOWN, text, 3.0, text, text))
    await asyncio.sleep(0)
    desk.show(Status(Reading.ACTIVE, text, None, text, text))
    await desk.begin_watch(watch(text))
    await asyncio.sleep(0)


def readings(text: str) -> tuple[TimedReading, ...]:
    """A reading of every kind, the text its wire word."""
    return tuple(TimedReading(float(at), reading, text) for at, reading in enumerate(Reading))


def watch(text: str) -> Watch:
    """A watch made of the text."""
    return Watch("watch", text, (text,), text, None, 1.0, 3)


def questions(text: str) -> tuple[Confirm, Choose, Enter, Hold]:
    """One question of each kind, made of the text."""
    options = (Option("a", text, text), Option("b", text))
    return (
        Confirm("q.confirm", text, (text,), weight=Weight.DANGER),
        Choose("q.choose", text, options, (text,)),
        Enter("q.enter", text, unit=text, lines=(text,)),
        Hold("q.hold", text, (text,), text, power=True, cautions=(text, f"DANGER {text}")),
    )


@settings(deadline=None, max_examples=60)
@known
@given(HOSTILE)
def test_scripted_desk(text: str) -> None:
    """The scripted desk, which prints as the plain one, puts out printable characters and line ends only."""
    out = io.StringIO()
    script = OperatorScript.parse(
        'format = 1\n[[answer]]\nrequest = "q.hold"\nanswer = "released"\n'
        '[[answer]]\nrequest = "q.choose"\nanswer = "a"\n'
        '[[answer]]\nrequest = "q.enter"\nanswer = "\\u001b[2Jx"\n'
        '[[answer]]\nrequest = "q.*"\nanswer = "yes"\n'
        '[[answer]]\nrequest = "*"\nanswer = "done"\n',
        "bench-3.toml",
    )

    async def talk() -> None:
        desk = ScriptedDesk(script, out, FakeClock(), {})
        confirm, choose, enter, hold = questions(text)
        await print_everything(desk, text)
        await begin_everything(desk, text)
        await desk.confirm(confirm)
        await desk.choose(choose)
        await desk.enter(enter)
        await desk.hold(hold)
        await desk.close()

    asyncio.run(talk())

    assert all(line.isprintable() for line in out.getvalue().split("\n"))


@settings(deadline=None, max_examples=60)
@known
@given(HOSTILE)
def test_terminal_prints(text: str) -> None:
    """The drawing desk prints printable characters, line ends and its own colours only."""
    terminal = FakeTerminal()

    async def talk() -> None:
        with create_pipe_input() as keys:
            desk = TerminalDesk(bell=False, typed=keys, drawn=terminal.output, out=terminal)
            await print_everything(desk, text)

    asyncio.run(talk())

    assert all(line.isprintable() for line in OWN_COLOURS.sub("", terminal.written).split("\n"))


@settings(deadline=None, max_examples=6)
@known
@given(HOSTILE)
def test_terminal_draws(text: str) -> None:
    """What is redrawn holds nothing but printable characters and what the drawing library sends of its own."""
    terminal = FakeTerminal()

    async def talk() -> None:
        with create_pipe_input() as keys:
            desk = TerminalDesk(bell=False, typed=keys, drawn=terminal.output, out=terminal)
            await begin_everything(desk, text)
            for question in questions(text):
                asking = asyncio.create_task(_ask(desk, question))
                await asyncio.sleep(0)
                desk.show(Status(Reading.ACTIVE, text, 1.0, text, text))
                keys.send_text("\x03")
                assert "stopped by Ctrl-C" == await asking
            await desk.close()

    asyncio.run(talk())

    assert SENT_BY_LIBRARIES.sub("", terminal.written).isprintable()


@settings(deadline=None, max_examples=100)
@known
@given(HOSTILE)
def test_live_line(text: str) -> None:
    """The live line is printable before it reaches the drawing library."""
    assert wording.live_line(Status(Reading.ACTIVE, text, 1.0, text, text)).isprintable()


async def _ask(desk: TerminalDesk, question: Confirm | Choose | Enter | Hold) -> str:
    ask = {Confirm: desk.confirm, Choose: desk.choose, Enter: desk.enter, Hold: desk.hold}[type(question)]
    try:
        await ask(question)  # type: ignore[operator]
    except Exception as stop:  # noqa: BLE001 - whatever ends the question is what the test looks at
        return str(stop)
    return "answered"
