"""A plugin of pytest that writes down which tests run which lines of a room: `-p scripts.mutation.measuring`.

Each test is one context of `coverage`, with its setting up and taking down. What a fixture of several tests runs counts
for all that use it. Caches are emptied before each test, and every module of the room is loaded before the first: so no
line counts for the first test alone that the others need as much. Another process is not looked into: the tests that
start one are listed instead.
"""

from __future__ import annotations

import importlib
import json
import os
import sys
import time
from collections import defaultdict
from collections.abc import Generator
from functools import lru_cache
from pathlib import Path
from typing import Any

import coverage
import pytest

ROOM, KEPT = "MUTATIONS_ROOM", "MUTATIONS_KEPT"
"""Variables of the environment: the room that is measured, and the file that takes what is found."""
STARTED = ("os.fork", "os.forkpty", "os.posix_spawn", "os.spawn", "os.exec", "os.system")
RUN_OTHERS = ("python", "sh", "bash", "env", "tmux")
"""Programs that can run the code of the tool; those of its own environment do too."""
OWN = ("commission", "fake_printer", "scripts", "tests")
NOT_LOADED = ("__main__", "env")
"""Modules that do their work when they are loaded; whoever runs them loads them."""
CACHED = type(lru_cache(len))
SHARED = "shared by several tests: "


class Measuring:
    """What is written down while the tests of a room run.

    Args:
        folder: of the room.
        kept: the file that takes what is found.
    """

    def __init__(self, folder: Path, kept: Path) -> None:
        self._folder = folder
        self._kept = kept
        self._coverage = coverage.Coverage(data_file=None, source=[str(folder)], config_file=False)
        self._context = ""
        self._starting: set[str] = set()
        self._seconds: dict[str, float] = {}
        self._users: dict[str, list[str]] = defaultdict(list)
        self._begun_anew: set[str] = set()
        self._coverage.start()
        sys.addaudithook(self._heard)

    @pytest.hookimpl(trylast=True)
    def pytest_collection_finish(self, session: pytest.Session) -> None:
        """Load what no test has loaded yet."""
        root = self._folder.parent.parent
        for path in sorted(self._folder.rglob("*.py")):
            if path.stem not in NOT_LOADED:
                importlib.import_module(
                    ".".join(path.relative_to(root).with_suffix("").parts).removesuffix(".__init__")
                )
        for item in session.items:
            for name in getattr(item, "fixturenames", ()):
                self._users[name].append(item.nodeid)

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Generator[None, Any, Any]:
        """One test is one context."""
        _empty_caches()
        self._turn(item.nodeid)
        began_s = time.monotonic()
        try:
            return (yield)
        finally:
            self._seconds[item.nodeid] = time.monotonic() - began_s
            self._turn("")

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef: pytest.FixtureDef[Any]) -> Generator[None, Any, Any]:
        """What several tests share is a context of its own."""
        before = self._context
        if fixturedef.scope != "function":
            self._turn(SHARED + fixturedef.argname)
            if fixturedef.scope != "session":
                self._begun_anew.add(fixturedef.argname)
        try:
            return (yield)
        finally:
            self._turn(before)

    @pytest.hookimpl(trylast=True)
    def pytest_sessionfinish(self) -> None:
        """Write it down."""
        self._coverage.stop()
        data = self._coverage.get_data()
        root = self._folder.parent.parent
        lines = {}
        for name in sorted(data.measured_files()):
            by_line = data.contexts_by_lineno(name)
            path = Path(name).relative_to(root).as_posix()
            lines[path] = {number: self._tests(contexts) for number, contexts in sorted(by_line.items())}
        found = {"lines": lines, "starting": self._tests(sorted(self._starting)), "seconds": self._seconds}
        found["begun_anew"] = sorted({test for name in self._begun_anew for test in self._users[name]})
        self._kept.write_text(json.dumps(found), encoding="utf-8")

    def _tests(self, contexts: list[str]) -> list[str]:
        """The tests of these contexts; an empty word is what ran outside of all tests."""
        tests: set[str] = set()
        for context in contexts:
            tests.update(self._users[context.removeprefix(SHARED)] if context.startswith(SHARED) else [context])
        return sorted(tests)

    def _turn(self, context: str) -> None:
        if context != self._context:
            self._context = context
            self._coverage.switch_context(context)

    def _heard(self, event: str, words: tuple[Any, ...]) -> None:
        if event in STARTED or (event == "subprocess.Popen" and _runs_others(words[0], words[1])):
            self._starting.add(self._context)


def _runs_others(program: object, words: object) -> bool:
    first = program if program is not None else words[0] if isinstance(words, list | tuple) else words
    path = Path(os.fsdecode(first))  # type: ignore[arg-type]
    return path.parent == Path(sys.executable).parent or path.name.startswith(RUN_OTHERS)


def _empty_caches() -> None:
    for name, module in list(sys.modules.items()):
        if name.split(".", 1)[0] in OWN:
            for value in list(vars(module).values()):
                for each in (value, *vars(value).values()) if isinstance(value, type) else (value,):
                    if isinstance(each, CACHED):
                        each.cache_clear()


@pytest.hookimpl(tryfirst=True)
def pytest_load_initial_conftests(early_config: pytest.Config) -> None:
    """Begin to measure before the first module of the room is loaded."""
    measuring = Measuring(Path.cwd() / "commission" / os.environ[ROOM], Path(os.environ[KEPT]))
    early_config.pluginmanager.register(measuring)
