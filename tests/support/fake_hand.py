"""The thread that writes into the book, without a thread: each entry is written at once, where it is asked for.

In tests in memory nothing goes on meanwhile that a slow disk could hold up, and the change to another thread and back
takes longer than most entries. That the tool writes in a thread of its own, and in order, is shown by
`tests/conductor/test_scribe.py` and by every command that runs as a process.
"""

from collections.abc import Callable
from concurrent.futures import Executor, Future
from typing import ParamSpec, TypeVar

_T = TypeVar("_T")
_P = ParamSpec("_P")


class FakeHand(Executor):
    """Does the work while it is handed over."""

    def submit(self, fn: Callable[_P, _T], /, *args: _P.args, **kwargs: _P.kwargs) -> "Future[_T]":
        """What came of it, or what was raised."""
        done: Future[_T] = Future()
        try:
            done.set_result(fn(*args, **kwargs))
        except Exception as error:  # noqa: BLE001 - whoever asks for the result gets it, as from a thread
            done.set_exception(error)
        return done
