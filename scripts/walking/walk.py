"""One walk: the tool, a simulated printer and a person, from the command line to the last screen, in simulated time."""

import json
import math
import re
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from commission.desk import pages
from scripts.walking.eyes import Eyes, Size, in_words
from scripts.walking.launcher import KEYS_PRESSED, NEXT_S
from scripts.walking.panels import Panel
from scripts.walking.person import Deed, NotUnderstood, Person
from scripts.walking.terminal import Terminal, at_a_terminal
from tests.support.fake_process import FakeProcess, running_printer
from tests.support.patience import PATIENCE_S

PORT = "printer"
"""The port's name in the folder of a walk."""
MOST_ANSWERS = 200
MOST_REAL_S = 3600.0
LONGEST_SILENCE_S = PATIENCE_S
AT_A_GLANCE_S = 2.0
"""What was printed in the last so many seconds nobody has read yet."""
MORE = pages.MORE.strip()


class TooLong(Exception):
    """The walk came to no end."""


@dataclass(frozen=True)
class Shot:
    """A screen at a moment.

    Attributes:
        about: what stands for it in a list: the question's last line, or what a panel says.
        typed: what was answered; None where nothing was asked.
        picture: the whole screen.
        at_s: the moment, in seconds from the start of the walk.
        turns_page: whether a page was turned there.
    """

    about: str
    typed: str | None
    picture: str
    at_s: float
    turns_page: bool = False

    def __str__(self) -> str:
        """The moment in a line, and the screen."""
        return (
            f"{f' {self.about} > {self.typed} ' if self.typed is not None else f' {self.about} ':=^79}\n{self.picture}"
        )


@dataclass
class Walk:
    """What came of a walk.

    Attributes:
        shots: each question, each new panel, and the last screen.
        minutes: of the person, simulated; reading_minutes: those of them that were spent on reading alone.
        unseen: questions of which a part had left the screen when they were asked.
        unread: how many lines had left the screen before anybody could read them.
        cut: lines that did not fit where they stand, and those the terminal had to break.
        code: the exit code.
        text: all that stayed on the screen, from the first line.
    """

    shots: list[Shot] = field(default_factory=list)
    minutes: float = 0.0
    reading_minutes: float = 0.0
    unseen: list[str] = field(default_factory=list)
    unread: int = 0
    cut: list[str] = field(default_factory=list)
    code: int = -1
    text: str = ""

    @property
    def answers(self) -> int:
        """How many lines were typed, without those that turn a page."""
        return sum(shot.typed is not None for shot in self.shots) - self.pages

    @property
    def pages(self) -> int:
        """How many pages were turned, because a question was higher than the terminal."""
        return sum(shot.turns_page for shot in self.shots)

    @property
    def screens(self) -> str:
        """Every screen that was kept, one below the other."""
        return "".join(f"{shot}\n" for shot in self.shots)

    def said(self, name: str) -> str:
        """What the last screen says under this name; empty where it does not."""
        told = " ".join(self.text[self.text.rfind("\nResult\n") :].split())
        found = re.search(rf"{name}: (.*?) (?:Why|Do now|Missing for a pass|Next check|Outcome of the run):", told)
        return found[1] if found else ""


@dataclass(frozen=True)
class Order:
    """What is walked: the command's words, the unit behind the port, the terminal's size, and the person's habits."""

    words: Sequence[str]
    unit: str
    person: Person
    size: Size


def walked(order: Order, folder: Path) -> Walk:
    """Walk it; the book and the reports are left in the folder.

    Raises:
        NotUnderstood: the screen asks something this person has no answer to.
        Stuck, TooLong: it came to no end.
    """
    with (
        running_printer(order.unit, "--pty", str(folder / PORT), "--unpaced", "--stepped") as printer,
        at_a_terminal([printer.control, *order.words], folder, order.size, LONGEST_SILENCE_S) as terminal,
    ):
        walker = _Walker(order.person, terminal, printer)
        walker.walk()
        walker.came.code = terminal.process.wait(LONGEST_SILENCE_S)
    return walker.came


