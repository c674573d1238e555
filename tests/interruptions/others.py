"""Interruptions beside the matrix: a terminal that is lost or stopped, keys without end, and the first moments."""

import time
from dataclasses import replace
from pathlib import Path

from tests.interruptions.cases import DESKS, PHASES, Case
from tests.interruptions.judged import ANSWER, NEVER_SHOWN, changed
from tests.interruptions.struck import UNIT, Interrupt, command, entries
from tests.support.fake_process import FakeProcess, running_printer
from tests.support.tool_at_a_terminal import ToolAtATerminal, tool_at_a_terminal

HEATING = Case("SIGINT", 1, 0.1, "heating", "scripted")
MOST_PRESSES = 4000
EARLY_ENDS_WITHIN_S = 60.0


def hangs_up(_case: Case, tool: ToolAtATerminal, _printer: FakeProcess) -> None:
    """The window is closed."""
    tool.hang_up()


def hangs_up_meanwhile(case: Case, tool: ToolAtATerminal, _printer: FakeProcess) -> None:
    """The window is closed while the printer is made safe after a Ctrl-C."""
    _makes_safe(case, tool)
    tool.hang_up()


def told_to_end_while_stopped(case: Case, tool: ToolAtATerminal, printer: FakeProcess) -> None:
    """The terminal was stopped by a key and takes no more letters when the program is told to end."""
    tool.types("\x13")
    tool.watch(0.3)
    tool.signal("SIGTERM")
    if case.phase not in ("dry", "paused"):
        printer.wait_until(lambda state: not any(state["targets_c"].values()), within_s=60)


def presses_to_the_end(case: Case, tool: ToolAtATerminal, _printer: FakeProcess) -> None:
    """One key, then every signal in turn without a pause, until the process has gone."""
    _makes_safe(case, tool)
    for number in range(MOST_PRESSES):
        if not tool.running:
            return
        tool.signal(("SIGINT", "SIGTERM", "SIGQUIT", "SIGTSTP")[number % 4])
        tool.watch(0.02)


def killed_then_interrupted(_case: Case, tool: ToolAtATerminal, _printer: FakeProcess) -> None:
    """The process is killed; the next one makes safe what is on record first, and is interrupted while it does."""
    tool.signal("SIGKILL")
    tool.process.wait()
    with tool_at_a_terminal(tool.words, tool.folder) as again:
        again.sees(ANSWER, within_s=60)
        for _ in range(3):
            again.signal("SIGINT")
            again.watch(0.1)
        again.ended(within_s=60)


def _makes_safe(case: Case, tool: ToolAtATerminal) -> None:
    before = len(tool.screen)
    tool.types("\x03")
    if case.phase != "dry":
        tool.sees(ANSWER, after=before, within_s=30)


IN_THE_SUITE: dict[str, tuple[Case, Interrupt]] = {
    "hang up, scripted": (HEATING, hangs_up),
    "hang up, plain": (replace(HEATING, desk="plain"), hangs_up),
    "hang up, drawing": (replace(HEATING, desk="drawing"), hangs_up),
    "hang up meanwhile, drawing": (replace(HEATING, desk="drawing"), hangs_up_meanwhile),
    "stopped terminal, plain": (replace(HEATING, desk="plain"), told_to_end_while_stopped),
    "to the end, drawing": (replace(HEATING, desk="drawing"), presses_to_the_end),
}
"""Those that the test suite carries out."""

KINDS: tuple[Interrupt, ...] = (hangs_up, hangs_up_meanwhile, told_to_end_while_stopped, presses_to_the_end)
UNSEEN: tuple[Interrupt, ...] = (hangs_up, hangs_up_meanwhile, told_to_end_while_stopped)
"""After these nobody sees the end of it on that terminal: the book alone can name what was not made safe."""
ALL = tuple(
    (replace(HEATING, phase=phase, desk=desk, releases=False), kind)
    for kind in KINDS
    for phase in PHASES
    for desk in DESKS
)


def early_faults(how: str, presses: int, at_s: float, folder: Path) -> list[str]:
    """Interrupt in the first moments of the process, so long after its start; what is not as it must be.

    Nothing but questions may be sent, and a run that began has its end. Before the tool's own code is there the
    interpreter ends the process in its way; afterwards the exit code is that of a stop.
    """
    unit = folder / "unit.toml"
    unit.write_text(UNIT.format(rise=200))
    case = replace(HEATING, phase="dry")
    with (
        running_printer(str(unit), "--unpaced") as printer,
        tool_at_a_terminal(command(case, printer, folder), folder, loaded=False) as tool,
    ):
        time.sleep(at_s)
        for _ in range(presses):
            tool.signal(how)
            tool.watch(0.05)
        code = tool.ended(within_s=EARLY_ENDS_WITHIN_S)
        received = printer.received()
    kinds = [kind for kind, _ in entries(folder / "book.sqlite3")]
    found = ["something was changed"] if changed(received) else []
    if kinds.count("run_started") != kinds.count("run_ended"):
        found.append("the run has no end")
    interpreters_own = code == 1 and "KeyboardInterrupt" in tool.screen and "/commission/" not in tool.screen
    if code != 130 and (kinds or code >= 0) and not interpreters_own:
        found.append(f"exit code {code}")
    return found + [f"on the screen: {word}" for word in NEVER_SHOWN if code == 130 and word in tool.screen]
