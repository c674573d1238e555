"""Lets many things live in one process, each asleep until its moment has come or one of its files has news.

Nothing here knows a printer. Asleep, a thing costs nothing, however many there are.
"""

import heapq
import math
import select
import selectors
import socket
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from itertools import count
from typing import Protocol

from fake_printer.wire.base import ReadyFile


class Task(Protocol):
    """Something that has to be looked after now and then."""

    def step(self, now_s: float) -> float:
        """Do what is due; returns seconds for which nothing will be, infinite while only its files can wake it."""
        ...

    def files(self) -> Sequence[ReadyFile]:
        """What wakes it."""
        ...


class Scheduler:
    """Steps every task when it is due."""

    def __init__(self, clock: Callable[[], float]) -> None:
        """Begin without tasks; `clock` tells seconds that only grow."""
        self._clock = clock
        self._selector = selectors.DefaultSelector()
        self._watched: dict[Task, tuple[ReadyFile, ...]] = {}
        self._due_s: dict[Task, float] = {}
        self._moments: list[tuple[float, int, Task]] = []
        self._number = count()

    def add(self, task: Task) -> None:
        """Look after this one from now on, and at once."""
        self._watched[task] = ()
        self.wake(task)

    def remove(self, task: Task) -> None:
        """Look after it no more; call this before its files are closed."""
        self._watch(task, ())
        del self._watched[task]
        self._due_s.pop(task, None)

    def wake(self, task: Task) -> None:
        """Have it stepped now: somebody has done something to it, which may have taken files away or brought some."""
        if task in self._watched:
            self._watch(task, tuple(task.files()))
            self._set_due(task, -math.inf)

    def run(self, ended: Callable[[], bool]) -> None:
        """Go on until it has ended, which is asked after every step."""
        while not ended():
            for task in self._next_tasks():
                if task in self._watched and not ended():
                    self._step(task)

    def close(self) -> None:
        """Let go of everything; the tasks close their own files."""
        self._selector.close()

    def _step(self, task: Task) -> None:
        now_s = self._clock()
        self._due_s[task] = math.inf  # a task that is woken while it is stepped is stepped once more
        rest_s = task.step(now_s)
        if task not in self._watched:
            return
        self._watch(task, tuple(task.files()))
        if now_s + rest_s < self._due_s[task]:
            self._set_due(task, now_s + rest_s)

    def _set_due(self, task: Task, at_s: float) -> None:
        self._due_s[task] = at_s
        if at_s < math.inf:
            heapq.heappush(self._moments, (at_s, next(self._number), task))

    def _watch(self, task: Task, files: tuple[ReadyFile, ...]) -> None:
        """Sleep on these files of the task. A new file may have the number of one that is gone: that goes first."""
        before = self._watched[task]
        if files == before:
            return
        for file in before:
            if file not in files:
                with suppress(KeyError, ValueError):  # its number may have gone to another file by now
                    self._selector.unregister(file)
        for file in files:
            if file not in before:
                self._register(file, task)
        self._watched[task] = files

    def _register(self, file: ReadyFile, task: Task) -> None:
        try:
            self._selector.register(file, selectors.EVENT_READ, task)
        except KeyError:
            # the number was that of a file which is closed, and whose task has not come to say so
            self._selector.unregister(file.fileno())
            self._selector.register(file, selectors.EVENT_READ, task)

    def _next_tasks(self) -> Iterable[Task]:
        """Sleep until there is something to do; returns each task that has something, once."""
        woken = dict.fromkeys(self._due())
        news = self._sleep(0.0 if woken else self._until_due_s())
        woken.update(dict.fromkeys(news))
        woken.update(dict.fromkeys(self._due()))
        return woken

    def _due(self) -> Iterable[Task]:
        now_s = self._clock()
        while self._moments and self._moments[0][0] <= now_s:
            at_s, _, task = heapq.heappop(self._moments)
            if self._due_s.get(task) == at_s:
                yield task

    def _until_due_s(self) -> float | None:
        while self._moments and self._due_s.get(self._moments[0][2]) != self._moments[0][0]:
            heapq.heappop(self._moments)
        return max(0.0, self._moments[0][0] - self._clock()) if self._moments else None

    def _sleep(self, seconds: float | None) -> list[Task]:
        if hasattr(self._selector, "fileno") and seconds:
            # the selector itself rounds up to milliseconds, in which a line carries a dozen bytes
            select.select([self._selector], [], [], seconds)
            seconds = 0.0
        return [key.data for key, _ in self._selector.select(seconds)]


class Bell:
    """Wakes the scheduler for somebody who is not a task: a signal, or another thread."""

    def __init__(self, rung: Callable[[], None] = lambda: None) -> None:
        """Hang it up; `rung` is called in the scheduler's turn."""
        self._rung = rung
        self._far, self._near = socket.socketpair()
        self._far.settimeout(0)
        self._near.settimeout(0)

    def ring(self) -> None:
        """Wake it. A bell that is still ringing need not be rung again."""
        with suppress(BlockingIOError):
            self._far.send(b"!")

    def files(self) -> Sequence[ReadyFile]:
        """What wakes the scheduler."""
        return [self._near]

    def step(self, now_s: float) -> float:
        """Hear it, and have done what it was rung for."""
        del now_s
        with suppress(BlockingIOError):
            self._near.recv(4096)
        self._rung()
        return math.inf

    def close(self) -> None:
        """Take it down."""
        self._far.close()
        self._near.close()