class _Walker:
    def __init__(self, person: Person, terminal: Terminal, printer: FakeProcess) -> None:
        self.came = Walk()
        self._person = person
        self._terminal = terminal
        self._eyes: Eyes = terminal.eyes
        self._printer = printer
        self._now_s = self._reads_s = self._works_s = 0.0
        self._due: list[Deed] = []
        self._from_line = self._page_line = 0
        self._open = -1
        self._panel = ""
        self._reacted = ""
        self._printed = [(-math.inf, 0)]

    def walk(self) -> None:
        until_s = time.monotonic() + MOST_REAL_S
        while moment := self._terminal.request(LONGEST_SILENCE_S):
            if time.monotonic() > until_s or self.came.answers > MOST_ANSWERS:
                raise TooLong(self._eyes.picture)
            self._now_s = float(moment)
            self._look()
            pressed = self._act()
            next_s = self._due[0].at_s if self._due else math.inf
            self._terminal.answer(json.dumps({KEYS_PRESSED: pressed, NEXT_S: next_s}))
        self.came.reading_minutes = self._reads_s / 60
        self.came.minutes = self._person_s / 60
        self.came.cut += self._eyes.wrapped
        self._keep("the last screen")
        self.came.text = "\n".join(self._eyes.since(0)).rstrip()

    def _look(self) -> None:
        if not self._eyes.dirty:
            return
        if self._eyes.printed != self._printed[-1][1]:
            self._printed.append((self._now_s, self._eyes.printed))
        if self._eyes.prompt:
            self._look_at_question()
        elif self._eyes.cursor.hidden:
            self._look_at_panel()
        else:
            self._react(in_words(self._eyes.since(self._from_line)))

    def _look_at_question(self) -> None:
        live = self._eyes.seen()[self._eyes.cursor.y + 1 :]
        self._note_cut([row for row in live if len(row) >= self._eyes.columns])
        if self._open == self._eyes.printed:
            return
        self._open = self._eyes.printed
        block = self._eyes.since(self._from_line)[: self._open - self._from_line + 1]
        unread = in_words(self._eyes.since(self._read_up_to())[: self._open - self._read_up_to() + 1])
        try:
            answer = self._person.answers(in_words(block), unread, self._now_s)
        except NotUnderstood as question:
            raise NotUnderstood(f"{question}\n{self._eyes.picture}") from None
        self._due = answer.deeds
        self._reads_s += answer.reads_s
        self._works_s += answer.works_s
        asked = _question(block[self._page_line - self._from_line :])
        about = in_words(asked[-2:-1]) or in_words(asked)
        if len(asked) > self._open + 1 - len(self._eyes.gone):
            self.came.unseen.append(about)
        self.came.unread += max(0, len(self._eyes.gone) - self._read_up_to())
        self._keep(about, self._due[-1].typed)

    def _read_up_to(self) -> int:
        """The first line that nobody can have read yet."""
        calm_s = self._now_s - AT_A_GLANCE_S
        return max(self._page_line, *(line for at_s, line in self._printed if at_s <= calm_s))

    def _look_at_panel(self) -> None:
        panel = Panel.of(self._eyes.seen())
        self._note_cut(panel.cut(self._eyes.columns))
        if panel.asks != self._panel:
            self._panel = panel.asks
            self._due = self._person.reacts(panel.asks, self._now_s)
        if panel.says not in (shot.about for shot in self.came.shots):
            self._keep(panel.says)

    @property
    def _person_s(self) -> float:
        return self._now_s + self._reads_s + self._works_s

    def _note_cut(self, rows: Sequence[str]) -> None:
        self.came.cut += [row for row in rows if row not in self.came.cut]

    def _keep(self, about: str, typed: str | None = None) -> None:
        turns_page = typed is not None and self._eyes.prompt == MORE
        self.came.shots.append(Shot(about, typed, self._eyes.picture, self._person_s, turns_page))

    def _react(self, said: str) -> None:
        if said != self._reacted and not self._due:
            new = said.removeprefix(self._reacted)
            self._due = self._person.reacts(new, self._now_s)
            self._reacted = said

    def _act(self) -> bool:
        """Do what is due; whether a line was typed."""
        while self._due and self._due[0].at_s <= self._now_s + 1e-6:
            deed = self._due.pop(0)
            if not deed.hands:
                self._page_line = self._eyes.printed
                if self._eyes.prompt != MORE:
                    self._from_line = self._page_line
                self._reacted = ""
                self._terminal.type(f"{deed.typed}\r")
                return True
            self._printer.do(*deed.hands.split())
        return False


def _question(block: Sequence[str]) -> list[str]:
    """The lines of the question that ends here: back to an empty line, or to the top of a frame."""
    asked: list[str] = []
    for line in reversed(block):
        if not line.strip():
            break
        asked.insert(0, line)
        if line.startswith("╭"):
            break
    return asked
