"""Many tasks in one process, each asleep until its moment or its file; the clock is the test's own where it can be."""

import contextlib
import math
import socket
import threading
import time
from collections.abc import Callable, Sequence

import pytest

from fake_printer.scheduler import Bell, Scheduler
from fake_printer.wire.base import ReadyFile


class FakeTask:
    """Keeps the moments it was stepped at; says what `rests_s` holds next, then that it is at peace for ever."""

    def __init__(
        self, *rests_s: float, files: Sequence[ReadyFile] = (), step: Callable[[], None] = lambda: None
    ) -> None:
        self.stepped_s: list[float] = []
        self.sleeps_on = list(files)
        self._rests_s = list(rests_s)
        self._step = step

    def step(self, now_s: float) -> float:
        """Keep the moment, and do what the test wants done."""
        self.stepped_s.append(now_s)
        self._step()
        return self._rests_s.pop(0) if self._rests_s else math.inf

    def files(self) -> Sequence[ReadyFile]:
        """What the test says wakes it."""
        return tuple(self.sleeps_on)


@pytest.fixture
def scheduler() -> Scheduler:
    """A scheduler on the machine's own clock."""
    return Scheduler(time.monotonic)


def run_until(scheduler: Scheduler, ended: Callable[[], bool]) -> None:
    """Run it; whoever waits in vain is ended by the test runner."""
    with contextlib.closing(scheduler):
        scheduler.run(ended)


def test_a_task_is_stepped_when_its_rest_is_over(scheduler: Scheduler) -> None:
    """It is stepped at once, and then never before the rest that it asked for is over."""
    task = FakeTask(0.02, 0.03)
    scheduler.add(task)
    run_until(scheduler, lambda: len(task.stepped_s) == 3)

    first_s, second_s, third_s = task.stepped_s
    assert second_s - first_s >= 0.02
    assert third_s - second_s >= 0.03


def test_a_task_at_peace_costs_nothing_while_others_are_busy(scheduler: Scheduler) -> None:
    """However often one is stepped, another that waits for nothing but its file is left alone."""
    near, far = socket.socketpair()
    with near, far:
        busy, idle = FakeTask(*[0.0] * 500), FakeTask(files=[near])
        scheduler.add(idle)
        scheduler.add(busy)
        run_until(scheduler, lambda: len(busy.stepped_s) == 501)

    assert 1 == len(idle.stepped_s)


def test_news_in_a_file_wakes_its_task_and_no_other(scheduler: Scheduler) -> None:
    """A task that waits for ever is stepped as soon as something has come."""
    pairs = [socket.socketpair() for _ in range(2)]
    with contextlib.ExitStack() as stack:
        for each in (one for pair in pairs for one in pair):
            stack.enter_context(each)
        woken, other = (FakeTask(files=[near]) for near, _ in pairs)
        scheduler.add(woken)
        scheduler.add(other)
        threading.Timer(0.02, lambda: pairs[0][1].send(b"!")).start()
        run_until(scheduler, lambda: len(woken.stepped_s) > 1)

    assert 1 == len(other.stepped_s)


def test_a_task_that_is_woken_is_stepped_at_once(scheduler: Scheduler) -> None:
    """Somebody who has done something to a task at peace has it stepped."""
    task = FakeTask()
    waker = FakeTask(step=lambda: scheduler.wake(task))
    scheduler.add(task)
    scheduler.add(waker)
    run_until(scheduler, lambda: len(task.stepped_s) == 2)


def test_a_task_that_wakes_itself_is_stepped_once_more(scheduler: Scheduler) -> None:
    """A task that has something done to it in its own step does not fall asleep after it."""
    task = FakeTask()
    task._step = lambda: scheduler.wake(task)
    scheduler.add(task)
    run_until(scheduler, lambda: len(task.stepped_s) == 3)


def test_a_task_that_was_taken_out_is_left_alone(scheduler: Scheduler) -> None:
    """One that another takes out in the same turn is not stepped any more, and its file can be closed."""
    near, far = socket.socketpair()
    out = FakeTask(0.0, 0.0, 0.0, files=[near])
    steps = []

    def take_out() -> None:
        steps.append(len(out.stepped_s))
        if len(steps) == 2:
            scheduler.remove(out)
            near.close()

    with far:
        scheduler.add(FakeTask(0.0, *[0.001] * 5, step=take_out))
        scheduler.add(out)
        run_until(scheduler, lambda: len(steps) == 6)

    assert steps[-1] == steps[1]


def test_a_file_that_takes_over_the_number_of_another_is_heard(scheduler: Scheduler) -> None:
    """A task whose file was closed and replaced by one with the same number is woken by the new one."""
    pairs = [socket.socketpair()]
    task = FakeTask(0.0, files=[pairs[0][0]])

    def replace() -> None:
        if len(task.stepped_s) == 2:
            number = pairs[0][0].fileno()
            pairs[0][0].close()
            pairs.append(socket.socketpair())
            assert number in (each.fileno() for each in pairs[1])
            heard, said = sorted(pairs[1], key=lambda each: each.fileno() != number)
            task.sleeps_on = [heard]
            said.send(b"!")

    task._step = replace
    scheduler.add(task)
    run_until(scheduler, lambda: len(task.stepped_s) == 3)
    for each in (one for pair in pairs for one in pair):
        each.close()


def test_a_number_is_taken_over_even_from_a_task_that_has_not_said_so(scheduler: Scheduler) -> None:
    """A file gets its number though another task still seems to sleep on it: that one's file is closed."""
    near, far = socket.socketpair()
    gone = FakeTask(files=[near])
    fresh: list[socket.socket] = []
    task = FakeTask(0.0)

    def take_over() -> None:
        if len(task.stepped_s) == 2:
            number = near.fileno()
            near.close()
            fresh.extend(socket.socketpair())
            heard, said = sorted(fresh, key=lambda each: each.fileno() != number)
            assert number == heard.fileno()
            task.sleeps_on = [heard]
            said.send(b"!")

    task._step = take_over
    scheduler.add(gone)
    scheduler.add(task)
    run_until(scheduler, lambda: len(task.stepped_s) == 3)
    for each in (far, *fresh):
        each.close()


def test_a_bell_wakes_from_another_thread(scheduler: Scheduler) -> None:
    """Rung from elsewhere, however often, it has its deed done in the scheduler's own thread."""
    heard_in: list[int] = []
    rung = threading.Event()
    bell = Bell(lambda: heard_in.append(threading.get_ident()))
    scheduler.add(bell)

    def ring() -> None:
        for _ in range(10_000):
            bell.ring()
        rung.set()
        bell.ring()

    ringer = threading.Thread(target=ring)
    ringer.start()
    run_until(scheduler, lambda: rung.is_set() and len(heard_in) > 1)
    ringer.join()
    bell.close()

    assert {threading.get_ident()} == set(heard_in)
